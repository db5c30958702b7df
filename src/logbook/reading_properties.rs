//! Generated hand-ins: whatever stands in a grid, reading ends well; and what a pair recorded comes back, however it was laid out.

use proptest::prelude::*;

use super::grid::{Cell, Grid, Merged, Shown, Source, Value};
use super::model::Score;
use super::read;
use super::settings::ReadingSettings;

// ---- Noise.

fn noise_text() -> impl Strategy<Value = String> {
    let words = prop::sample::select(vec![
        "phase",
        "Pre",
        "post-test",
        "trial",
        "T1",
        "T2",
        "Score",
        "score (1-4)",
        "session",
        "Session 3",
        "date",
        "2026-03-09",
        "9/3/26",
        "31/02/2026",
        "mean",
        "Average",
        "SD",
        "statistic",
        "value",
        "measure",
        "kind",
        "better",
        "element",
        "rating",
        "pair",
        "coach",
        "learner",
        "start",
        "key",
        "Practice 2",
        "practice trials",
        "retention/post-test",
        "1,234",
        "3,5",
        "3/4",
        "-",
        "n/a",
        "miss",
        "X",
        "✓",
        "3²",
        "≈12 cm",
        "#",
        "%",
        "(",
        "=A1",
        "'",
        "ǅ",
        "İ",
        "ﬀ",
        "½",
        "\u{202e}abc",
        "１２",
        "99999999999999999999",
        "1e308",
        "-1e-308",
        "NaN",
        "inf",
        "Week 2",
        "x",
        "y",
        "notes",
        "Trial 10",
        "Pretest T-1",
    ]);
    prop_oneof![
        4 => words.prop_map(str::to_owned),
        1 => "\\PC{0,12}",
    ]
}

fn noise_value() -> impl Strategy<Value = Value> {
    prop_oneof![
        6 => noise_text().prop_map(|text| Value::Text(text.into())),
        3 => (0_u32..12).prop_map(|number| Value::Number(f64::from(number))),
        1 => any::<f64>().prop_map(Value::Number),
        1 => (-3000_i16..9999, 1_i8..13, 1_i8..29).prop_map(|(year, month, day)| {
            Value::Date(jiff::civil::date(year, month, day).at(1, 2, 3, 0))
        }),
        1 => any::<bool>().prop_map(Value::Truth),
        1 => Just(Value::Error("#DIV/0!".into())),
        1 => Just(Value::NotCalculated),
        1 => any::<f64>().prop_map(Value::Duration),
    ]
}

fn noise_cell() -> impl Strategy<Value = Cell> {
    let formula = prop::option::weighted(
        0.1,
        prop::sample::select(vec![
            "AVERAGE(A1:Z99)",
            "SUM(A:A)/3",
            "STDEV(B2:B3)",
            "((",
            "ROUND(MEDIAN(C1:C4),99)",
            "MAX('x'!A1)",
        ]),
    );
    let row = prop_oneof![20 => 0_u32..14, 1 => any::<u32>()];
    let column = prop_oneof![20 => 0_u32..9, 1 => any::<u32>()];
    (
        row,
        column,
        noise_value(),
        any::<bool>(),
        prop::option::of(any::<u8>()),
        formula,
    )
        .prop_map(|(row, column, value, percent, decimals, formula)| Cell {
            row,
            column,
            value,
            shown: Shown {
                decimals: decimals.filter(|_| percent),
                percent: percent && decimals.is_some_and(|decimals| decimals % 7 == 0),
            },
            formula: formula.map(Into::into),
        })
}

fn noise_grid() -> impl Strategy<Value = Grid> {
    let merged =
        (0_u32..14, 0_u32..9, 0_u32..4, 0_u32..4).prop_map(|(row, column, down, right)| Merged {
            first_row: row,
            first_column: column,
            last_row: row + down,
            last_column: column + right,
        });
    (
        prop::collection::vec(noise_cell(), 0..90),
        prop::collection::vec(merged, 0..4),
        any::<bool>(),
        prop::sample::select(vec![
            "Trials",
            "Sheet1",
            "Claims",
            "Pre",
            "About",
            "Technique",
            "Sessions",
            "Measures",
        ]),
    )
        .prop_map(|(mut cells, merged, hidden, name)| {
            cells.sort_by_key(|cell| (cell.row, cell.column));
            cells.dedup_by_key(|cell| (cell.row, cell.column));
            Grid {
                file: "P07.xlsx".into(),
                source: Source::Sheet(name.into()),
                cells,
                merged,
                hidden,
                hidden_rows: vec![2],
                hidden_columns: vec![1],
            }
        })
}

