//! Files with many faults, each told at its line and column: a rubric, models of stages, theories.

#![allow(clippy::unwrap_used, clippy::panic)] // In a test, a panic is the report.

use std::fs;
use std::path::Path;

use evenhand::checks;
use evenhand::claims::slips;
use evenhand::expression::Catalogue;
use evenhand::rubric::{Known, proofread};

/// Line, column and message of everything that is told of a file.
fn told(name: &str) -> Vec<(usize, usize, String)> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/faulty")
        .join(name);
    let text = fs::read_to_string(path).unwrap();
    let catalogue = Catalogue::new(checks::ALL.iter().map(|check| check.id));
    let slips: Vec<&str> = slips::ALL.iter().map(|slip| slip.code).collect();
    let known = Known {
        catalogue: &catalogue,
        slips: &slips,
    };
    let faults = proofread(name, &text, &known).unwrap_err();
    faults
        .list
        .into_iter()
        .map(|fault| (fault.line, fault.column, fault.message))
        .collect()
}

/// Every expected place is told with that part of its message, and nothing else is.
#[track_caller]
fn assert_told(name: &str, expected: &[(usize, usize, &str)]) {
    let told = told(name);
    assert_eq!(told.len(), expected.len(), "{told:#?}");
    for ((line, column, message), (at_line, at_column, part)) in told.iter().zip(expected) {
        assert_eq!((line, column), (at_line, at_column), "{name}: {message}");
        assert!(message.contains(part), "{name} line {line}: {message}");
    }
}

#[test]
fn every_fault_of_a_rubric_is_told_at_its_place() {
    assert_told(
        "rubric.toml",
        &[
            (2, 10, "sum to 22, not to 20"),
            (3, 1, "no key `passs`"),
            (9, 8, "overlaps"),
            (12, 8, "below 2 have no level"),
            (14, 18, "must be 0 or more"),
            (15, 1, "no threshold `few_trial`"),
            (17, 1, "no check `testing.one-raters`"),
            (18, 21, "`loud` is no weight"),
            (20, 11, "no slip `best-trail`"),
            (28, 13, "no fact `retention.maen`"),
            (28, 56, "no fact `thresholds.retention_day`"),
            (29, 15, "no fact `retention.days_afer`"),
            (33, 9, "a number is compared with a text"),
            (37, 8, "never true"),
            (45, 9, "must be true or false"),
            (47, 6, "used twice"),
        ],
    );
}

#[test]
fn every_fault_of_models_of_stages_is_told_at_its_place() {
    assert_told(
        "stages.toml",
        &[
            (4, 1, "no key `spelling`"),
            (10, 13, "no sign `attention`"),
            (11, 1, "needs `spellings`"),
            (12, 6, "used twice"),
            (17, 6, "not \"begin\""),
            (19, 11, "no fact `pre.levl`"),
            (24, 11, "no stage `cognitiv`"),
            (25, 9, "a number is compared with a text"),
            (26, 1, "`source` of a sign is missing"),
            (31, 10, "must be true or false"),
            (35, 8, "never true"),
        ],
    );
}

#[test]
fn every_fault_of_theories_is_told_at_its_place() {
    assert_told(
        "theories.toml",
        &[
            (1, 1, "`source` of a theory is missing"),
            (6, 10, "no theory `c`"),
            (11, 14, "no fact `curve.session`"),
            (12, 31, "ends too early"),
            (13, 11, "must be true or false"),
            (14, 11, "no fact `curve.ris`"),
            (16, 10, "list of texts"),
            (19, 1, "`design`"),
            (19, 1, "`needs`"),
            (19, 1, "`when`"),
            (20, 6, "used twice"),
            (22, 22, "true or false"),
            (25, 1, "`title` of a theory is missing"),
            (25, 1, "needs [[theory.prediction]]"),
            (27, 1, "no key `titel`"),
        ],
    );
}
