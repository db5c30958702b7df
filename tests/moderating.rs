//! Several markers and a moderator, the whole way through the binary: shared out, marked, taken back, compared, decided, handed back.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.
#![allow(clippy::float_cmp, reason = "marks in steps of an eighth are exact")]

mod support;

use std::collections::BTreeMap;

use support::{Cohort, Typed, enter, enter_many, grids, save_again, shown};

/// The criteria of the short rubric.
const CRITERIA: [&str; 4] = ["testing", "programme", "numbers", "thinking"];

fn shared_out(pairs: usize, moderation: &str) -> Cohort {
    let cohort = Cohort::new(pairs);
    let settings = cohort.read("cohort.toml");
    cohort.write(
        "cohort.toml",
        &format!("{settings}[moderation]\n{moderation}\n"),
    );
    cohort.done("check", &[]);
    cohort.done("share", &["--markers", "Ann,Ben"]);
    cohort
}

/// Who is given each pair, by the ledger.
fn given(cohort: &Cohort, what: &str) -> BTreeMap<String, String> {
    let ledger = cohort.ledger();
    let lines = ledger.iter().filter(|line| &line[5] == what);
    lines
        .map(|line| (line[3].to_owned(), line[7].to_owned()))
        .collect()
}

/// Every marker enters every mark of their pairs: `mark` says which, of marker, pair's number and criterion.
fn mark_everything(cohort: &Cohort, mark: impl Fn(&str, usize, &str) -> f64) {
    let (first, second) = (
        given(cohort, "first-marker"),
        given(cohort, "second-marker"),
    );
    for marker in ["Ann", "Ben"] {
        let book = cohort.path(&format!("marking/{marker}.xlsx"));
        let own = first
            .iter()
            .chain(&second)
            .filter(|(_, who)| *who == marker);
        let mut typed = Vec::new();
        for (pair, _) in own {
            let number: usize = pair[1..].parse().unwrap();
            for criterion in CRITERIA {
                let key = format!("mark {criterion}");
                typed.push((pair.clone(), key, mark(marker, number, criterion)));
            }
        }
        enter_many(&book, "Marks", "pair", &typed);
    }
}

/// Upholds every error that was found.
fn decide_errors(cohort: &Cohort) {
    let mut findings = csv::Reader::from_path(cohort.path("out/findings.csv")).unwrap();
    let errors: Vec<String> = findings
        .records()
        .map(Result::unwrap)
        .filter(|finding| &finding[3] == "error")
        .map(|finding| finding[0].to_owned())
        .collect();
    for id in errors {
        let uphold = Typed::Text("uphold");
        enter(
            &cohort.workbook(),
            "Findings",
            "finding",
            &id,
            "decision",
            &uphold,
        );
    }
}

fn rows(cohort: &Cohort, file: &str) -> Vec<csv::StringRecord> {
    let mut reader = csv::Reader::from_path(cohort.path(file)).unwrap();
    reader.records().map(Result::unwrap).collect()
}

/// All text of a workbook's sheets, a line a sheet.
fn all_text(cohort: &Cohort, file: &str) -> String {
    let grids = grids(&cohort.path(file));
    let texts: Vec<String> = grids.iter().map(|grid| format!("{grid:?}")).collect();
    texts.join("\n")
}

/// Ann gives a mark more than Ben in each of two criteria for the same reports, with half a mark of chance either way.
fn lenient(marker: &str, pair: usize, criterion: &str) -> f64 {
    let base = [1.0, 1.5, 2.0, 1.0, 2.5][pair % 5];
    let chance = if criterion == "numbers" && (pair * 7).is_multiple_of(3) {
        0.5
    } else {
        0.0
    };
    let more = f64::from(u8::from(
        marker == "Ann" && matches!(criterion, "testing" | "thinking"),
    ));
    if marker == "Ben" {
        base + chance
    } else {
        base + more
    }
}