// ---- What a pair recorded, laid out in one of the ways that pairs use.

const TESTS: [&[&str]; 3] = [
    &["pre", "Pre-Test", "Baseline", "PRETEST", "pré-teste"],
    &["post", "Post test", "Posttest", "final test", "pós-teste"],
    &[
        "retention",
        "Retention Test",
        "Delayed retention",
        "Retention (1 week)",
        "retención",
    ],
];

/// Phase, session, trial number and score.
type TrialRow = (String, u32, u32, Option<u32>);

#[derive(Debug, Clone)]
struct Recorded {
    /// Pre, then practice sessions, then post and retention.
    tests: [Vec<Option<u32>>; 3],
    practice: Vec<Vec<Option<u32>>>,
}

impl Recorded {
    /// All blocks in the order of a programme: phase name, session number, scores.
    fn blocks(&self) -> Vec<(&'static str, u32, &[Option<u32>])> {
        let [pre, post, retention] = &self.tests;
        let mut blocks: Vec<(&'static str, u32, &[Option<u32>])> = vec![("pre", 1, pre)];
        let mut session = 1;
        for practice in &self.practice {
            session += 1;
            blocks.push(("practice", session, practice));
        }
        blocks.push(("post", session + 1, post));
        blocks.push(("retention", session + 2, retention));
        blocks
    }

    /// What should come back: phase, session, trial number, score, in order of blocks.
    fn expected(&self) -> Vec<TrialRow> {
        let mut expected = Vec::new();
        for (phase, session, scores) in self.blocks() {
            for (number, score) in (1..).zip(scores) {
                expected.push((phase.to_owned(), session, number, *score));
            }
        }
        expected
    }
}

/// A block's scores: the last is always there, so that the block's length shows in every layout.
fn scores(length: std::ops::Range<usize>) -> impl Strategy<Value = Vec<Option<u32>>> {
    (
        prop::collection::vec(prop::option::weighted(0.9, 1_u32..5), length),
        1_u32..5,
    )
        .prop_map(|(mut scores, last)| {
            scores.push(Some(last));
            scores
        })
}

fn recorded() -> impl Strategy<Value = Recorded> {
    (
        scores(5..9),
        scores(5..9),
        scores(5..9),
        prop::collection::vec(scores(3..12), 2..5),
    )
        .prop_map(|(pre, post, retention, practice)| Recorded {
            tests: [pre, post, retention],
            practice,
        })
}

/// How a pair writes things down.
#[derive(Debug, Clone)]
#[allow(
    clippy::struct_excessive_bools,
    reason = "each habit is had or not, whatever the others are"
)]
struct Habits {
    titles: bool,
    notes: bool,
    averages: bool,
    indent: bool,
    as_text: bool,
    spelling: usize,
    missing: &'static str,
}

fn habits() -> impl Strategy<Value = Habits> {
    (
        any::<[bool; 5]>(),
        0_usize..5,
        prop::sample::select(vec!["", "-", "n/a", "absent", "–"]),
    )
        .prop_map(
            |([titles, notes, averages, indent, as_text], spelling, missing)| Habits {
                titles,
                notes,
                averages,
                indent,
                as_text,
                spelling,
                missing,
            },
        )
}

impl Habits {
    fn phase(&self, phase: &str) -> String {
        let names = match phase {
            "pre" => TESTS[0],
            "post" => TESTS[1],
            "retention" => TESTS[2],
            _ => {
                return ["practice", "Practice", "Training", "acquisition", "prática"]
                    [self.spelling]
                    .to_owned();
            }
        };
        names[self.spelling].to_owned()
    }

