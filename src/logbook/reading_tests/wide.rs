//! One row a block, or one column a block.

use super::{canonical, claims, logbook, problems, trials};
use crate::logbook::grid::Grid;
use crate::logbook::model::ClaimOrigin;

#[test]
fn a_row_a_block_and_a_column_a_trial() {
    let logbook = logbook(&[Grid::from_rows(
        "Raw data",
        &[
            "Scores of our learner",
            "",
            "Test phase|Session|T1|T2|T3|Total|Average|SD",
            "Pre-Test|1|2|1|2|5|1.67|0.58",
            "Practice|2|3|absent|2|5|2.5|",
            "Practice|3|3|3|4|10|=AVERAGE(C6:E6) -> 3.33|",
            "Post test|4|4|3||7|3.5|",
        ],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "pre 1 1 2",
            "pre 1 2 1",
            "pre 1 3 2",
            "practice 2 1 3",
            "practice 2 2 -",
            "practice 2 3 2",
            "practice 3 1 3",
            "practice 3 2 3",
            "practice 3 3 4",
            "post 4 1 4",
            "post 4 2 3",
            "post 4 3 -",
        ]
    );
    assert_eq!(problems(&logbook), []);
    assert_eq!(
        claims(&logbook),
        [
            "c1 sum pre - 5",
            "c2 mean pre - 1.67",
            "c3 sd pre - 0.58",
            "c4 sum practice 2 - 5",
            "c5 mean practice 2 - 2.5",
            "c6 sum practice 3 - 10",
            "c7 mean practice 3 - 3.33",
            "c8 sum post - 7",
            "c9 mean post - 3.5",
        ]
    );
    assert_eq!(logbook.claims[0].origin, ClaimOrigin::BesideTrials);
    let range = logbook.claims[6].formula.as_ref().expect("a range");
    assert_eq!(
        (range.taken.len(), range.left_out.len(), range.extra.len()),
        (3, 0, 0)
    );
}

#[test]
fn bare_numbers_and_phase_with_trial_in_one_header() {
    let bare = logbook(&[Grid::from_rows(
        "Data",
        &["Phase|1|2|3|4", "Pre|1|2|3|4", "Post|2|3|4|4"],
    )]);
    assert_eq!(trials(&bare)[4], "post - 1 2");
    let joint = logbook(&[Grid::from_rows(
        "Form",
        &[
            "Timestamp|Performer|Pretest-T-1|Pretest-T-2|Posttest-T-1|Posttest-T-2",
            "@2026-03-02|Ana|1|2|3|4",
        ],
    )]);
    assert_eq!(
        trials(&joint),
        ["pre - 1 1", "pre - 2 2", "post - 1 3", "post - 2 4"]
    );
}

#[test]
fn a_column_a_phase_and_a_row_a_trial() {
    let grid = Grid::from_rows(
        "Results",
        &[
            "Trial|Pre|Post|Retention",
            "1|1|3|2",
            "2|2|4|3",
            "3|2|4|n/a",
            "Mean|=AVERAGE(B2:B3) -> 1.5|3.67|2.5",
            "St Dev|0.58|0.58|",
        ],
    );
    let logbook = logbook(&[grid]);
    assert_eq!(
        trials(&logbook),
        [
            "pre - 1 1",
            "pre - 2 2",
            "pre - 3 2",
            "post - 1 3",
            "post - 2 4",
            "post - 3 4",
            "retention - 1 2",
            "retention - 2 3",
            "retention - 3 -",
        ]
    );
    assert_eq!(
        claims(&logbook),
        [
            "c1 mean pre - 1.5",
            "c2 mean post - 3.67",
            "c3 mean retention - 2.5",
            "c4 sd pre - 0.58",
            "c5 sd post - 0.58"
        ]
    );
    let range = logbook.claims[0].formula.as_ref().expect("a range");
    assert_eq!(
        (range.taken.clone(), range.left_out.clone()),
        (vec![0, 1], vec![2])
    );
    assert_eq!(problems(&logbook), []);
}

#[test]
fn a_column_a_session_and_a_row_a_trial() {
    let sessions = canonical().remove(2);
    let logbook = logbook(&[
        sessions,
        Grid::from_rows(
            "Scores",
            &[
                "Attempt #|Session 1|Session 2|Session 3|Session 4",
                "1|1|2|3|4",
                "2|2|3|3|4",
                "Average|1.5|2.5|3|4",
            ],
        ),
    ]);
    assert_eq!(
        trials(&logbook),
        [
            "pre 1 1 1",
            "pre 1 2 2",
            "practice 2 1 2",
            "practice 2 2 3",
            "practice 3 1 3",
            "practice 3 2 3",
            "post 4 1 4",
            "post 4 2 4"
        ]
    );
    assert_eq!(
        logbook.trials[2].date.map(|day| day.to_string()),
        Some("2026-03-04".into())
    );
    assert_eq!(
        claims(&logbook),
        [
            "c1 mean pre - 1.5",
            "c2 mean practice 2 - 2.5",
            "c3 mean practice 3 - 3",
            "c4 mean post - 4"
        ]
    );
}

#[test]
fn weeks_over_weekdays_and_practice_counted_from_one() {
    let sessions = canonical().remove(2);
    let logbook = logbook(&[
        sessions,
        Grid::from_rows(
            "Scores",
            &["Trial|Pre|Practice 1|Practice 2|Post", "1|1|2|3|4"],
        ),
    ]);
    // Practice 1 is the first practice session, which the Sessions table numbers 2.
    assert_eq!(
        trials(&logbook),
        [
            "pre 1 1 1",
            "practice 2 1 2",
            "practice 3 1 3",
            "post 4 1 4"
        ]
    );
}

#[test]
fn sheets_named_for_their_phase_and_tables_side_by_side() {
    let sheets = logbook(&[
        Grid::from_rows("Pre", &["Trial|Score", "1|2"]),
        Grid::from_rows("Post test", &["Trial|Score", "1|4"]),
        Grid::from_rows("Sheet3", &[]),
    ]);
    assert_eq!(trials(&sheets), ["pre - 1 2", "post - 1 4"]);
    let beside = logbook(&[Grid::from_rows(
        "Scores",
        &[
            "Pre-test|||Post-test",
            "Trial|Score||Trial|Score",
            "1|2||1|4",
            "2|3||2|3",
        ],
    )]);
    assert_eq!(
        trials(&beside),
        ["pre - 1 2", "pre - 2 3", "post - 1 4", "post - 2 3"]
    );
    assert_eq!(problems(&beside), []);
}

#[test]
fn sessions_that_nothing_tells_apart_are_counted() {
    let rows = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Phase|T1|T2",
            "Pre|1|2",
            "Practice|2|2",
            "Practice|3|3",
            "Post|4|4",
        ],
    )]);
    assert_eq!(
        trials(&rows)[2..6],
        [
            "practice 1 1 2",
            "practice 1 2 2",
            "practice 2 1 3",
            "practice 2 2 3"
        ]
    );
    let long = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Phase|Trial|Score",
            "pre|1|1",
            "practice|1|2",
            "practice|2|2",
            "practice|1|3",
            "practice|2|4",
            "post|1|4",
        ],
    )]);
    assert_eq!(
        trials(&long),
        [
            "pre - 1 1",
            "practice 1 1 2",
            "practice 1 2 2",
            "practice 2 1 3",
            "practice 2 2 4",
            "post - 1 4"
        ]
    );
    let weeks = logbook(&[Grid::from_rows(
        "Data",
        &[
            "|Week 1||Week 2|",
            "Trial|Mon|Wed|Mon|Wed",
            "1|1|2|3|4",
            "2|2|2|3|4",
        ],
    )]);
    assert_eq!(trials(&weeks)[2], "practice 2 1 2");
    assert_eq!(trials(&weeks)[7], "practice 4 2 4");
    let sheets = logbook(&[
        Grid::from_rows("Session 2", &["Trial|Score", "1|2"]),
        Grid::from_rows("Week 3", &["Trial|Score", "1|3"]),
        Grid::from_rows("Transfer", &["Trial|Score", "1|4"]),
    ]);
    assert_eq!(
        trials(&sheets),
        ["practice 2 1 2", "practice 3 1 3", "transfer - 1 4"]
    );
}