/// Every total of Ann's is a mark lower than its raw marks, every other as it was.
fn totals_are_shifted(cohort: &Cohort) {
    let first = given(cohort, "first-marker");
    let totals = rows(cohort, "returned/marks.csv");
    let totals: Vec<_> = totals.iter().filter(|row| &row[3] == "total").collect();
    assert_eq!(totals.len(), 24);
    for row in totals {
        let pair: usize = row[1][1..].parse().unwrap();
        let marker = first[&row[1]].as_str();
        let raw: f64 = CRITERIA.iter().map(|c| lenient(marker, pair, c)).sum();
        let shift = if marker == "Ann" { -1.0 } else { 0.0 };
        let number = |index: usize| row[index].parse::<f64>().unwrap();
        // mark, raw, shift, final (in steps of a half).
        assert_eq!(
            (number(4), number(6), number(7)),
            (raw + shift, raw, shift),
            "{row:?}"
        );
        assert_eq!(number(10), raw + shift, "{row:?}");
        // Who adds the criteria up finds on the page what moderation did to them.
        let page = cohort.read(&format!("returned/feedback/{}.html", &row[1]));
        let said = "moderation took off 1 for all reports of the same marker";
        assert_eq!(page.contains(said), marker == "Ann", "{row:?}");
    }
}

#[test]
fn an_accepted_shift_is_handed_back_and_raw_marks_stay() {
    let cohort = shared_out(12, "sample = 12\nsample_least = 12");
    mark_everything(&cohort, lenient);
    // One marker's workbook comes back from another office program.
    let ann = cohort.path("marking/Ann.xlsx");
    let elsewhere = tempfile::tempdir().unwrap();
    if let Some(saved) = save_again(&ann, "xlsx", elsewhere.path()) {
        std::fs::copy(saved, &ann).unwrap();
    }
    decide_errors(&cohort);
    cohort.done("collect", &[]);
    let run = cohort.done("moderate", &[]);
    assert!(
        run.said().contains("12 pairs of 12 marked twice"),
        "{}",
        run.said()
    );
    let report = cohort.path("out/moderation-report.xlsx");
    let before = std::fs::read(&report).unwrap();
    let lines = cohort.ledger().len();
    cohort.done("moderate", &[]);
    assert_eq!(std::fs::read(&report).unwrap(), before, "the same again");
    assert_eq!(cohort.ledger().len(), lines);
    // By hand: Ann is two marks (less a sixth, for chance) above Ben; each is half of that from the two together.
    let id = "shift total/Ann = -1";
    let why = shown(&report, "Proposals", "proposal", id, "why");
    assert!(
        why.starts_with("Ann gives 1.83 more than Ben on the same reports"),
        "{why}"
    );
    enter(
        &report,
        "Proposals",
        "proposal",
        id,
        "accept",
        &Typed::Text("accept"),
    );
    cohort.done("collect", &["--by", "Noor"]);
    assert_eq!(cohort.last("", "shift total/Ann").as_deref(), Some("-1"));
    let run = cohort.done("moderate", &[]);
    assert!(!run.said().contains("marked again"), "{}", run.said());
    assert_eq!(
        shown(&report, "Proposals", "proposal", id, "accept"),
        "accept"
    );
    assert!(
        all_text(&cohort, "out/moderation-report.xlsx")
            .contains("What changed since the comparison of 2026-04-01")
    );
    cohort.done("return", &[]);
    totals_are_shifted(&cohort);
    // The marks as Ann entered them are on the ledger as they were.
    let ledger = cohort.ledger();
    let by_ann = ledger
        .iter()
        .filter(|line| &line[1] == "Ann" && &line[5] == "mark testing");
    for line in by_ann {
        let pair: usize = line[3][1..].parse().unwrap();
        assert_eq!(
            line[7].parse::<f64>().unwrap(),
            lenient("Ann", pair, "testing")
        );
    }
    let record = all_text(&cohort, "returned/record-of-moderation.xlsx");
    for says in [
        "In force: Ann's marks (total) are shifted by -1",
        "Kenward",
        "12 of 12 pairs",
        "A digest of each pair's history",
    ] {
        assert!(record.contains(says), "{says}");
    }
    // Pair ids only: no student's name or id.
    for name in ["Ama Test", "Bo Probe", "s11"] {
        assert!(!record.contains(name), "{name}");
    }
    // Refused afterwards, the shift is out of force again.
    enter(
        &report,
        "Proposals",
        "proposal",
        id,
        "accept",
        &Typed::Text("refuse"),
    );
    cohort.done("collect", &["--by", "Noor"]);
    let run = cohort.done("return", &[]);
    assert!(
        run.said().contains("Changed since the last time"),
        "{}",
        run.said()
    );
    assert!(
        rows(&cohort, "returned/marks.csv")
            .iter()
            .all(|row| &row[7] == "0")
    );
}

