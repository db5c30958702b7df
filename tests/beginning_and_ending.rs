//! Beginning a cohort, and what is asked of it after marking: history, record, questions, forgetting.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use std::fs;

use support::{Cohort, Typed, enter, grids, mark};

fn program(arguments: &[&str]) -> (i32, String) {
    let output = assert_cmd::Command::cargo_bin("evenhand")
        .unwrap()
        .args(arguments)
        .output()
        .unwrap();
    let said = format!(
        "{}{}",
        String::from_utf8_lossy(&output.stdout),
        String::from_utf8_lossy(&output.stderr)
    );
    (output.status.code().unwrap(), said)
}

#[test]
fn setup_writes_a_cohort_that_check_takes_and_never_overwrites() {
    let folder = tempfile::tempdir().unwrap();
    let dir = folder.path().join("my course");
    let dir_text = dir.to_str().unwrap();
    let (code, said) = program(&["setup", dir_text, "--rubric", "short"]);
    assert_eq!(code, 0, "{said}");
    for file in [
        "cohort.toml",
        "roster.csv",
        "rubric.toml",
        "blank-logbook.xlsx",
        "submissions",
    ] {
        assert!(dir.join(file).exists(), "{file}");
    }
    let (code, said) = program(&["check", dir_text]);
    assert_eq!(code, 0, "{said}");
    assert!(
        fs::read_to_string(dir.join("out/findings.csv"))
            .unwrap()
            .contains("data.missing-submission")
    );
    fs::write(dir.join("roster.csv"), "student_id,pair\ns1,P1\n").unwrap();
    let (code, said) = program(&["setup", dir_text]);
    assert_eq!(code, 0, "{said}");
    assert!(said.contains("stays as it is"));
    assert_eq!(
        fs::read_to_string(dir.join("roster.csv")).unwrap(),
        "student_id,pair\ns1,P1\n"
    );
    assert!(
        fs::read_to_string(dir.join("rubric.toml"))
            .unwrap()
            .contains("first report")
    );
}

#[test]
fn the_history_and_the_record_tell_who_did_what_and_why() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    mark(&cohort.workbook(), "P01", "testing", &Typed::Number(4.0));
    cohort.done("check", &["--by", "Noor Haddad"]);
    mark(&cohort.workbook(), "P01", "testing", &Typed::Number(5.0));
    cohort.done("check", &["--by", "Ines Roca"]);
    mark(&cohort.workbook(), "P02", "testing", &Typed::Number(1.0));
    cohort.done("check", &["--by", "Somebody Else"]);
    let run = cohort.done("pair", &["P01", "--history"]);
    let said = run.said();
    let first = said.find("Noor Haddad (instructor)").unwrap();
    let second = said.find("Ines Roca (instructor)").unwrap();
    assert!(first < second, "{said}");
    assert!(said.contains("Mark for Tests: 5 (it was 4)"), "{said}");
    assert!(said.contains("out/moderation.xlsx Marks!"));
    assert!(said.contains("Lacks: no mark for Practice"), "{said}");
    let record = cohort.path("record.txt");
    cohort.done("pair", &["P01", "--record", record.to_str().unwrap()]);
    let text = fs::read_to_string(record).unwrap();
    for part in [
        "Noor Haddad",
        "Blocks",
        "Feedback as it would be handed back",
        "Rubric: ",
    ] {
        assert!(text.contains(part), "{part}");
    }
    assert!(!text.contains("Somebody Else"), "another pair's decisions");
}

#[test]
fn what_reading_left_open_is_said_with_the_line_that_settles_it() {
    let cohort = Cohort::new(3);
    let odd = cohort.path("submissions/final version");
    fs::rename(cohort.path("submissions/P02"), &odd).unwrap();
    let about = fs::read_to_string(odd.join("about.csv")).unwrap();
    fs::write(odd.join("about.csv"), about.replace("pair,P02\n", "")).unwrap();
    let trials = cohort
        .read("submissions/P01/trials.csv")
        .replacen(",score,", ",Pts adj.,", 1);
    cohort.write("submissions/P01/trials.csv", &trials);
    let said = cohort.done("check", &[]).said();
    let assign = "\"final version\" = \"P02\"";
    assert!(said.contains(assign), "{said}");
    assert!(said.contains("column “Pts adj.” (P01)"), "{said}");
    assert!(said.contains("score = [\"Pts adj.\"]"), "{said}");
    let settings = cohort.read("cohort.toml");
    cohort.write("cohort.toml", &format!("{settings}[assign]\n{assign}\n"));
    let said = cohort.done("check", &[]).said();
    assert!(!said.contains("whose is it"), "{said}");
}

