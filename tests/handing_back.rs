//! Marks and feedback go back for complete pairs alone, and a second time says what changed.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use support::{Cohort, Typed, enter, mark};

/// Marks a pair in every criterion of the short rubric, and upholds the errors of every pair.
fn complete(cohort: &Cohort, pair: &str, marks: [f64; 4]) {
    let workbook = cohort.workbook();
    for (criterion, value) in ["testing", "programme", "numbers", "thinking"]
        .iter()
        .zip(marks)
    {
        mark(&workbook, pair, criterion, &Typed::Number(value));
    }
}

fn decide_errors(cohort: &Cohort, decision: &str) {
    let mut findings = csv::Reader::from_path(cohort.path("out/findings.csv")).unwrap();
    for finding in findings.records().map(Result::unwrap) {
        if &finding[3] == "error" {
            enter(
                &cohort.workbook(),
                "Findings",
                "finding",
                &finding[0],
                "decision",
                &Typed::Text(decision),
            );
        }
    }
}

/// The fields by the published list (1EdTech OneRoster CSV 1.2): each of its kind, ids unique, and results of a line item that is there.
fn one_roster_is_valid(cohort: &Cohort) {
    let read = |name: &str| -> Vec<std::collections::BTreeMap<String, String>> {
        let mut reader = csv::Reader::from_path(cohort.path(name)).unwrap();
        let rows = reader.deserialize();
        rows.map(Result::unwrap).collect()
    };
    let (items, results) = (read("returned/lineItems.csv"), read("returned/results.csv"));
    assert!(items.len() == 1 && !results.is_empty());
    let number = |text: &str| text.parse::<f64>().unwrap();
    for row in items.iter().chain(&results) {
        assert!(!row["sourcedId"].is_empty() && !row["classSourcedId"].is_empty());
        // Bulk files leave both empty.
        assert!(row["status"].is_empty() && row["dateLastModified"].is_empty());
        for (field, value) in row {
            if field.ends_with("Date") {
                assert!(
                    value.parse::<jiff::civil::Date>().is_ok(),
                    "{field}: {value}"
                );
            }
        }
    }
    let item = &items[0];
    for field in [
        "title",
        "categorySourcedId",
        "academicSessionSourcedId",
        "schoolSourcedId",
    ] {
        assert!(!item[field].is_empty(), "{field}");
    }
    let mut ids: Vec<&str> = results
        .iter()
        .map(|row| row["sourcedId"].as_str())
        .collect();
    ids.sort_unstable();
    ids.dedup();
    assert_eq!(ids.len(), results.len());
    for row in &results {
        assert_eq!(row["lineItemSourcedId"], item["sourcedId"]);
        assert_eq!(row["classSourcedId"], item["classSourcedId"]);
        assert!(!row["studentSourcedId"].is_empty());
        let statuses = [
            "exempt",
            "fully graded",
            "not submitted",
            "partially graded",
            "submitted",
        ];
        assert!(statuses.contains(&row["scoreStatus"].as_str()));
        let score = number(&row["score"]);
        assert!(
            score >= number(&item["resultValueMin"]) && score <= number(&item["resultValueMax"])
        );
        for flag in ["inProgress", "incomplete", "late", "missing"] {
            assert!(["true", "false"].contains(&row[flag].as_str()), "{flag}");
        }
    }
}

fn marks(cohort: &Cohort) -> Vec<csv::StringRecord> {
    let mut marks = csv::Reader::from_path(cohort.path("returned/marks.csv")).unwrap();
    assert_eq!(
        marks
            .headers()
            .unwrap()
            .iter()
            .collect::<Vec<_>>()
            .join(","),
        "student_id,pair,role,criterion,mark,out_of,raw,shift,adjust,late,final"
    );
    marks.records().map(Result::unwrap).collect()
}

#[test]
fn an_incomplete_pair_stops_it_and_nothing_is_written() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    complete(&cohort, "P01", [5.0, 4.0, 3.0, 2.5]);
    mark(&cohort.workbook(), "P02", "testing", &Typed::Number(1.0));
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    let run = cohort.run("return", &[]);
    assert_eq!(run.code(), 2, "{}", run.said());
    assert!(run.said().contains("P02: no mark for"), "{}", run.said());
    assert!(!cohort.path("returned").exists());
    assert!(!cohort.ledger().iter().any(|line| &line[5] == "handed-back"));
    let run = cohort.done("return", &["--complete-only"]);
    assert!(run.said().contains("Held back: 1 pair"), "{}", run.said());
    let marks = marks(&cohort);
    assert!(marks.iter().all(|row| &row[1] == "P01"));
    let total = marks.iter().rfind(|row| &row[0] == "s11").unwrap();
    assert_eq!(
        total.iter().collect::<Vec<_>>()[3..],
        ["total", "14.5", "20", "14.5", "0", "0", "0", "14.5"]
    );
    assert!(cohort.path("returned/feedback/P01.html").is_file());
    assert!(!cohort.path("returned/feedback/P02.html").exists());
}