#[test]
fn several_raters_and_measures_side_by_side() {
    let raters = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Phase|Trial|Rater A|Rater B",
            "pre|1|2|3",
            "pre|2|2|",
            "post|1|3|4",
        ],
    )]);
    assert_eq!(
        trials(&raters),
        [
            "pre - 1 2",
            "pre - 1 3",
            "pre - 2 2",
            "post - 1 3",
            "post - 1 4"
        ]
    );
    assert_eq!(raters.trials[1].rater.as_deref(), Some("Rater B"));
    let measures = canonical().remove(1);
    let logbook = logbook(&[
        measures,
        Grid::from_rows(
            "Trials",
            &[
                "Phase|Trial|Accuracy|Distance (cm)",
                "pre|1|2|30",
                "post|1|4|12",
            ],
        ),
    ]);
    assert_eq!(
        trials(&logbook),
        ["pre - 1 2", "pre - 1 30", "post - 1 4", "post - 1 12"]
    );
    assert_eq!(
        logbook
            .trials
            .iter()
            .map(|trial| trial.measure)
            .collect::<Vec<_>>(),
        [0, 1, 0, 1]
    );
    assert_eq!(problems(&logbook), []);
}

#[test]
fn score_columns_by_the_names_of_the_measures() {
    let measures = Grid::from_rows(
        "Measures",
        &[
            "measure|kind|better",
            "juggling catches|count|higher",
            "drops|count|lower",
        ],
    );
    let logbook = logbook(&[
        measures,
        Grid::from_rows(
            "Sheet2",
            &[
                "Phase|Trial|Juggling catches|Drops",
                "pre|1|2|3",
                "post|1|4|1",
            ],
        ),
    ]);
    assert_eq!(
        trials(&logbook),
        ["pre - 1 2", "pre - 1 3", "post - 1 4", "post - 1 1"]
    );
    assert_eq!(problems(&logbook), []);
}