#[test]
fn questions_are_those_that_are_open() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    cohort.done("questions", &[]);
    let findings = cohort.read("out/findings.csv");
    let queries = findings.matches(",query,").count();
    let asked = fs::read_dir(cohort.path("out/questions")).map_or(0, Iterator::count);
    assert_eq!(asked > 0, queries > 0);
    // Whatever P01 has found about it becomes a question once somebody decides to ask.
    let finding = findings
        .lines()
        .find(|line| line.contains(",P01,"))
        .unwrap();
    let id = finding.split(',').next().unwrap();
    enter(
        &cohort.workbook(),
        "Findings",
        "finding",
        id,
        "decision",
        &Typed::Text("ask the pair"),
    );
    cohort.done("check", &[]);
    cohort.done("questions", &[]);
    let text = cohort.read("out/questions/P01.txt");
    assert!(
        text.contains("Questions for pair P01") && text.contains("1. "),
        "{text}"
    );
    // A number that differs is asked for, without a guess at how it came about.
    let line = findings
        .lines()
        .find(|line| line.contains(",P02,numbers.differs,"))
        .unwrap();
    let id = line.split(',').next().unwrap();
    let (book, typed) = (cohort.workbook(), Typed::Text("ask the pair"));
    enter(&book, "Findings", "finding", id, "decision", &typed);
    cohort.done("check", &[]);
    cohort.done("questions", &[]);
    let text = cohort.read("out/questions/P02.txt");
    let asks = "1. You give 77.00 (p. 2) for the mean of the post-test; from your 10 trials we get 7.70. How did you work it out?";
    assert!(text.contains(asks), "{text}");
    assert!(text.contains("in a reply to this message"), "{text}");
    // The pair's record asks the same, as the page would.
    let record = cohort.path("record.txt");
    cohort.done("pair", &["P02", "--record", record.to_str().unwrap()]);
    let record = fs::read_to_string(record).unwrap();
    let asked =
        "You give 77.00 (p. 2) for the mean of the post-test; from your 10 trials we get 7.70.";
    assert!(
        record.contains(&format!("question,{asked}"))
            || record.contains(&format!("question,\"{asked}")),
        "{record}"
    );
}

#[test]
fn forgotten_names_are_nowhere_but_in_the_hand_ins() {
    let cohort = Cohort::new(1);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    for criterion in ["testing", "programme", "numbers", "thinking"] {
        mark(&workbook, "P01", criterion, &Typed::Number(3.0));
    }
    enter(
        &workbook,
        "Marks",
        "pair",
        "P01",
        "comment overall",
        &Typed::Text("Ama Test0 explained well."),
    );
    let mut findings = csv::Reader::from_path(cohort.path("out/findings.csv")).unwrap();
    for finding in findings.records().map(Result::unwrap) {
        if &finding[3] == "error" {
            enter(
                &workbook,
                "Findings",
                "finding",
                &finding[0],
                "decision",
                &Typed::Text("uphold"),
            );
        }
    }
    cohort.done("check", &[]);
    cohort.done("return", &[]);
    assert!(
        cohort
            .read("returned/feedback/P01.html")
            .contains("Ama Test0")
    );
    let run = cohort.done("forget", &[]);
    assert!(
        run.said().contains("Hand-ins are never written to"),
        "{}",
        run.said()
    );
    for file in [
        "roster.csv",
        "ledger.csv",
        "returned/feedback.csv",
        "returned/results.csv",
        "returned/feedback/P01.html",
    ] {
        let text = cohort.read(file);
        assert!(
            !text.contains("Ama Test0") && !text.contains("Bo Probe0"),
            "{file}"
        );
    }
    let cells = format!("{:?}", grids(&workbook));
    assert!(!cells.contains("Ama Test0") && cells.contains("student s11 explained well."));
    cohort.done("collect", &["--verify"]);
    // Nothing is taken for an entry, and nobody is forgotten twice.
    let lines = cohort.ledger().len();
    cohort.done("check", &[]);
    cohort.done("forget", &[]);
    assert_eq!(cohort.ledger().len(), lines);
}

#[test]
fn students_of_one_name_are_forgotten_apart_and_nothing_is_before_it_is_said() {
    let cohort = Cohort::new(2);
    let roster = cohort
        .read("roster.csv")
        .replace("Bo Probe0", "Ama Test0")
        .replace("Bo Probe1", "Ama Test0");
    cohort.write("roster.csv", &roster);
    cohort.done("check", &[]);
    for pair in ["P01", "P02"] {
        for criterion in ["testing", "programme", "numbers", "thinking"] {
            mark(&cohort.workbook(), pair, criterion, &Typed::Number(3.0));
        }
    }
    enter(
        &cohort.workbook(),
        "Marks",
        "pair",
        "P02",
        "comment overall",
        &Typed::Text("Ama Test0 explained well."),
    );
    for finding in csv::Reader::from_path(cohort.path("out/findings.csv"))
        .unwrap()
        .records()
        .map(Result::unwrap)
        .filter(|finding| &finding[3] == "error")
    {
        let typed = Typed::Text("uphold");
        let book = cohort.workbook();
        enter(
            &book,
            "Findings",
            "finding",
            &finding[0],
            "decision",
            &typed,
        );
    }
    cohort.done("check", &[]);
    cohort.done("return", &[]);
    let files = [
        "roster.csv",
        "ledger.csv",
        "returned/feedback.csv",
        "returned/feedback/P01.html",
        "returned/feedback/P02.html",
    ];
    let before: Vec<String> = files.iter().map(|file| cohort.read(file)).collect();
    let said = cohort.done("forget", &["--dry-run"]).said();
    assert!(said.contains("Nothing was replaced"), "{said}");
    assert!(
        said.contains("roster.csv") && said.contains("P01.html"),
        "{said}"
    );
    let after: Vec<String> = files.iter().map(|file| cohort.read(file)).collect();
    assert_eq!(before, after);
    cohort.done("forget", &["--yes"]);
    for id in ["s11", "s12", "s21", "s22"] {
        let roster = cohort.read("roster.csv");
        let line = roster.lines().find(|line| line.starts_with(id)).unwrap();
        assert!(line.starts_with(&format!("{id},student {id},")), "{line}");
    }
    assert!(
        cohort
            .read("returned/feedback/P01.html")
            .contains("student s11, student s12")
    );
    assert!(
        cohort
            .read("returned/feedback/P02.html")
            .contains("student s21, student s22")
    );
    for file in files {
        assert!(!cohort.read(file).contains("Ama Test0"), "{file}");
    }
    let ledger = cohort.ledger();
    let comment = ledger.iter().find(|line| &line[5] == "comment overall");
    assert_eq!(&comment.unwrap()[7], "student s22 explained well.");
}