#[test]
fn lateness_adjustment_and_rounding_are_shown_line_by_line() {
    let cohort = Cohort::new(1);
    cohort.write(
        "roster.csv",
        "student_id,name,pair,role,due,submitted,adjust,status\ns1,,P01,coach,2026-03-20,2026-03-22,1.25,\ns2,,P01,learner,2026-03-20,2026-03-20,,\ns3,,P01,learner,2026-03-20,,,excused\n",
    );
    cohort.write(
        "cohort.toml",
        "title = \"T\"\nrubric = \"short\"\n[return]\nround = 0.5\n[late]\npercent = 5\ncap = 40\n",
    );
    cohort.done("check", &[]);
    complete(&cohort, "P01", [5.0, 4.0, 3.0, 2.3]);
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let totals: Vec<Vec<String>> = marks(&cohort)
        .iter()
        .filter(|row| &row[3] == "total")
        .map(|row| row.iter().map(str::to_owned).collect())
        .collect();
    assert_eq!(totals.len(), 2, "an excused student is not handed back");
    // By hand: due at the end of the 20th, handed in on the 22nd: two days begun, 10 percent of 20 marks; 14.3 - 2 + 1.25 = 13.55, to 13.5.
    assert_eq!(
        totals[0][4..],
        ["14.3", "20", "14.3", "0", "1.25", "2", "13.5"]
    );
    assert_eq!(
        totals[1][4..],
        ["14.3", "20", "14.3", "0", "0", "0", "14.5"]
    );
    let results = cohort.read("returned/results.csv");
    assert!(results.starts_with(
        "sourcedId,status,dateLastModified,lineItemSourcedId,studentSourcedId,scoreStatus,score,scoreDate,comment,textScore,classSourcedId,inProgress,incomplete,late,missing\r\n"
    ));
    assert!(
        results.contains(",s1,fully graded,13.5,2026-04-01,"),
        "{results}"
    );
    assert!(results.contains("false,false,true,false"));
    let items = cohort.read("returned/lineItems.csv");
    assert!(items.starts_with(
        "sourcedId,status,dateLastModified,title,description,assignDate,dueDate,classSourcedId,categorySourcedId,academicSessionSourcedId,resultValueMin,resultValueMax,schoolSourcedId\r\n"
    ));
    let manifest = cohort.read("returned/manifest.csv");
    assert!(
        manifest
            .starts_with("propertyName,value\r\nmanifest.version,1.0\r\noneroster.version,1.2\r\n")
    );
    assert_eq!(manifest.matches(",bulk").count(), 2);
    assert_eq!(manifest.matches(",absent").count(), 19);
    one_roster_is_valid(&cohort);
}

#[test]
fn a_second_hand_back_says_what_changed_and_why() {
    let cohort = Cohort::new(1);
    cohort.done("check", &[]);
    complete(&cohort, "P01", [5.0, 4.0, 3.0, 2.5]);
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let first = cohort.read("returned/marks.csv");
    let lines = cohort.ledger().len();
    let run = cohort.done("return", &[]);
    assert!(!run.said().contains("Changed"), "{}", run.said());
    assert_eq!(cohort.read("returned/marks.csv"), first);
    assert_eq!(
        cohort.ledger().len(),
        lines,
        "nothing changed: no further line"
    );
    cohort.done("check", &[]);
    mark(&cohort.workbook(), "P01", "testing", &Typed::Number(6.0));
    // Forgetting to take it back is said, and changes nothing.
    let run = cohort.done("return", &[]);
    assert!(run.said().contains("not on the ledger"), "{}", run.said());
    assert_eq!(cohort.read("returned/marks.csv"), first);
    cohort.done("collect", &["--by", "Ines Roca"]);
    let run = cohort.done("return", &[]);
    for says in [
        "testing: 5 became 6",
        "total: 14.5 became 15.5",
        "Ines Roca",
    ] {
        assert!(run.said().contains(says), "{says}: {}", run.said());
    }
    assert!(cohort.read("returned/changes.csv").contains("Ines Roca"));
    cohort.done("collect", &["--verify"]);
}