/// A text file has no date cells: its headers are dates in words.
#[test]
fn columns_headed_by_days_in_text() {
    for days in [
        "11.03.2026|18.03.2026",
        "2026-03-11|2026-03-18",
        "11 March 2026|18 March 2026",
        "3/11/2026|3/18/2026",
    ] {
        let logbook = logbook(&[
            Grid::from_text(
                "P07/sessions.csv",
                &[
                    "session|date|phase|minutes",
                    "1|2026-03-11|practice|40",
                    "2|2026-03-18|practice|40",
                ],
            ),
            Grid::from_text(
                "P07/trials-practice.csv",
                &[&format!("Trial|{days}"), "1|2 cm|3 cm", "2|4 cm|5 cm"],
            ),
        ]);
        assert_eq!(
            trials(&logbook),
            [
                "practice 1 1 2",
                "practice 1 2 4",
                "practice 2 1 3",
                "practice 2 2 5"
            ],
            "{days}"
        );
    }
}

/// `S2` is no variance, and `R2` no share of explained variance, where it heads a column of scores.
#[test]
fn the_second_session_is_no_variance() {
    let logbook = logbook(&[Grid::from_rows(
        "Practice",
        &["Trial|S1|S2|S3", "1|2|3|4", "2|3|3|4"],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "practice 1 1 2",
            "practice 1 2 3",
            "practice 2 1 3",
            "practice 2 2 3",
            "practice 3 1 4",
            "practice 3 2 4"
        ]
    );
}

#[test]
fn phase_and_trial_run_together_in_one_header() {
    let logbook = logbook(&[Grid::from_rows(
        "Results",
        &[
            "Performer|PretestTrial1|PretestTrial2|PosttestTrial1|PosttestTrial2",
            "L1|4|2|3|5",
        ],
    )]);
    assert_eq!(
        trials(&logbook),
        ["pre - 1 4", "pre - 2 2", "post - 1 3", "post - 2 5"]
    );
}

/// Ones and noughts in a row are successes and failures, not numbers of trials.
#[test]
fn a_row_of_successes_is_no_header() {
    let logbook = logbook(&[Grid::from_rows(
        "Results",
        &[
            "Performer|Pretest-T-1|Pretest-T-2|Pretest-T-3|Posttest-T-1|Posttest-T-2|Posttest-T-3",
            "L1|0|1|0|1|1|1",
        ],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "pre - 1 0",
            "pre - 2 1",
            "pre - 3 0",
            "post - 1 1",
            "post - 2 1",
            "post - 3 1"
        ]
    );
}

/// The first column of week 1 is its first practice session, though the pre-test was in the same week.
#[test]
fn weeks_on_a_sheet_of_practice_are_weeks_of_practice() {
    let logbook = logbook(&[
        Grid::from_rows(
            "Sessions",
            &[
                "session|date|week|phase|minutes",
                "|@2026-03-02|1|pre|20",
                "1|@2026-03-03|1|practice|40",
                "2|@2026-03-05|1|practice|40",
                "3|@2026-03-09|2|practice|40",
                "4|@2026-03-12|2|practice|40",
            ],
        ),
        Grid::from_rows(
            "Training",
            &["|Week 1||Week 2|", "Trial|Mon|Wed|Mon|Wed", "1|2|3|4|3"],
        ),
    ]);
    assert_eq!(
        trials(&logbook),
        [
            "practice 1 1 2",
            "practice 2 1 3",
            "practice 3 1 4",
            "practice 4 1 3"
        ]
    );
}

/// "Test" and "Training" head the phases and the sessions, not a row of data behind a phase.
#[test]
fn columns_headed_test_and_training_before_bare_numbers() {
    let logbook = logbook(&[Grid::from_rows(
        "Tests data",
        &["test|training|1|2|3", "pretest||1|1|2", "post-test||2|3|3"],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "pre - 1 1",
            "pre - 2 1",
            "pre - 3 2",
            "post - 1 2",
            "post - 2 3",
            "post - 3 3"
        ]
    );
}

#[test]
fn files_and_headers_that_count_their_phase_or_session() {
    let file =
        |name: &str, score: &str| Grid::from_text(name, &["Trial|Score", &format!("1|{score}")]);
    let files = logbook(&[
        file("P07/trials-pre.csv", "1"),
        file("P07/trials-Session 1.csv", "2"),
        file("P07/trials-Session 2.csv", "3"),
        file("P07/trials-f-u.csv", "4"),
    ]);
    assert_eq!(
        trials(&files),
        [
            "pre - 1 1",
            "practice 1 1 2",
            "practice 2 1 3",
            "retention - 1 4"
        ]
    );
    let headers = logbook(&[Grid::from_rows(
        "Tests",
        &[
            "Trial|Pre|Post|1st retention|2nd retention|third retention test",
            "1|1|2|3|4|5",
        ],
    )]);
    assert_eq!(
        trials(&headers),
        [
            "pre - 1 1",
            "post - 1 2",
            "retention - 1 3",
            "retention 2 - 1 4",
            "retention 3 - 1 5"
        ]
    );
}

/// `3,667` is over three thousand or under four: the other averages of the same file say which.
#[test]
fn averages_with_three_decimals_behind_a_comma() {
    let table = |other: &str| {
        logbook(&[Grid::from_rows(
            "Data",
            &[
                "Phase|T1|T2|T3|Mean|SD",
                &format!("pre|3|4|4|'3,667|{other}"),
                "post|5|5|4|'4,667|",
            ],
        )])
    };
    let settled = table("'0,58");
    assert_eq!(
        claims(&settled),
        [
            "c1 mean pre - 3.667",
            "c2 sd pre - 0.58",
            "c3 mean post - 4.667"
        ]
    );
    assert_eq!(problems(&settled), []);
}