#[test]
fn a_run_to_be_marked_again_waits_pair_by_pair() {
    let cohort = shared_out(12, "sample = 12\nsample_least = 12");
    // Ann and Ben see `programme` two marks apart, each way in turn: no shift would mend that.
    mark_everything(&cohort, |marker, pair, criterion| {
        let base = [1.0, 1.5, 2.0][pair % 3];
        match (criterion, marker, pair % 2) {
            ("programme", "Ann", 0) | ("programme", "Ben", 1) => base + 2.0,
            _ => base,
        }
    });
    decide_errors(&cohort);
    cohort.done("collect", &[]);
    cohort.done("moderate", &[]);
    let report = cohort.path("out/moderation-report.xlsx");
    let id = "mark-again programme/Ben";
    let decide = |word: &str| {
        let typed = Typed::Text(word);
        enter(&report, "Proposals", "proposal", id, "accept", &typed);
    };
    // Comparing anew takes back what was decided, and whose it is.
    decide("refuse");
    cohort.done("moderate", &["--by", "Ines Roca"]);
    let ledger = cohort.ledger();
    let line = ledger.iter().rfind(|line| line[5].starts_with("proposal "));
    assert_eq!(&line.unwrap()[1], "Ines Roca");
    decide("accept");
    let said = cohort.done("collect", &["--by", "Noor"]).said();
    assert!(
        said.contains("`evenhand moderate` writes the sheet Mark again"),
        "{said}"
    );
    let first = given(&cohort, "first-marker");
    let of_ben: Vec<&String> = first
        .iter()
        .filter(|(_, who)| *who == "Ben")
        .map(|(pair, _)| pair)
        .collect();
    assert!(of_ben.len() > 3);
    let run = cohort.done("moderate", &[]);
    assert!(
        run.said()
            .contains(&format!("{} marks to be marked again", of_ben.len())),
        "{}",
        run.said()
    );
    let state = |pair: &str| {
        shown(
            &report,
            "Mark again",
            "proposal",
            &format!("stands programme/{pair}"),
            "state",
        )
    };
    assert_eq!(state(of_ben[0]), "waiting");
    // One is marked again by the moderator, one is said to stand.
    cohort.done("check", &[]);
    support::mark(
        &cohort.workbook(),
        of_ben[0],
        "programme",
        &Typed::Number(2.5),
    );
    let stands = format!("stands programme/{}", of_ben[1]);
    enter(
        &report,
        "Mark again",
        "proposal",
        &stands,
        "accept",
        &Typed::Text("accept"),
    );
    cohort.done("collect", &["--by", "Noor"]);
    let run = cohort.done("moderate", &[]);
    assert!(
        run.said()
            .contains(&format!("{} marks to be marked again", of_ben.len() - 2)),
        "{}",
        run.said()
    );
    assert_eq!(state(of_ben[0]), "marked again by Noor");
    assert_eq!(state(of_ben[1]), "stands, by Noor");
    assert_eq!(state(of_ben[2]), "waiting");
    // The first mark stands until the run is settled: handed back, and said.
    let run = cohort.done("return", &[]);
    assert!(
        run.said().contains("was to be marked again"),
        "{}",
        run.said()
    );
    assert!(run.said().contains(of_ben[2].as_str()));
}

