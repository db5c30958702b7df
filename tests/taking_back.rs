//! What people enter in the workbooks comes onto the ledger, and is never lost.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use std::fs;
use std::path::Path;

use evenhand::logbook::grid::Value;

use support::{Cohort, Typed, enter, enter_at, mark, save_again, shown};

#[test]
fn what_is_entered_comes_back_and_the_same_file_twice_changes_nothing() {
    let cohort = Cohort::new(3);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "testing", &Typed::Number(4.5));
    mark(&workbook, "P02", "testing", &Typed::Text(" 5,5 "));
    enter(
        &workbook,
        "Marks",
        "pair",
        "P01",
        "comment overall",
        &Typed::Text("A clear <report> & honest."),
    );
    let run = cohort.done("collect", &["--by", "Noor Haddad"]);
    assert!(run.said().contains("3 entries"), "{}", run.said());
    assert_eq!(cohort.last("P01", "mark testing").as_deref(), Some("4.5"));
    assert_eq!(cohort.last("P02", "mark testing").as_deref(), Some("5.5"));
    let line = &cohort.ledger()[0];
    assert_eq!(&line[0], "2026-04-01T09:00:00Z");
    assert_eq!(&line[1], "Noor Haddad");
    assert_eq!(&line[2], "instructor");
    assert_eq!(&line[9], "out/moderation.xlsx");
    assert!(line[10].starts_with("Marks!"), "{}", &line[10]);
    assert!(line[11].len() == 16 && line[12].len() == 16, "digests");
    cohort.done("collect", &[]);
    assert_eq!(cohort.ledger().len(), 3);
    // The fresh workbook shows the entries, and holds nothing new.
    cohort.done("check", &[]);
    assert_eq!(
        shown(&workbook, "Marks", "pair", "P02", "mark testing"),
        "5.5"
    );
    cohort.done("collect", &[]);
    assert_eq!(cohort.ledger().len(), 3);
    cohort.done("collect", &["--verify"]);
}

#[test]
fn check_takes_back_before_it_writes_anew() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "testing", &Typed::Number(4.0));
    cohort.done("check", &[]);
    assert_eq!(cohort.last("P01", "mark testing").as_deref(), Some("4"));
    assert_eq!(
        shown(&workbook, "Marks", "pair", "P01", "mark testing"),
        "4"
    );
    // Changed, emptied, and entered again, each in its own run.
    mark(&workbook, "P01", "testing", &Typed::Number(3.0));
    cohort.done("check", &[]);
    mark(&workbook, "P01", "testing", &Typed::Nothing);
    cohort.done("check", &[]);
    assert_eq!(cohort.last("P01", "mark testing").as_deref(), Some(""));
    assert_eq!(shown(&workbook, "Marks", "pair", "P01", "mark testing"), "");
    mark(&workbook, "P01", "testing", &Typed::Number(3.0));
    cohort.done("check", &[]);
    assert_eq!(cohort.ledger().len(), 4);
    // Nothing new: the same bytes.
    let before = fs::read(&workbook).unwrap();
    cohort.done("check", &[]);
    assert_eq!(fs::read(&workbook).unwrap(), before);
}

#[test]
fn what_cannot_be_understood_stops_check_with_its_cell_and_the_workbook_stays() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "testing", &Typed::Text("four"));
    mark(&workbook, "P02", "testing", &Typed::Number(5.0));
    let before = fs::read(&workbook).unwrap();
    let run = cohort.run("check", &[]);
    assert_eq!(run.code(), 2, "{}", run.said());
    let (row, column) = support::cell(&workbook, "Marks", "pair", "P01", "mark testing");
    let cell = evenhand::place::cell_name(row, column);
    assert!(
        run.said().contains(&format!("Marks!{cell}")),
        "{}",
        run.said()
    );
    assert!(run.said().contains("four"));
    assert_eq!(fs::read(&workbook).unwrap(), before);
    assert!(cohort.ledger().is_empty());
    // Taking back takes the rest and names the cell.
    let run = cohort.run("collect", &[]);
    assert_eq!(run.code(), 1);
    assert!(run.said().contains(&format!("Marks!{cell}")));
    assert_eq!(cohort.ledger().len(), 1);
}

#[test]
fn every_refusal_has_its_cell_and_reason() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "testing", &Typed::Number(99.0));
    mark(&workbook, "P01", "programme", &Typed::Text("-1"));
    let finding = first_finding(&cohort);
    enter(
        &workbook,
        "Findings",
        "finding",
        &finding,
        "decision",
        &Typed::Text("maybe"),
    );
    // A pair that isn't there: the id of P02's row was overtyped.
    let (row, _) = support::cell(&workbook, "Marks", "pair", "P02", "pair");
    mark(&workbook, "P02", "testing", &Typed::Number(1.0));
    enter_at(&workbook, "Marks", row, 0, &Typed::Text("P77"));
    let run = cohort.run("collect", &[]);
    assert_eq!(run.code(), 1, "{}", run.said());
    for says in ["99", "out of range", "-1", "not one of the words", "P77"] {
        assert!(run.said().contains(says), "{says}: {}", run.said());
    }
    assert!(cohort.ledger().is_empty());
}

