//! What could be read in two ways, and what cannot be read.

use super::{canonical, claims, logbook, problems, trials};
use crate::logbook::grid::Grid;
use crate::logbook::problem::ProblemKind;
use crate::phase::PhaseKind;

#[test]
fn traps_are_settled_by_content() {
    let stage = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Stage|Condition|T|Score",
            "cognitive|pre|1|2",
            "associative|post|1|4",
        ],
    )]);
    assert_eq!(trials(&stage), ["pre - 1 2", "post - 1 4"]);
    assert_eq!(
        problems(&stage),
        [(ProblemKind::UnrecognisedColumn, "Stage".into())]
    );
    let times = logbook(&[Grid::from_rows(
        "Data",
        &["Trial|T1|T2|T3", "1|2|3|3", "2|2|4|3"],
    )]);
    assert_eq!(trials(&times)[0], "pre - 1 2");
    assert_eq!(trials(&times)[2], "post - 1 3");
    let trial_run = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Test|Trial|Score",
            "practice trials|1|1",
            "pre|1|2",
            "practice|1|3",
            "post|1|4",
        ],
    )]);
    assert_eq!(
        trial_run.trials[0].phase.map(|phase| phase.kind),
        Some(PhaseKind::Familiarisation)
    );
    assert_eq!(
        problems(&trial_run),
        [(ProblemKind::AmbiguousColumn, "practice trials".into())]
    );
    let data = logbook(&[Grid::from_rows(
        "Dados",
        &[
            "Data|Fase|Tentativa|Pontuação",
            "'09/03/2026|pré-teste|1|2",
            "'16/03/2026|pós-teste|1|4",
        ],
    )]);
    assert_eq!(trials(&data), ["pre - 1 2", "post - 1 4"]);
    assert_eq!(
        data.trials[0].date.map(|day| day.to_string()),
        Some("2026-03-09".into())
    );
    let two = logbook(&[Grid::from_rows(
        "Data",
        &["Phase|Trial|Score|Points", "pre|1|2|9", "post|1|4|9"],
    )]);
    assert_eq!(trials(&two), ["pre - 1 2", "post - 1 4"]);
    assert_eq!(
        problems(&two),
        [(ProblemKind::AmbiguousColumn, "Points".into())]
    );
}

#[test]
fn error_cells_and_words_are_problems_with_their_cells() {
    let logbook = logbook(&[Grid::from_rows(
        "Trials",
        &[
            "phase|trial|score|sparkle",
            "pre|1|#DIV/0!|5",
            "pre|2|good|",
            "pre|3|miss|",
            "pre|4|=B2+1|",
        ],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "pre - 1 ?#DIV/0!",
            "pre - 2 ?good",
            "pre - 3 ?miss",
            "pre - 4 ?=B2+1"
        ]
    );
    let kinds: Vec<(ProblemKind, String)> = logbook
        .problems
        .iter()
        .map(|problem| (problem.kind, problem.places[0].to_string()))
        .collect();
    assert_eq!(
        kinds,
        [
            (ProblemKind::UnrecognisedColumn, "P07.xlsx Trials!D1".into()),
            (ProblemKind::FormulaError, "P07.xlsx Trials!C2".into()),
            (ProblemKind::NotANumber, "P07.xlsx Trials!C3".into()),
            (ProblemKind::AmbiguousValue, "P07.xlsx Trials!C4".into()),
            (ProblemKind::FormulaError, "P07.xlsx Trials!C5".into()),
        ]
    );
}

#[test]
fn points_in_time_from_zero() {
    let zero = logbook(&[Grid::from_rows(
        "Data",
        &["Test|Trial|Score", "T0|1|1", "T1|1|2", "T2|1|3"],
    )]);
    assert_eq!(
        trials(&zero),
        ["pre - 1 1", "post - 1 2", "retention - 1 3"]
    );
    let one = logbook(&[Grid::from_rows(
        "Data",
        &["Test|Trial|Score", "T1|1|1", "T2|1|2", "T3|1|3"],
    )]);
    assert_eq!(trials(&one), ["pre - 1 1", "post - 1 2", "retention - 1 3"]);
}

#[test]
fn a_column_settles_its_commas_and_a_file_its_dates() {
    let comma = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Date|Phase|Trial|Score",
            "'9/3/26|pre|1|'2,5",
            "'9/3/26|pre|2|'1,250",
            "'16/3/26|post|1|'3,75",
        ],
    )]);
    assert_eq!(
        trials(&comma),
        ["pre - 1 2.5", "pre - 2 1.25", "post - 1 3.75"]
    );
    assert_eq!(
        comma.trials[0].date.map(|day| day.to_string()),
        Some("2026-03-09".into())
    );
    let open = logbook(&[Grid::from_rows(
        "Data",
        &[
            "Date|Phase|Trial|Score",
            "'9/3/26|pre|1|'1,250",
            "'9/3/26|pre|2|'1,375",
        ],
    )]);
    assert_eq!(
        problems(&open),
        [
            (ProblemKind::UnreadableDate, "9/3/26".into()),
            (ProblemKind::AmbiguousValue, "1,250".into()),
            (ProblemKind::AmbiguousValue, "1,375".into()),
        ]
    );
    let about = Grid::from_rows(
        "About",
        &["pair|P07", "start|@2025-12-01", "end|@2026-01-30"],
    );
    let yearless = logbook(&[
        about,
        Grid::from_rows(
            "Data",
            &[
                "Date|Phase|Trial|Score",
                "Mon 8 Dec|pre|1|2",
                "'12 Jan|post|1|3",
            ],
        ),
    ]);
    assert_eq!(
        yearless.trials[0].date.map(|day| day.to_string()),
        Some("2025-12-08".into())
    );
    assert_eq!(
        yearless.trials[1].date.map(|day| day.to_string()),
        Some("2026-01-12".into())
    );
}

