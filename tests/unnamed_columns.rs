//! A pair whose columns have names of their own loses nothing by it: what its trials would show is left to the marker, the run says what to
//! add to cohort.toml, and with that line the trials are read.

#![expect(clippy::unwrap_used, reason = "a test may panic")]

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// Trials of a putting programme, with this header for the score.
fn hand_in(dir: &Path, pair: &str, score: &str) {
    let mut rows = format!("session,date,phase,trial,measure,{score},condition\r\n");
    for (session, date, phase, level) in [
        (1, "2026-02-02", "pre", 30),
        (2, "2026-02-05", "practice", 27),
        (3, "2026-02-08", "practice", 24),
        (4, "2026-02-11", "post", 18),
        (5, "2026-02-20", "retention", 19),
    ] {
        for trial in 1..=10 {
            let distance = level + (trial * 7 + session * 3) % 5;
            writeln!(
                rows,
                "{session},{date},{phase},{trial},distance,{distance},3 m\r"
            )
            .unwrap();
        }
    }
    let folder = dir.join("submissions").join(pair);
    fs::create_dir_all(&folder).unwrap();
    fs::write(folder.join("trials.csv"), rows).unwrap();
}

fn check(dir: &Path) -> String {
    let run = Command::cargo_bin("evenhand")
        .unwrap()
        .arg("check")
        .arg(dir)
        .output()
        .unwrap();
    assert!(run.status.success(), "{run:?}");
    String::from_utf8(run.stdout).unwrap()
}

/// Points that the evidence gives, and points that are left to the marker, of a pair's total.
fn points(dir: &Path, pair: &str) -> (f64, f64) {
    let marks = fs::read_to_string(dir.join("out/marks.csv")).unwrap();
    let total = marks
        .lines()
        .find(|line| line.starts_with(&format!("{pair},total,")))
        .unwrap();
    let field = |at: usize| total.split(',').nth(at).unwrap().parse().unwrap();
    (field(2), field(5))
}

#[test]
fn an_unknown_score_column_costs_no_points_and_the_line_that_is_offered_mends_it() {
    let dir = tempfile::tempdir().unwrap();
    let dir = dir.path();
    hand_in(dir, "P01", "Distance from hole (cm)");
    hand_in(dir, "P02", "score");
    let said = check(dir);
    let line = "score = [\"Distance from hole (cm)\"]";
    assert!(said.contains(line), "{said}");
    let ((given, open), (known, judged)) = (points(dir, "P01"), points(dir, "P02"));
    assert!(
        given + open >= known + judged,
        "{given} {open} {known} {judged}"
    );
    let findings = fs::read_to_string(dir.join("out/findings.csv")).unwrap();
    let of_header = findings
        .lines()
        .find(|row| row.contains("P01,data.unrecognised-column"))
        .unwrap();
    assert!(
        of_header.contains("P01/trials.csv line 1, field 6"),
        "{of_header}"
    );
    let concerns = findings
        .lines()
        .filter(|row| row.contains("P01,testing.") && row.contains(",concern,"))
        .filter(|row| !row.contains("no-technique-record"))
        .count();
    assert_eq!(concerns, 0, "{findings}");

    fs::write(dir.join("cohort.toml"), format!("[columns]\n{line}\n")).unwrap();
    let said = check(dir);
    assert!(!said.contains("its name is not known"), "{said}");
    assert_eq!(points(dir, "P01"), points(dir, "P02"));
}

/// A table of something else beside trials that are read leaves it open whether a test is in it, and earns nothing.
#[test]
fn a_table_that_holds_no_scores_earns_no_points() {
    let dir = tempfile::tempdir().unwrap();
    let dir = dir.path();
    for pair in ["P01", "P02"] {
        hand_in(dir, pair, "score");
        let trials = dir.join("submissions").join(pair).join("trials.csv");
        let text = fs::read_to_string(&trials).unwrap();
        let rows = text.lines().filter(|line| !line.contains("retention"));
        fs::write(&trials, rows.collect::<Vec<_>>().join("\r\n")).unwrap();
    }
    let other = "trial,Ruhepuls\r\n1,3.5\r\n2,4.5\r\n3,2.5\r\n4,3.9\r\n";
    fs::write(dir.join("submissions/P02/pulse.csv"), other).unwrap();
    check(dir);
    let findings = fs::read_to_string(dir.join("out/findings.csv")).unwrap();
    let has = |pair: &str, check: &str| findings.contains(&format!("{pair},{check}"));
    assert!(has("P01", "testing.no-retention-test"));
    assert!(!has("P02", "testing.no-retention-test"));
    assert!(has("P02", "data.unrecognised-column"));
    let ((without, _), (beside, open)) = (points(dir, "P01"), points(dir, "P02"));
    assert!(beside <= without && open > 0.0, "{beside} {without} {open}");
}

/// Two columns that may be the score are offered one by one; a name that another pair has beside its score is left to the finding.
#[test]
fn a_line_that_would_make_a_column_ambiguous_is_not_offered() {
    let dir = tempfile::tempdir().unwrap();
    let dir = dir.path();
    hand_in(dir, "P01", "Left bag");
    let trials = dir.join("submissions/P01/trials.csv");
    let with = |text: &str, header: &str| {
        text.lines()
            .enumerate()
            .map(|(at, line)| {
                if at == 0 {
                    format!("{line},{header}\r\n")
                } else {
                    format!("{line},{}\r\n", 20 + at * 7 % 11)
                }
            })
            .collect::<String>()
    };
    let text = fs::read_to_string(&trials).unwrap();
    fs::write(&trials, with(&text, "Right bag")).unwrap();
    let said = check(dir);
    let either = "score = [\"Left bag\"] or score = [\"Right bag\"]";
    let joined = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(joined.contains(either), "{said}");

    hand_in(dir, "P02", "score");
    let trials = dir.join("submissions/P02/trials.csv");
    let text = fs::read_to_string(&trials).unwrap();
    fs::write(&trials, with(&text, "Left bag")).unwrap();
    let said = check(dir);
    assert!(!said.contains("score = [\"Left bag\"]"), "{said}");
    assert!(said.contains("score = [\"Right bag\"]"), "{said}");
}
