//! Whole hand-ins, from grids to logbooks, in every layout.

use super::grid::Grid;
use super::model::{ClaimMeasure, ClaimOrigin, Logbook, Score};
use super::problem::ProblemKind;
use super::read;
use super::settings::ReadingSettings;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::statistic::Statistic;

fn logbook(grids: &[Grid]) -> Logbook {
    read("P07.xlsx", grids, &ReadingSettings::default())
}

/// Trials as (phase, session, number, score), `-` for what is open or missing.
fn trials(logbook: &Logbook) -> Vec<String> {
    logbook
        .trials
        .iter()
        .map(|trial| {
            let or_dash = |text: Option<String>| text.unwrap_or_else(|| "-".into());
            format!(
                "{} {} {} {}",
                or_dash(trial.phase.map(|phase| phase.to_string())),
                or_dash(trial.session.map(|n| n.to_string())),
                or_dash(trial.number.map(|n| n.to_string())),
                match &trial.score {
                    Score::Number(number) => number.to_string(),
                    Score::Missing => "-".into(),
                    Score::Unreadable(text) => format!("?{text}"),
                }
            )
        })
        .collect()
}

/// Claims as (statistic, phase, versus, value).
fn claims(logbook: &Logbook) -> Vec<String> {
    logbook
        .claims
        .iter()
        .map(|claim| {
            let block =
                |block: Option<BlockName>| block.map_or("-".to_owned(), |block| block.to_string());
            format!(
                "{} {} {} {} {}",
                claim.id,
                claim.statistic.map_or("?", Statistic::name),
                block(claim.phase),
                block(claim.versus),
                claim
                    .value
                    .map_or("-".to_owned(), |value| value.to_string())
            )
        })
        .collect()
}

fn problems(logbook: &Logbook) -> Vec<(ProblemKind, String)> {
    logbook
        .problems
        .iter()
        .map(|problem| (problem.kind, problem.text.clone()))
        .collect()
}

fn canonical() -> Vec<Grid> {
    vec![
        Grid::from_rows(
            "About",
            &[
                "key|value",
                "pair|P07",
                "coach|S01",
                "learner|S02",
                "skill|juggling",
                "start|@2026-03-02",
                "end|@2026-04-10",
                "stage before|cognitive",
                "stage after|associative",
                "stage reason|fewer drops",
                "theory|power law of practice",
                "theory reason|the curve flattens",
                "experience|none",
                "novel context|other balls",
                "learning claimed|yes",
                "consent|yes",
                "screening|@2026-03-01",
            ],
        ),
        Grid::from_rows(
            "Measures",
            &[
                "measure|kind|unit|better|lowest|highest|step|target",
                "accuracy|rating|points|higher|1|4|1",
                "distance|error|cm|lower",
            ],
        ),
        Grid::from_rows(
            "Sessions",
            &[
                "session|date|week|phase|minutes|order|variety|part|feedback|feedback %|content|notes",
                "1|@2026-03-02|1|pre|30||||none||test|",
                "2|@2026-03-04|1|practice|40|blocked|constant|whole|results|100|drills|",
                "3|@2026-03-11|2|practice|40|random|variable|part|both|50|drills|",
                "4|@2026-04-10|6|post|30||||none||test|",
            ],
        ),
        Grid::from_rows(
            "Trials",
            &[
                "session|date|phase|trial|measure|score|x|y|condition|rater|estimate|notes",
                "1|@2026-03-02|pre|1|accuracy|2|||5 m|S01|3|",
                "1|@2026-03-02|pre|2|accuracy|1|||5 m|S01|2|windy",
                "2|@2026-03-04|practice|1|accuracy|2|||5 m|S01||",
                "3||practice|1|accuracy|3|||5 m|S01||",
                "4|@2026-04-10||1|accuracy||||5 m|S01||",
                "4|@2026-04-10|post|1|distance||3|4|5 m|S01||",
                "4|@2026-04-10|post|2|accuracy|absent|||5 m|S01||",
            ],
        ),
        Grid::from_rows(
            "Technique",
            &[
                "phase|element|rating|observer",
                "pre|grip|no|S01",
                "post|grip|yes|S01",
                "post|stance|3|S01",
            ],
        ),
        Grid::from_rows(
            "Claims",
            &[
                "statistic|measure|phase|versus|value|unit|where",
                "mean|accuracy|pre||1.5|points|p. 3",
                "percent change||||'33,3|%|p. 4",
                "nap|accuracy|post|pre|'85%||p. 4",
                "sd|accuracy|practice 3||0.5||p. 5",
                "retained gain||||'80 %||p. 6",
                "flair|accuracy|post||7||p. 7",
                "p t|accuracy|||'p = .03||p. 7",
                "mean|poise|post||2||p. 8",
            ],
        ),
    ]
}

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
                cell.value = super::grid::Value::Text(super::cells::cell_text(cell).into());
            }
            let rows = grid.rows();
            grid.source = super::grid::Source::Text {
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