fn first_finding(cohort: &Cohort) -> String {
    let findings = cohort.read("out/findings.csv");
    findings
        .lines()
        .nth(1)
        .and_then(|line| line.split(',').next())
        .unwrap()
        .to_owned()
}

#[test]
fn two_files_that_disagree_are_kept_side_by_side() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let (one, other) = (cohort.path("one.xlsx"), cohort.path("other.xlsx"));
    fs::copy(cohort.workbook(), &one).unwrap();
    fs::copy(cohort.workbook(), &other).unwrap();
    mark(&one, "P01", "testing", &Typed::Number(4.0));
    mark(&other, "P01", "testing", &Typed::Number(2.0));
    cohort.done("collect", &[one.to_str().unwrap()]);
    let run = cohort.done("collect", &[other.to_str().unwrap()]);
    assert!(
        run.said().contains("Waiting for the moderator"),
        "{}",
        run.said()
    );
    assert_eq!(cohort.last("P01", "mark testing").as_deref(), Some("4"));
    assert_eq!(
        cohort.last("P01", "conflict mark testing").as_deref(),
        Some("2")
    );
    for file in [&one, &other, &one] {
        cohort.done("collect", &[file.to_str().unwrap()]);
    }
    assert_eq!(cohort.ledger().len(), 2);
    // The fresh workbook leaves the cell empty and says why; whatever is typed then decides, also the value that stood first.
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    assert_eq!(shown(&workbook, "Marks", "pair", "P01", "mark testing"), "");
    assert!(shown(&workbook, "Marks", "pair", "P01", "attention").contains("4 or 2"));
    mark(&workbook, "P01", "testing", &Typed::Number(4.0));
    cohort.done("check", &[]);
    assert_eq!(
        shown(&workbook, "Marks", "pair", "P01", "mark testing"),
        "4"
    );
    for file in [&one, &other] {
        cohort.done("collect", &[file.to_str().unwrap()]);
    }
    assert_eq!(
        cohort.ledger().len(),
        3,
        "files taken back once more change nothing"
    );
}

#[test]
fn a_workbook_saved_again_by_another_program_comes_back_whole() {
    let cohort = Cohort::new(4);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    for (pair, value) in [("P01", 4.0), ("P02", 5.0), ("P03", 1.0 / 3.0), ("P04", 6.0)] {
        mark(&workbook, pair, "testing", &Typed::Number(value));
    }
    enter(
        &workbook,
        "Marks",
        "pair",
        "P03",
        "comment overall",
        &Typed::Text("Two lines\nof comment, \"quoted\"; with ünïcode"),
    );
    let finding = first_finding(&cohort);
    enter(
        &workbook,
        "Findings",
        "finding",
        &finding,
        "decision",
        &Typed::Text("Dismiss"),
    );
    for ending in ["xlsx", "ods"] {
        let Some(saved) = save_again(&workbook, ending, &cohort.path("elsewhere")) else {
            return;
        };
        let run = cohort.done("collect", &[saved.to_str().unwrap()]);
        assert!(run.said().contains("6 entries"), "{ending}: {}", run.said());
        assert_eq!(
            cohort
                .last("P03", "mark testing")
                .unwrap()
                .parse::<f64>()
                .map(|mark| (mark * 1e12).round()),
            Ok((1e12_f64 / 3.0).round())
        );
        assert_eq!(
            cohort.last("P03", "comment overall").as_deref(),
            Some("Two lines\nof comment, \"quoted\"; with ünïcode")
        );
        let run = cohort.done("collect", &[saved.to_str().unwrap()]);
        assert!(
            run.said().contains("nothing new"),
            "{ending}: {}",
            run.said()
        );
        fs::remove_file(cohort.path("ledger.csv")).unwrap();
    }
}

#[test]
fn an_open_workbook_is_not_replaced_and_read_with_a_warning() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    cohort.write("out/.~lock.moderation.xlsx#", ",someone,host,,");
    let run = cohort.run("check", &[]);
    assert_eq!(run.code(), 2, "{}", run.said());
    let run = cohort.done("collect", &[]);
    assert!(run.said().contains("has it open"), "{}", run.said());
    cohort.done("check", &["--ignore-locks"]);
}

#[test]
fn a_lost_ledger_is_made_again_from_the_workbook() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    mark(&cohort.workbook(), "P01", "testing", &Typed::Number(4.0));
    cohort.done("check", &[]);
    fs::remove_file(cohort.path("ledger.csv")).unwrap();
    cohort.done("check", &[]);
    assert_eq!(cohort.last("P01", "mark testing").as_deref(), Some("4"));
}