    fn score(&self, score: Option<u32>) -> String {
        score.map_or(self.missing.to_owned(), |score| {
            if self.as_text {
                format!("'{score}")
            } else {
                score.to_string()
            }
        })
    }

    fn pick(&self, spellings: [&str; 5]) -> String {
        spellings[self.spelling].to_owned()
    }

    /// A sheet with what the pair put above and below its table.
    fn sheet(&self, name: &str, table: Vec<String>) -> Grid {
        let mut rows = Vec::new();
        if self.titles {
            rows.push("Our skill programme".to_owned());
            rows.push(String::new());
        }
        rows.extend(table);
        if self.notes {
            rows.push(String::new());
            rows.push("Scored by the coach, out of four.".to_owned());
        }
        let rows: Vec<String> = rows
            .into_iter()
            .map(|row| if self.indent { format!("|{row}") } else { row })
            .collect();
        let lines: Vec<&str> = rows.iter().map(String::as_str).collect();
        Grid::from_rows(name, &lines)
    }
}

fn mean(scores: &[Option<u32>]) -> String {
    let scored: Vec<u32> = scores.iter().flatten().copied().collect();
    format!(
        "{:.2}",
        f64::from(scored.iter().sum::<u32>()) / scored.len() as f64
    )
}

fn long(recorded: &Recorded, habits: &Habits) -> Grid {
    let header = format!(
        "{}|{}|{}|{}",
        habits.pick(["session", "Session #", "Sess", "Session no.", "sessão"]),
        habits.pick(["phase", "Test phase", "Test", "PHASE", "fase"]),
        habits.pick(["trial", "Attempt #", "Trial No", "Throw", "tentativa"]),
        habits.pick(["score", "Score (1-4)", "Points", "Rating", "pontuação"]),
    );
    let mut rows = vec![header];
    for (phase, session, scores) in recorded.blocks() {
        for (number, score) in (1..).zip(scores) {
            rows.push(format!(
                "{session}|{}|{number}|{}",
                habits.phase(phase),
                habits.score(*score)
            ));
        }
        if habits.averages {
            rows.push(format!("|Mean||{}", mean(scores)));
        }
    }
    habits.sheet("Raw data", rows)
}

fn row_a_block(recorded: &Recorded, habits: &Habits) -> Grid {
    let blocks = recorded.blocks();
    let most = blocks
        .iter()
        .map(|(_, _, scores)| scores.len())
        .max()
        .unwrap_or(0);
    let mut header = format!(
        "{}|session",
        habits.pick(["Phase", "Test phase", "Test", "Block type", "fase"])
    );
    let word = ["Trial ", "T", "", "Attempt ", "tentativa "][habits.spelling];
    for number in 1..=most {
        header = format!("{header}|{word}{number}");
    }
    if habits.averages {
        header.push_str("|Average|SD");
    }
    let mut rows = vec![header];
    for (phase, session, scores) in blocks {
        let mut row = format!("{}|{session}", habits.phase(phase));
        for number in 0..most {
            row.push('|');
            row.push_str(
                &scores
                    .get(number)
                    .map_or(String::new(), |score| habits.score(*score)),
            );
        }
        if habits.averages {
            row = format!("{row}|{}|", mean(scores));
        }
        rows.push(row);
    }
    habits.sheet("Scores", rows)
}