#[test]
fn what_stays_open_is_said_once_for_all_its_cells() {
    let measures = canonical().remove(1);
    let logbook = logbook(&[
        measures,
        Grid::from_rows(
            "Trials",
            &[
                "phase|trial|measure|score|estimate",
                "warmish|1|throw accuracy|3|",
                "warmish|2|throw accuracy|3|lots",
                "pre|1|throw accuracy|4|n/a",
            ],
        ),
    ]);
    assert_eq!(trials(&logbook), ["- - 1 3", "- - 2 3", "pre - 1 4"]);
    assert!(logbook.trials.iter().all(|trial| trial.measure == 0));
    let said: Vec<(String, usize)> = logbook
        .problems
        .iter()
        .map(|problem| (problem.text.clone(), problem.places.len()))
        .collect();
    assert_eq!(
        said,
        [
            ("throw accuracy".into(), 1),
            ("warmish".into(), 2),
            ("lots".into(), 1),
            ("3".into(), 2)
        ]
    );
}

/// Where a file keeps only what a cell showed, its error is still an error.
#[test]
fn an_error_in_a_text_file_is_an_error() {
    let logbook = logbook(&[Grid::from_text(
        "P07/trials.csv",
        &["phase|trial|score", "pre|1|#DIV/0!", "pre|2|3"],
    )]);
    assert_eq!(
        problems(&logbook),
        [(ProblemKind::FormulaError, "#DIV/0!".to_owned())]
    );
}

/// The average below the scores has their decimal mark.
#[test]
fn the_scores_settle_the_commas_of_their_average() {
    let logbook = logbook(&[Grid::from_text(
        "P07/pre.csv",
        &["Trial|Score", "1|61,7", "2|61,69", "Mean|61,695"],
    )]);
    assert_eq!(claims(&logbook), ["c1 mean pre - 61.695"]);
    assert_eq!(problems(&logbook), []);
}

/// Dates with a time begin with digits like numbers; a column of them is one of dates.
#[test]
fn a_column_of_dates_headed_data() {
    let logbook = logbook(&[Grid::from_text(
        "P07/trials.csv",
        &[
            "data|fase|tentativa|pontuação",
            "17/09/2026 14:30|pre|1|3",
            "17/09/2026 14:30|pre|2|4",
        ],
    )]);
    assert_eq!(trials(&logbook), ["pre - 1 3", "pre - 2 4"]);
    assert_eq!(problems(&logbook), []);
}

/// Rows of numbers with their units belong to no table: that is said.
#[test]
fn numbers_with_units_are_not_dropped_in_silence() {
    let logbook = logbook(&[Grid::from_text(
        "P07/odd.csv",
        &["foo|bar|baz", "a|27.1cm|27.5cm", "b|28.4cm|29.8cm"],
    )]);
    assert_eq!(problems(&logbook)[0].0, ProblemKind::UnrecognisedColumn);
}

/// Strokes count in a measure of counts; elsewhere they are no number.
#[test]
fn tally_marks_are_counts() {
    let of_kind = |kind: &str| {
        logbook(&[
            Grid::from_rows(
                "Measures",
                &["measure|kind|better", &format!("hits|{kind}|higher")],
            ),
            Grid::from_rows(
                "Trials",
                &["phase|trial|score", "pre|1|IIII", "pre|2|IIII/ I"],
            ),
        ])
    };
    assert_eq!(trials(&of_kind("count")), ["pre - 1 4", "pre - 2 6"]);
    assert_eq!(problems(&of_kind("rating"))[0].0, ProblemKind::NotANumber);
}

#[test]
fn columns_that_look_like_scores_and_phases_say_how_to_settle_them() {
    let putt = logbook(&[Grid::from_rows(
        "Trials",
        &[
            "Session #|date|Test / practice|Attempt no.|measure|Distance from hole (cm)|x|y|condition|rater",
            "1||pre-test|1|distance|23.5|||3 m line|",
            "1||pre-test|2|distance|31|||3 m line|",
            "2||practice|1|distance|28|||3 m line|",
        ],
    )]);
    let settle: Vec<&str> = putt
        .columns_not_read()
        .map(|problem| problem.settle.as_str())
        .collect();
    assert_eq!(settle.len(), 2, "{:?}", putt.problems);
    assert!(settle[0].ends_with("[columns]: phase = [\"Test / practice\"]."));
    assert!(settle[1].ends_with("[columns]: score = [\"Distance from hole (cm)\"]."));
}