#[test]
fn where_all_are_marked_twice_the_moderator_settles_what_differs() {
    let cohort = shared_out(
        4,
        "second_marking = \"all\"\ntolerance = 10\nagreed = \"mean\"",
    );
    // All agree within 10 percent but for the testing of pair 2.
    mark_everything(&cohort, |marker, pair, criterion| {
        let base = if criterion == "thinking" { 2.0 } else { 1.5 };
        match (marker, pair, criterion) {
            ("Ben", 2, "testing") => 4.0,
            ("Ben", 3, "thinking") => 2.25,
            _ => base,
        }
    });
    decide_errors(&cohort);
    cohort.done("collect", &[]);
    let refused = cohort.run("return", &[]);
    assert_eq!(refused.code(), 2);
    assert!(
        refused.said().contains("wait for the moderator"),
        "{}",
        refused.said()
    );
    assert!(!cohort.path("returned").exists());
    cohort.done("moderate", &[]);
    let report = cohort.path("out/moderation-report.xlsx");
    let why = shown(
        &report,
        "Proposals",
        "proposal",
        "adjudicate testing/P02",
        "why",
    );
    assert!(why.contains("further apart"), "{why}");
    assert!(
        all_text(&cohort, "out/record-of-moderation.xlsx")
            .contains("open: waits for the moderator")
    );
    // Without the pair that is open, the others go back.
    let run = cohort.done("return", &["--complete-only"]);
    assert!(run.said().contains("Held back: 1 pair"), "{}", run.said());
    cohort.done("check", &[]);
    support::mark(&cohort.workbook(), "P02", "testing", &Typed::Number(3.0));
    cohort.done("collect", &["--by", "Noor"]);
    cohort.done("return", &[]);
    let marks = rows(&cohort, "returned/marks.csv");
    let mark = |pair: &str, criterion: &str| {
        let row = marks
            .iter()
            .find(|row| &row[1] == pair && &row[3] == criterion);
        row.unwrap()[4].parse::<f64>().unwrap()
    };
    assert_eq!(mark("P02", "testing"), 3.0);
    // Within tolerance (half a mark of five): the mean of 2 and 2.25.
    assert_eq!(mark("P03", "thinking"), 2.125);
    let record = all_text(&cohort, "returned/record-of-moderation.xlsx");
    assert!(
        record.contains("Noor (instructor), 2026-04-01"),
        "the adjudication is on the record"
    );
}

/// Everything for which moderation holds a pair back: a mark missing, a second mark missing where all are marked twice, files that disagree, an
/// adjudication, an error that nobody decided. Each alone stops the whole, and nothing is written.
#[test]
fn handing_back_refuses_whatever_is_open() {
    let cohort = shared_out(2, "second_marking = \"all\"\ntolerance = 10");
    mark_everything(&cohort, |_, _, _| 1.5);
    decide_errors(&cohort);
    cohort.done("collect", &[]);
    let refuses = |says: &str| {
        let run = cohort.run("return", &[]);
        assert_eq!(run.code(), 2, "{says}: {}", run.said());
        assert!(run.said().contains(says), "{says}: {}", run.said());
        assert!(!cohort.path("returned").exists(), "{says}");
    };
    let first = given(&cohort, "first-marker");
    let second = given(&cohort, "second-marker");
    let book = |marker: &str| cohort.path(&format!("marking/{marker}.xlsx"));
    let type_in = |marker: &str, typed: &Typed<'_>| {
        cohort.done("share", &[]);
        enter(&book(marker), "Marks", "pair", "P01", "mark testing", typed);
        cohort.done("collect", &[]);
    };
    // The second marker's mark withdrawn, then the first's.
    type_in(&second["P01"], &Typed::Nothing);
    refuses("the second marker's mark is missing");
    type_in(&second["P01"], &Typed::Number(1.5));
    type_in(&first["P01"], &Typed::Nothing);
    refuses("the first marker's mark is missing");
    type_in(&first["P01"], &Typed::Number(5.0));
    refuses("wait for the moderator");
    type_in(&first["P01"], &Typed::Number(1.5));
    // Two copies of one workbook that disagree.
    cohort.done("share", &[]);
    let copy = cohort.path("copy.xlsx");
    std::fs::copy(book(&first["P01"]), &copy).unwrap();
    for (file, value) in [(&copy, 1.0), (&book(&first["P01"]), 1.25)] {
        enter(
            file,
            "Marks",
            "pair",
            "P01",
            "mark testing",
            &Typed::Number(value),
        );
        cohort.done("collect", &[file.to_str().unwrap()]);
    }
    refuses("files disagree");
    let said = cohort.done("collect", &[]).said();
    let both = "P01, Mark for Tests: 1 (copy.xlsx Marks!";
    assert!(
        said.contains(both) && said.contains("or 1.25 (marking/"),
        "{said}"
    );
    assert!(
        said.contains("enter what is to stand in out/moderation.xlsx"),
        "{said}"
    );
    // The moderator decides; an error in the data that nobody has decided still holds it.
    cohort.done("check", &[]);
    support::mark(&cohort.workbook(), "P01", "testing", &Typed::Number(1.5));
    cohort.done("collect", &[]);
    let trials = cohort
        .read("submissions/P01/trials.csv")
        .replacen(",lob,2,", ",lob,22,", 1);
    cohort.write("submissions/P01/trials.csv", &trials);
    cohort.done("check", &[]);
    refuses("undecided: F-");
    decide_errors(&cohort);
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    assert!(cohort.path("returned/record-of-moderation.xlsx").is_file());
}