#[test]
fn an_error_that_nobody_decided_holds_a_pair_back_and_a_dismissed_one_is_never_told() {
    let cohort = Cohort::new(1);
    // A score beyond the scale: an error in the data.
    let trials = cohort
        .read("submissions/P01/trials.csv")
        .replacen(",lob,2,", ",lob,22,", 1);
    cohort.write("submissions/P01/trials.csv", &trials);
    cohort.done("check", &[]);
    complete(&cohort, "P01", [5.0, 4.0, 3.0, 2.5]);
    cohort.done("collect", &[]);
    let run = cohort.run("return", &[]);
    assert_eq!(run.code(), 2, "{}", run.said());
    assert!(run.said().contains("undecided: F-"), "{}", run.said());
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let findings = cohort.read("out/findings.csv");
    let comment = csv::Reader::from_reader(findings.as_bytes())
        .records()
        .map(Result::unwrap)
        .find(|finding| &finding[2] == "data.out-of-scale")
        .map(|finding| finding[8].to_owned())
        .unwrap();
    assert!(
        cohort.read("returned/feedback.csv").contains(&comment),
        "{comment}"
    );
    decide_errors(&cohort, "dismiss");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    assert!(!cohort.read("returned/feedback.csv").contains(&comment));
    let page = cohort.read("returned/feedback/P01.html");
    assert!(!page.contains("<script") && page.contains("<svg"));
}

#[test]
fn a_dismissed_finding_leaves_no_trace_on_the_page() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    for pair in ["P01", "P02"] {
        complete(&cohort, pair, [5.0, 4.0, 3.0, 2.5]);
    }
    // The second pair states a sum where it says mean: one of its three numbers.
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let page = cohort.read("returned/feedback/P02.html");
    let everybody = cohort.read("returned/cohort-feedback.html");
    assert!(
        page.contains("1 of your 3 recomputed numbers is not what your trials give"),
        "{page}"
    );
    assert!(
        page.contains("Next:</span> 1 of your 3 recomputed numbers is not what your trials give: the mean of the post-test.")
    );
    assert!(everybody.contains("5 of 6 stated numbers"), "{everybody}");
    decide_errors(&cohort, "dismiss");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let page = cohort.read("returned/feedback/P02.html");
    for trace in [
        "not what your trials",
        "Not every",
        "list of your numbers",
        "All ",
    ] {
        assert!(!page.contains(trace), "{trace}: {page}");
    }
    assert!(
        page.contains("2 of your numbers were recomputed and are what your trials give"),
        "{page}"
    );
    let everybody = cohort.read("returned/cohort-feedback.html");
    assert!(everybody.contains("All 5 stated numbers"), "{everybody}");
}

#[test]
fn each_student_has_a_mark_of_their_own_where_the_rubric_says_so() {
    let cohort = Cohort::new(1);
    cohort.write(
        "r.toml",
        "title = \"T\"\nout_of = 15\n[[criterion]]\nid = \"report\"\ntitle = \"Report\"\nmarks = 10\n[[criterion.judged]]\nid = \"a\"\npoints = 10\nasks = \"?\"\n\
         [[criterion]]\nid = \"teamwork\"\ntitle = \"Teamwork\"\nmarks = 5\neach = \"student\"\n[[criterion.judged]]\nid = \"b\"\npoints = 5\nasks = \"?\"\n",
    );
    cohort.write("cohort.toml", "rubric = \"r.toml\"\n");
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "report", &Typed::Number(7.0));
    mark(&workbook, "P01", "teamwork#1", &Typed::Number(3.0));
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    let run = cohort.run("return", &[]);
    assert!(run.said().contains("Teamwork of s12"), "{}", run.said());
    // The roster turned round meanwhile: the workbook's own numbering holds.
    let roster = cohort.read("roster.csv");
    let lines: Vec<&str> = roster.lines().collect();
    cohort.write("roster.csv", &[lines[0], lines[2], lines[1]].join("\n"));
    mark(&workbook, "P01", "teamwork#2", &Typed::Number(5.0));
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let totals: Vec<(String, String)> = marks(&cohort)
        .iter()
        .filter(|row| &row[3] == "total")
        .map(|row| (row[0].to_owned(), row[10].to_owned()))
        .collect();
    assert_eq!(
        totals,
        [
            ("s12".to_owned(), "12".to_owned()),
            ("s11".to_owned(), "10".to_owned())
        ]
    );
    // What is one student's alone is not on the page that both get.
    let page = cohort.read("returned/feedback/P01.html");
    assert!(page.contains("each student's own") && !page.contains("12 of 15"));
    cohort.done("check", &[]);
    assert_eq!(
        support::shown(&workbook, "Marks", "pair", "P01", "mark teamwork#1"),
        "5"
    );
}

#[test]
fn without_a_roster_marks_go_back_by_pair() {
    let cohort = Cohort::new(1);
    std::fs::remove_file(cohort.path("roster.csv")).unwrap();
    cohort.done("check", &[]);
    complete(&cohort, "P01", [5.0, 4.0, 3.0, 2.5]);
    decide_errors(&cohort, "uphold");
    cohort.done("collect", &[]);
    cohort.done("return", &[]);
    let marks = marks(&cohort);
    assert!(
        marks
            .iter()
            .all(|row| row[0].is_empty() && &row[1] == "P01")
    );
    assert!(!cohort.path("returned/results.csv").exists());
}