#[test]
fn numbers_that_a_marker_typed_are_recomputed_at_the_next_check() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    let type_row = |row: u32, value: &str| {
        for (column, text) in [
            (0, "P01"),
            (2, "mean"),
            (4, "post"),
            (6, value),
            (11, "p. 9"),
        ] {
            enter_at(&workbook, "Claims", row, column, &Typed::Text(text));
        }
    };
    let first_empty = 5 + 6;
    type_row(first_empty, "9.90");
    cohort.done("collect", &[]);
    assert_eq!(
        cohort.last("P01", "claim m1").as_deref(),
        Some("mean; ; post; ; 9.90; p. 9")
    );
    // The number was mistyped: changed before the row has an id, it stays the same claim.
    type_row(first_empty, "9.80");
    cohort.done("check", &[]);
    assert_eq!(cohort.ledger().len(), 2);
    let claims = cohort.read("out/claims.csv");
    let line = claims
        .lines()
        .find(|line| line.starts_with("P01,m1,"))
        .unwrap();
    assert!(line.contains(",9.8,") && line.contains("differs"), "{line}");
    assert_eq!(shown(&workbook, "Claims", "claim", "m1", "claimed"), "9.80");
    cohort.done("check", &[]);
    assert_eq!(cohort.ledger().len(), 2);
    enter(
        &workbook,
        "Claims",
        "claim",
        "m1",
        "claimed",
        &Typed::Nothing,
    );
    cohort.done("check", &[]);
    assert!(!cohort.read("out/claims.csv").contains("P01,m1,"));
}

#[test]
fn one_decision_stands_for_all_findings_of_a_check() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    enter(
        &cohort.workbook(),
        "Checks",
        "check",
        "testing.no-transfer-test",
        "decision-for-all",
        &Typed::Text("dismiss"),
    );
    cohort.done("check", &[]);
    assert_eq!(
        cohort
            .last("", "decision-for-all testing.no-transfer-test")
            .as_deref(),
        Some("dismiss")
    );
}

/// Writes the workbook anew as somebody may have arranged it: the sheet of marks renamed, its columns in another order with columns of their
/// own among them, its rows sorted the other way round and one of them deleted, the rest as it was.
fn rearranged(workbook: &Path, into: &Path, deleted: &str) {
    let mut new = rust_xlsxwriter::Workbook::new();
    for grid in support::grids(workbook) {
        let name = grid.name().to_owned();
        let sheet = new.add_worksheet();
        let marks = name == "Marks";
        sheet
            .set_name(if marks { "Noor, final" } else { &name })
            .unwrap();
        let last = grid.rows() - 1;
        for cell in &grid.cells {
            let (mut row, mut column) = (cell.row, cell.column);
            if marks {
                if row >= 5 {
                    if grid
                        .get(row, 0)
                        .is_some_and(|id| format!("{:?}", id.value).contains(deleted))
                    {
                        continue;
                    }
                    row = 5 + last - row;
                }
                // Every third column from the right is the marker's own.
                column = (60 - column) + (60 - column) / 2;
            }
            let column = u16::try_from(column).unwrap();
            match &cell.value {
                Value::Number(number) if marks && row % 2 == 0 => {
                    sheet
                        .write_string(row, column, number.to_string().replace('.', ","))
                        .unwrap();
                }
                Value::Number(number) => {
                    sheet.write_number(row, column, *number).unwrap();
                }
                Value::Text(text) => {
                    sheet.write_string(row, column, &**text).unwrap();
                }
                other => panic!("{other:?}"),
            }
        }
        if marks {
            sheet.write_string(7, 2, "a note of my own").unwrap();
            sheet.set_row_hidden(6).unwrap();
        }
    }
    new.save(into).unwrap();
}

#[test]
fn entries_are_known_by_their_ids_wherever_they_were_moved() {
    let cohort = Cohort::new(5);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P04", "testing", &Typed::Number(1.0));
    cohort.done("check", &[]);
    let pairs = [("P01", 4.5), ("P02", 3.25), ("P03", 2.0), ("P05", 5.5)];
    for (pair, value) in pairs {
        mark(&workbook, pair, "testing", &Typed::Number(value));
        mark(&workbook, pair, "numbers", &Typed::Number(value / 2.0));
    }
    let moved = cohort.path("moved.xlsx");
    rearranged(&workbook, &moved, "P04");
    let run = cohort.done("collect", &[moved.to_str().unwrap()]);
    assert!(run.said().contains("8 entries"), "{}", run.said());
    for (pair, value) in pairs {
        let of = |criterion: &str| cohort.last(pair, &format!("mark {criterion}"));
        assert_eq!(of("testing").unwrap().parse(), Ok(value));
        assert_eq!(of("numbers").unwrap().parse(), Ok(value / 2.0));
    }
    // The deleted row changed nothing.
    assert_eq!(cohort.last("P04", "mark testing").as_deref(), Some("1"));
}

#[test]
fn a_row_copied_and_changed_is_two_values_for_one_thing() {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    mark(&workbook, "P01", "testing", &Typed::Number(4.0));
    mark(&workbook, "P02", "testing", &Typed::Number(5.0));
    let (row, _) = support::cell(&workbook, "Marks", "pair", "P02", "pair");
    enter_at(&workbook, "Marks", row, 0, &Typed::Text("p01"));
    let run = cohort.run("collect", &[]);
    assert_eq!(run.code(), 1);
    assert!(run.said().contains("2 different values"), "{}", run.said());
    assert!(cohort.ledger().is_empty());
}
