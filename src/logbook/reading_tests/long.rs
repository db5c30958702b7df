//! One row a trial.

use super::{claims, logbook, problems, trials};
use crate::logbook::grid::{Grid, Merged};

#[test]
fn subtotals_between_the_blocks_of_a_long_table() {
    let logbook = logbook(&[Grid::from_rows(
        "Trials",
        &[
            "phase|trial|score",
            "pre|1|2",
            "pre|2|3",
            "Mean||2.5",
            "post|1|4",
            "|2|3",
            "Mean||=AVERAGE(C5:C6) -> 3.5",
            "SD||=STDEV(C5:C6)",
        ],
    )]);
    assert_eq!(
        trials(&logbook),
        ["pre - 1 2", "pre - 2 3", "post - 1 4", "post - 2 3"]
    );
    assert_eq!(
        claims(&logbook),
        [
            "c1 mean pre - 2.5",
            "c2 mean post - 3.5",
            "c3 sd post - 0.707106781186548"
        ]
    );
}

#[test]
fn headings_among_the_rows_and_merged_labels() {
    let headed = logbook(&[Grid::from_rows(
        "Trials",
        &[
            "Trial|Score",
            "Pre-test",
            "1|2",
            "2|3",
            "",
            "Post-test",
            "1|4",
            "2|4",
            "Scores are out of four.",
        ],
    )]);
    assert_eq!(
        trials(&headed),
        ["pre - 1 2", "pre - 2 3", "post - 1 4", "post - 2 4"]
    );
    let merged = logbook(&[Grid::from_rows(
        "Trials",
        &["Phase|Trial|Score", "Pre|1|2", "|2|3", "Post|1|4", "|2|4"],
    )
    .merge((1, 0), (2, 0))
    .merge((3, 0), (4, 0))]);
    assert_eq!(
        trials(&merged),
        ["pre - 1 2", "pre - 2 3", "post - 1 4", "post - 2 4"]
    );
}

#[test]
fn averages_that_stand_apart_from_the_table() {
    let beside = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Phase|Trial|Score||Summary|",
            "pre|1|1||Pre mean|=AVERAGE(C2:C3)",
            "pre|2|2||SD post|0.5",
            "post|1|3||",
            "post|2|4||",
        ],
    )]);
    assert_eq!(claims(&beside), ["c1 mean pre - 1.5", "c2 sd post - 0.5"]);
    assert_eq!(problems(&beside), []);
    let below = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Phase|Trial|Score",
            "pre|1|1",
            "pre|2|2",
            "post|1|3",
            "post|2|4",
            "",
            "Pre mean|1.5",
            "Post mean|3.5",
            "% change|133",
        ],
    )]);
    assert_eq!(trials(&below).len(), 4);
    assert_eq!(
        claims(&below),
        [
            "c1 mean pre - 1.5",
            "c2 mean post - 3.5",
            "c3 percent change post pre 133"
        ]
    );
}

#[test]
fn a_session_column_that_names_phases_too() {
    let logbook = logbook(&[Grid::from_rows(
        "Data",
        &["Session|T1|T2", "Pre|1|2", "1|2|2", "2|3|3", "Post|4|4"],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "pre - 1 1",
            "pre - 2 2",
            "practice 1 1 2",
            "practice 1 2 2",
            "practice 2 1 3",
            "practice 2 2 3",
            "post - 1 4",
            "post - 2 4"
        ]
    );
    assert_eq!(problems(&logbook), []);
}

/// Words alone in a row are a note, whatever its column holds.
#[test]
fn notes_below_a_table_are_no_trials() {
    for note in [
        "Notes: windy on the third day",
        "* measured twice",
        "All trials were scored by the coach.",
    ] {
        for header in ["session|phase|score", "date|phase|score"] {
            let first = if header.starts_with("date") {
                "@2026-03-02"
            } else {
                "1"
            };
            let logbook = logbook(&[Grid::from_rows(
                "Trials",
                &[header, &format!("{first}|pre|3"), "", note],
            )]);
            assert_eq!(logbook.trials.len(), 1, "{note}");
            assert_eq!(problems(&logbook), [], "{note}");
        }
    }
}

/// A group's name above ("Result") doesn't change what the column's own name says ("rep").
#[test]
fn groups_of_columns_under_merged_names() {
    for trial in ["rep", "#"] {
        let mut grid = Grid::from_rows(
            "Trials",
            &[
                "When||Result|",
                &format!("date|phase|{trial}|CE"),
                "@2026-03-02|pre|1|3",
            ],
        );
        grid.merged = vec![merged(0, 0, 1), merged(0, 2, 3)];
        let logbook = logbook(&[grid]);
        assert_eq!(trials(&logbook), ["pre - 1 3"]);
        assert_eq!(problems(&logbook), []);
    }
}

fn merged(row: u32, first: u32, last: u32) -> Merged {
    Merged {
        first_row: row,
        last_row: row,
        first_column: first,
        last_column: last,
    }
}

/// `end` and `start` are keys of About, and phases of trials.
#[test]
fn a_phase_that_is_a_key_of_about_begins_no_about_table() {
    let logbook = logbook(&[Grid::from_text(
        "P07/trials.csv",
        &[
            "date|condition|score",
            "2026-03-02|start|1",
            "2026-03-09|end|2",
            "2026-03-09|end|3",
        ],
    )]);
    assert_eq!(trials(&logbook), ["pre - - 1", "post - - 2", "post - - 3"]);
}
