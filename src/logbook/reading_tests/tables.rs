//! The canonical tables, in workbooks and text files; About and the checklist as handed in.

use super::{canonical, claims, logbook, problems, trials};
use crate::logbook::grid::Grid;
use crate::logbook::model::ClaimMeasure;
use crate::logbook::problem::ProblemKind;
use crate::phase::{BlockName, Phase};

#[test]
fn canonical_tables_are_read_exactly() {
    let logbook = logbook(&canonical());
    assert_eq!(problems(&logbook), []);
    let about = &logbook.about;
    assert_eq!(
        about.pair.as_ref().map(|pair| pair.place.to_string()),
        Some("P07.xlsx About!B2".into())
    );
    assert_eq!(
        about.start.as_ref().map(|day| day.value.to_string()),
        Some("2026-03-02".into())
    );
    assert_eq!(
        about.learning_claimed.as_ref().map(|yes| yes.value),
        Some(true)
    );
    assert_eq!(
        about.experience.as_ref().map(|text| text.value.to_string()),
        Some("none".into())
    );
    assert_eq!(logbook.measures.len(), 2);
    assert_eq!(logbook.sessions.len(), 4);
    assert_eq!(logbook.sessions[2].feedback_percent, Some(50.0));
    assert_eq!(
        trials(&logbook),
        [
            "pre 1 1 2",
            "pre 1 2 1",
            "practice 2 1 2",
            "practice 3 1 3",
            "post 4 1 -",
            "post 4 1 5",
            "post 4 2 -",
        ]
    );
    assert_eq!(
        logbook.trials[3].date.map(|day| day.to_string()),
        Some("2026-03-11".into())
    );
    assert_eq!(logbook.trials[0].place.to_string(), "P07.xlsx Trials!F2");
    assert_eq!(logbook.trials[5].place.to_string(), "P07.xlsx Trials!G7");
    assert_eq!(logbook.trials[5].landing, Some((3.0, 4.0)));
    assert_eq!(logbook.trials[5].measure, 1);
    assert_eq!(logbook.trials[0].estimate, Some(3.0));
    assert_eq!(logbook.technique.len(), 3);
    assert_eq!(logbook.technique[1].rating, Some(1.0));
    assert_eq!(
        claims(&logbook),
        [
            "c1 mean pre - 1.5",
            "c2 percent change post pre 33.3",
            "c3 nap post pre 0.85",
            "c4 sd practice 3 - 0.5",
            "c5 retained gain retention - 80%",
            "c6 ? post - 7",
            "c7 p t post pre 0.03",
            "c8 mean post - 2",
        ]
    );
    assert_eq!(
        logbook.claims[7].measure,
        ClaimMeasure::Unknown("poise".into())
    );
    assert_eq!(logbook.claims[2].value_text.as_ref(), "85%");
}

#[test]
fn canonical_text_files_are_read_the_same() {
    let sheets = canonical();
    let texts: Vec<Grid> = sheets
        .iter()
        .map(|sheet| {
            let mut grid = sheet.clone();
            grid.file = format!("P07/{}.csv", sheet.name().to_lowercase()).into();
            for cell in &mut grid.cells {
                cell.value = crate::logbook::grid::Value::Text(
                    crate::logbook::cells::cell_text(cell).into(),
                );
            }
            let rows = grid.rows();
            grid.source = crate::logbook::grid::Source::Text {
                lines: (0..rows).collect(),
            };
            grid
        })
        .collect();
    let (a, b) = (logbook(&sheets), logbook(&texts));
    assert_eq!(problems(&b), []);
    assert_eq!(trials(&a), trials(&b));
    assert_eq!(claims(&a), claims(&b));
    assert_eq!(
        a.sessions.iter().map(|s| s.date).collect::<Vec<_>>(),
        b.sessions.iter().map(|s| s.date).collect::<Vec<_>>()
    );
    assert_eq!(
        b.trials[0].place.to_string(),
        "P07/trials.csv line 2, field 6"
    );
}

#[test]
fn trials_in_two_files_are_one_table() {
    let logbook = logbook(&[
        Grid::from_text(
            "P07/P07-trials-practice.csv",
            &["session|trial|score", "2|1|3", "3|1|4"],
        ),
        Grid::from_text(
            "P07/P07-trials-tests.csv",
            &["phase|trial|score", "pre|1|2", "post|1|4"],
        ),
    ]);
    assert_eq!(
        trials(&logbook),
        [
            "practice 2 1 3",
            "practice 3 1 4",
            "pre - 1 2",
            "post - 1 4"
        ]
    );
    assert_eq!(problems(&logbook), []);
}

#[test]
fn a_formula_of_the_claims_table_keeps_its_range() {
    let logbook = logbook(&[
        Grid::from_rows(
            "Trials",
            &["phase|trial|score", "pre|1|2", "pre|2|3", "pre|3|4"],
        ),
        Grid::from_rows(
            "Claims",
            &[
                "statistic|phase|value",
                "mean|pre|=AVERAGE(Trials!C2:C3) -> 2.5",
            ],
        ),
    ]);
    let range = logbook.claims[0].formula.as_ref().expect("a range");
    assert_eq!(
        (
            range.taken.clone(),
            range.left_out.clone(),
            range.extra.len()
        ),
        (vec![0, 1], vec![2], 0)
    );
    assert_eq!(logbook.claims[0].phase, Some(BlockName::Phase(Phase::PRE)));
}