fn column_a_block(recorded: &Recorded, habits: &Habits, by_session: bool) -> Vec<Grid> {
    let blocks = recorded.blocks();
    let mut sessions = vec!["session|phase|content".to_owned()];
    for (phase, session, _) in &blocks {
        sessions.push(format!("{session}|{phase}|drills"));
    }
    let mut header = habits.pick(["Trial", "Attempt", "#", "Trial no", "tentativa"]);
    for (phase, session, _) in &blocks {
        let name = if by_session {
            format!("Session {session}")
        } else if *phase == "practice" {
            format!("Practice {session}")
        } else {
            habits.phase(phase)
        };
        header = format!("{header}|{name}");
    }
    let most = blocks
        .iter()
        .map(|(_, _, scores)| scores.len())
        .max()
        .unwrap_or(0);
    let mut rows = vec![header];
    for number in 0..most {
        let mut row = (number + 1).to_string();
        for (_, _, scores) in &blocks {
            row.push('|');
            row.push_str(
                &scores
                    .get(number)
                    .map_or(String::new(), |score| habits.score(*score)),
            );
        }
        rows.push(row);
    }
    if habits.averages {
        let mut row = "Mean".to_owned();
        for (_, _, scores) in &blocks {
            row.push('|');
            row.push_str(&mean(scores));
        }
        rows.push(row);
    }
    let lines: Vec<&str> = sessions.iter().map(String::as_str).collect();
    vec![
        Grid::from_rows("Sessions", &lines),
        habits.sheet("Results", rows),
    ]
}

/// What was read, in order of session and trial; trials without a score at a block's end are left out, for a layout may not tell them.
fn came_back(grids: &[Grid]) -> (Vec<TrialRow>, usize, Vec<String>) {
    let logbook = read("P07", grids, &ReadingSettings::default());
    let mut trials: Vec<TrialRow> = logbook
        .trials
        .iter()
        .map(|trial| {
            let score = match trial.score {
                #[allow(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "1 to 4 here"
                )]
                Score::Number(number) => Some(number as u32),
                _ => None,
            };
            (
                trial
                    .phase
                    .map(|phase| phase.to_string())
                    .unwrap_or_default(),
                trial.session.unwrap_or(0),
                trial.number.unwrap_or(0),
                score,
            )
        })
        .collect();
    trials.sort_by_key(|(_, session, number, _)| (*session, *number));
    let problems = logbook
        .problems
        .iter()
        .map(|problem| format!("{:?} {}", problem.kind, problem.text))
        .collect();
    (without_open_ends(trials), logbook.claims.len(), problems)
}

fn without_open_ends(mut trials: Vec<TrialRow>) -> Vec<TrialRow> {
    let last_scored = |session: u32, trials: &[TrialRow]| {
        trials
            .iter()
            .filter(|(_, of, _, score)| *of == session && score.is_some())
            .map(|(_, _, number, _)| *number)
            .max()
            .unwrap_or(0)
    };
    let all = trials.clone();
    trials.retain(|(_, session, number, _)| *number <= last_scored(*session, &all));
    trials
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn no_grid_upsets_the_reader(grids in prop::collection::vec(noise_grid(), 0..4)) {
        let logbook = read("noise", &grids, &ReadingSettings::default());
        prop_assert!(!logbook.measures.is_empty());
        for trial in &logbook.trials {
            prop_assert!(trial.measure < logbook.measures.len());
            if let Score::Number(number) = trial.score {
                prop_assert!(number.is_finite());
            }
        }
    }

    #[test]
    fn the_long_layout_comes_back(recorded in recorded(), habits in habits()) {
        let (trials, claims, problems) = came_back(&[long(&recorded, &habits)]);
        prop_assert_eq!(trials, recorded.expected());
        prop_assert_eq!(claims, if habits.averages { recorded.blocks().len() } else { 0 });
        prop_assert_eq!(problems, Vec::<String>::new());
    }

    #[test]
    fn a_row_a_block_comes_back(recorded in recorded(), habits in habits()) {
        let (trials, claims, problems) = came_back(&[row_a_block(&recorded, &habits)]);
        prop_assert_eq!(trials, recorded.expected());
        prop_assert_eq!(claims, if habits.averages { recorded.blocks().len() } else { 0 });
        prop_assert_eq!(problems, Vec::<String>::new());
    }

    #[test]
    fn a_column_a_block_comes_back(recorded in recorded(), habits in habits(), by_session in any::<bool>()) {
        let (trials, claims, problems) = came_back(&column_a_block(&recorded, &habits, by_session));
        prop_assert_eq!(trials, recorded.expected());
        prop_assert_eq!(claims, if habits.averages { recorded.blocks().len() } else { 0 });
        prop_assert_eq!(problems, Vec::<String>::new());
    }
}
