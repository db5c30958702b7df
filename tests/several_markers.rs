//! Several markers, the whole way: shared out, marked, taken back, compared.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use std::collections::BTreeMap;
use std::path::PathBuf;

use support::{Cohort, Typed, enter, shown};

const MARKERS: [&str; 3] = ["Ann", "Ben", "Cara"];

fn shared_out(pairs: usize, rest: &[&str]) -> Cohort {
    let cohort = Cohort::new(pairs);
    let settings = cohort.read("cohort.toml");
    cohort.write(
        "cohort.toml",
        &format!("{settings}[moderation]\nsample_least = 4\n[conflicts]\nAnn = [\"P01\"]\n"),
    );
    let rest: Vec<&str> = ["--markers", "Ann,Ben,Cara"]
        .into_iter()
        .chain(rest.iter().copied())
        .collect();
    cohort.done("share", &rest);
    cohort
}

/// Who marks each pair by the ledger.
fn markers(cohort: &Cohort, what: &str) -> BTreeMap<String, String> {
    let ledger = cohort.ledger();
    let lines = ledger.iter().filter(|line| &line[5] == what);
    lines
        .map(|line| (line[3].to_owned(), line[7].to_owned()))
        .collect()
}

fn workbook(cohort: &Cohort, marker: &str) -> PathBuf {
    cohort.path(&format!("marking/{marker}.xlsx"))
}

fn mark(cohort: &Cohort, marker: &str, pair: &str, criterion: &str, mark: f64) {
    let key = format!("mark {criterion}");
    let typed = Typed::Number(mark);
    enter(
        &workbook(cohort, marker),
        "Marks",
        "pair",
        pair,
        &key,
        &typed,
    );
}

#[test]
fn shared_pairs_come_back_in_the_roles_of_their_markers() {
    let cohort = shared_out(8, &["--common", "2"]);
    let first = markers(&cohort, "first-marker");
    let second = markers(&cohort, "second-marker");
    assert_eq!(first.len(), 8);
    assert_ne!(first["P01"], "Ann");
    for marker in MARKERS {
        assert!(first.values().any(|one| one == marker), "{first:?}");
    }
    let sample = markers(&cohort, "sample");
    let common: Vec<&String> = sample
        .iter()
        .filter(|(_, why)| *why == "given to every marker")
        .map(|(pair, _)| pair)
        .collect();
    assert_eq!(common.len(), 2, "{sample:?}");
    let pair = common[0].as_str();
    for (marker, given) in MARKERS.into_iter().zip([3.0, 4.0, 5.0]) {
        mark(&cohort, marker, pair, "testing", given);
    }
    let before = cohort.ledger().len();
    cohort.done("collect", &[]);
    let ledger = cohort.ledger();
    let taken: Vec<(&str, &str, &str)> = ledger[before..]
        .iter()
        .map(|line| (&line[1], &line[2], &line[5]))
        .collect();
    // Three marks and nothing else: comments that were started for the markers are nobody's entries.
    assert_eq!(taken.len(), 3, "{taken:?}");
    for (who, role, what) in taken {
        let expected = if first[pair] == who {
            ("marker", String::from("mark testing"))
        } else if second[pair] == who {
            ("second marker", String::from("mark testing"))
        } else {
            ("marker", format!("common mark testing by {who}"))
        };
        assert_eq!((role, what), (expected.0, expected.1.as_str()), "{who}");
    }
    cohort.done("collect", &[]);
    assert_eq!(cohort.ledger().len(), before + 3);
    // A second sharing moves nothing, and shows each marker their own mark.
    cohort.done("share", &[]);
    assert_eq!(cohort.ledger().len(), before + 3);
    for (marker, given) in MARKERS.into_iter().zip(["3", "4", "5"]) {
        let book = workbook(&cohort, marker);
        assert_eq!(shown(&book, "Marks", "pair", pair, "mark testing"), given);
        cohort.done("collect", &[]);
    }
    assert_eq!(cohort.ledger().len(), before + 3);
}

#[test]
fn a_comment_counts_once_it_was_changed() {
    let cohort = shared_out(4, &[]);
    let first = markers(&cohort, "first-marker");
    let book = workbook(&cohort, &first["P02"]);
    let started = shown(&book, "Marks", "pair", "P02", "comment testing");
    assert!(!started.is_empty());
    let changed = format!("{started} Well done.");
    enter(
        &book,
        "Marks",
        "pair",
        "P02",
        "comment testing",
        &Typed::Text(&changed),
    );
    cohort.done("share", &[]);
    assert_eq!(
        cohort.last("P02", "comment testing").as_deref(),
        Some(changed.as_str())
    );
    assert_eq!(
        shown(&book, "Marks", "pair", "P02", "comment testing"),
        changed
    );
}

#[test]
fn nobody_to_share_out_to_is_said() {
    let cohort = Cohort::new(2);
    let run = cohort.run("share", &[]);
    assert_eq!(run.code(), 2);
    assert!(run.said().contains("--markers"), "{}", run.said());
}