#[test]
fn about_across_one_row_and_with_other_spellings() {
    let across = logbook(&[Grid::from_rows(
        "Info",
        &[
            "Pair ID|Coach|Learner|Target skill|Start date|End date",
            "P07|S01|S02|juggling|@2026-03-02|@2026-04-10",
        ],
    )]);
    assert_eq!(
        across
            .about
            .pair
            .as_ref()
            .map(|pair| pair.value.to_string()),
        Some("P07".into())
    );
    assert_eq!(
        across.about.end.as_ref().map(|day| day.value.to_string()),
        Some("2026-04-10".into())
    );
    let down = logbook(&[Grid::from_rows(
        "Cover",
        &[
            "Group no.|7",
            "Trainer|Ana",
            "Athlete|Ben",
            "Informed consent:|yes",
            "PAR-Q|'2 March 2026",
            "University|North",
        ],
    )]);
    assert_eq!(
        down.about.pair.as_ref().map(|pair| pair.value.to_string()),
        Some("7".into())
    );
    assert!(down.about.screening.is_some());
    assert_eq!(
        problems(&down),
        [(ProblemKind::UnrecognisedColumn, "University".into())]
    );
}

#[test]
fn a_checklist_with_a_column_a_phase() {
    let logbook = logbook(&[Grid::from_rows(
        "Technique",
        &[
            "Element|Pre|Post",
            "grip|✗|✓",
            "stance|2|3",
            "follow through|no|yes",
        ],
    )]);
    let ratings: Vec<(String, Option<f64>)> = logbook
        .technique
        .iter()
        .map(|rating| {
            (
                format!(
                    "{} {}",
                    rating.phase.map(|p| p.to_string()).unwrap_or_default(),
                    rating.element
                ),
                rating.rating,
            )
        })
        .collect();
    assert_eq!(ratings[0], ("pre grip".into(), Some(0.0)));
    assert_eq!(ratings[3], ("post stance".into(), Some(3.0)));
    assert_eq!(ratings[5], ("post follow through".into(), Some(1.0)));
    assert_eq!(problems(&logbook), []);
}

#[test]
fn a_hidden_sheet_counts_only_where_no_other_has_its_table() {
    let mut hidden = Grid::from_rows("Old", &["phase|trial|score", "pre|1|1"]);
    hidden.hidden = true;
    let alone = logbook(std::slice::from_ref(&hidden));
    assert_eq!(trials(&alone), ["pre - 1 1"]);
    assert!(alone.trials[0].hidden);
    let both = logbook(&[
        Grid::from_rows("Trials", &["phase|trial|score", "pre|1|3"]),
        hidden,
    ]);
    assert_eq!(trials(&both), ["pre - 1 3"]);
    assert_eq!(problems(&both), [(ProblemKind::HiddenData, "Old".into())]);
}

#[test]
fn hidden_rows_and_columns_are_told() {
    let mut grid = Grid::from_rows("Data", &["Phase|T1|T2", "Pre|1|2", "Post|3|4"]);
    grid.hidden_rows = vec![2];
    grid.hidden_columns = vec![1];
    let logbook = logbook(&[grid]);
    assert_eq!(
        logbook
            .trials
            .iter()
            .map(|trial| trial.hidden)
            .collect::<Vec<_>>(),
        [true, false, true, true]
    );
}

#[test]
fn sheets_without_end_are_cut() {
    let rows: Vec<String> = std::iter::once("phase|trial|score".to_owned())
        .chain((0..60_000).map(|row| format!("pre|{}|x{row}", row % 7)))
        .collect();
    let lines: Vec<&str> = rows.iter().map(String::as_str).collect();
    let start = std::time::Instant::now();
    let logbook = logbook(&[Grid::from_rows("Trials", &lines)]);
    assert!(logbook.trials.len() <= 50_001);
    assert!(logbook.problems.len() <= 5_001);
    // A quadratic reader would take minutes.
    assert!(start.elapsed().as_secs() < 30);
}

/// The values of an About table in a row look like a title of the table below.
#[test]
fn about_in_a_row_directly_above_another_table() {
    let logbook = logbook(&[Grid::from_text(
        "P07/logbook.csv",
        &[
            "About",
            "dyad|athlete|skill|start date|consent",
            "P07|s2|serve|2026-03-02|yes",
            "Measures",
            "measure|kind|better|lowest|highest",
            "accuracy|rating|higher|1|4",
            "Trials",
            "phase|trial|score",
            "pre|1|3",
        ],
    )]);
    assert_eq!(
        logbook.about.pair.as_ref().map(|pair| &*pair.value),
        Some("P07")
    );
    assert_eq!(trials(&logbook), ["pre - 1 3"]);
    assert_eq!(problems(&logbook), []);
}
