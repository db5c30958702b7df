//! Faults that students make, each planted in a sound logbook, with the checks that must find it and where.

use super::table::{Cell, Tables};
use crate::stats::random::Stream;

/// A fault that can be planted.
pub struct Fault {
    /// What it is, in a few words.
    pub title: &'static str,
    plant: fn(&mut Tables, &mut Stream) -> Vec<Planted>,
}

/// What a planted fault must be found as.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planted {
    /// The check.
    pub check: &'static str,
    /// Where: the finding's first cell.
    pub at: At,
}

/// A place in a logbook's tables.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum At {
    /// A cell: table, row from 0, column.
    Cell(&'static str, usize, &'static str),
    /// The beginning of a table.
    Table(&'static str),
}

impl Fault {
    /// Plants it.
    pub fn plant(&self, logbook: &mut Tables, stream: &mut Stream) -> Vec<Planted> {
        (self.plant)(logbook, stream)
    }
}

/// Every fault, in the order in which a cohort gets them.
pub const FAULTS: &[Fault] = &[
    Fault {
        title: "the best trial stands for the mean",
        plant: best_trial,
    },
    Fault {
        title: "the change is divided by the later mean",
        plant: divided_by_later,
    },
    Fault {
        title: "no retention test",
        plant: no_retention,
    },
    Fault {
        title: "a trial recorded twice",
        plant: duplicate_trial,
    },
    Fault {
        title: "the post-test under other conditions",
        plant: conditions_changed,
    },
    Fault {
        title: "a word in a score cell",
        plant: word_for_score,
    },
    Fault {
        title: "the transfer test as practised",
        plant: transfer_not_novel,
    },
    Fault {
        title: "digits of a mean swapped",
        plant: digits_swapped,
    },
    Fault {
        title: "results told during the post-test",
        plant: feedback_in_test,
    },
    Fault {
        title: "consent and screening not recorded",
        plant: safety_not_recorded,
    },
];

/// The row of the claim of a statistic and phase.
fn claim_row(logbook: &Tables, statistic: &str, phase: &str) -> Option<usize> {
    let claims = &logbook.claims;
    (0..claims.rows.len()).find(|row| {
        claims
            .get(*row, "statistic")
            .is_some_and(|cell| cell.as_text() == statistic)
            && claims
                .get(*row, "phase")
                .is_some_and(|cell| cell.as_text() == phase)
    })
}

/// The number that a claim states.
fn claimed(logbook: &Tables, row: usize) -> Option<f64> {
    match logbook.claims.get(row, "value")? {
        Cell::Number(number, _) => Some(*number),
        _ => None,
    }
}

/// The scores of the first measure in a phase by the first rater, with their rows.
fn scores(logbook: &Tables, phase: &str) -> Vec<(usize, f64)> {
    let trials = &logbook.trials;
    let Some(Cell::Text(measure)) = logbook.measures.get(0, "measure") else {
        return Vec::new();
    };
    let is = |row: usize, column: &str, text: &str| {
        trials
            .get(row, column)
            .is_some_and(|cell| cell.as_text() == text)
    };
    (0..trials.rows.len())
        .filter(|row| {
            is(*row, "phase", phase) && is(*row, "measure", measure) && is(*row, "rater", "R1")
        })
        .filter_map(|row| {
            let score = match (
                trials.get(row, "score")?,
                trials.get(row, "x")?,
                trials.get(row, "y")?,
            ) {
                (Cell::Number(score, _), _, _) => *score,
                (_, Cell::Number(x, _), Cell::Number(y, _)) => x.hypot(*y),
                _ => return None,
            };
            Some((row, score))
        })
        .collect()
}

/// Where a trial's score stands: in its own cell, else where x stands.
fn score_column(logbook: &Tables, row: usize) -> &'static str {
    match logbook.trials.get(row, "score") {
        Some(Cell::Empty) => "x",
        _ => "score",
    }
}

fn restate(logbook: &mut Tables, row: usize, value: f64, decimals: u8) -> Vec<Planted> {
    let scale = 10_f64.powi(i32::from(decimals));
    let stated = (value * scale).round() / scale;
    logbook
        .claims
        .set(row, "value", Cell::Number(stated, decimals));
    vec![Planted {
        check: "numbers.differs",
        at: At::Cell("Claims", row, "value"),
    }]
}

fn best_trial(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    let lower = logbook
        .measures
        .get(0, "better")
        .is_some_and(|cell| cell.as_text() != "higher");
    let best = scores(logbook, "post")
        .into_iter()
        .map(|(_, score)| score)
        .reduce(|a, b| if lower { a.min(b) } else { a.max(b) });
    match (claim_row(logbook, "mean", "post"), best) {
        (Some(row), Some(best)) => restate(logbook, row, best, 2),
        _ => Vec::new(),
    }
}

fn divided_by_later(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    let row = claim_row(logbook, "percent improvement", "post");
    match row.and_then(|row| Some((row, claimed(logbook, row)?))) {
        // p = 100·(b − a)/a, so 100·(b − a)/b is p/(1 + p/100); lower-is-better turns the sign of both.
        Some((row, percent)) => {
            let lower = logbook
                .measures
                .get(0, "better")
                .is_some_and(|cell| cell.as_text() != "higher");
            let signed = if lower { -percent } else { percent };
            let value = signed / (1.0 + signed / 100.0);
            restate(logbook, row, if lower { -value } else { value }, 1)
        }
        None => Vec::new(),
    }
}

fn digits_swapped(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    let row = claim_row(logbook, "mean", "pre");
    let Some((row, mean)) = row.and_then(|row| Some((row, claimed(logbook, row)?))) else {
        return Vec::new();
    };
    let mut digits: Vec<char> = format!("{mean:.2}").chars().collect();
    let last = digits.len().saturating_sub(1);
    if last < 3 || digits.get(last) == digits.get(last - 1) {
        // Alike digits swap to themselves: the number would be right.
        return restate(logbook, row, mean + 0.09, 2);
    }
    digits.swap(last, last - 1);
    let swapped: String = digits.into_iter().collect();
    swapped
        .parse()
        .map_or_else(|_| Vec::new(), |value| restate(logbook, row, value, 2))
}

fn no_retention(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    for table in [
        &mut logbook.trials,
        &mut logbook.sessions,
        &mut logbook.claims,
    ] {
        if let Some(column) = table.column("phase") {
            table.rows.retain(|row| {
                row.get(column)
                    .is_none_or(|cell| cell.as_text() != "retention")
            });
        }
    }
    let mut planted = vec![Planted {
        check: "testing.no-retention-test",
        at: At::Table("Trials"),
    }];
    if let Some(row) = logbook.about.row_where("key", "learning claimed") {
        planted.push(Planted {
            check: "numbers.learning-without-retention",
            at: At::Cell("About", row, "value"),
        });
    }
    planted.extend(theory_untestable(logbook));
    planted
}

fn duplicate_trial(logbook: &mut Tables, stream: &mut Stream) -> Vec<Planted> {
    let all = scores(logbook, "practice");
    let Some((row, _)) = all.get(stream.index(all.len().max(1))).copied() else {
        return Vec::new();
    };
    let Some(copy) = logbook.trials.rows.get(row).cloned() else {
        return Vec::new();
    };
    logbook.trials.rows.insert(row + 1, copy);
    vec![Planted {
        check: "data.duplicate-trial",
        at: At::Cell("Trials", row + 1, score_column(logbook, row + 1)),
    }]
}

fn conditions_changed(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    for row in 0..logbook.trials.rows.len() {
        let phase = logbook.trials.get(row, "phase").map(Cell::as_text);
        if matches!(phase.as_deref(), Some("post" | "retention")) {
            let other = Cell::text("nearer, and with a lighter one");
            logbook.trials.set(row, "condition", other);
        }
    }
    blocks_of(
        logbook,
        &["post", "retention"],
        "testing.conditions-changed",
    )
}

fn transfer_not_novel(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    let practised = logbook.trials.get(0, "condition").cloned();
    for row in 0..logbook.trials.rows.len() {
        let phase = logbook.trials.get(row, "phase").map(Cell::as_text);
        if phase.as_deref() == Some("transfer") {
            let condition = practised.clone().unwrap_or(Cell::Empty);
            logbook.trials.set(row, "condition", condition);
        }
    }
    if let Some(row) = logbook.about.row_where("key", "novel context") {
        logbook.about.set(row, "value", Cell::Empty);
    }
    blocks_of(logbook, &["transfer"], "testing.transfer-not-novel")
}

/// The same check at the first trial of each measure in each of these phases.
fn blocks_of(logbook: &Tables, phases: &[&str], check: &'static str) -> Vec<Planted> {
    let trials = &logbook.trials;
    let text = |row: usize, column: &str| {
        trials
            .get(row, column)
            .map(Cell::as_text)
            .unwrap_or_default()
    };
    let mut seen: Vec<(String, String)> = Vec::new();
    let mut planted = Vec::new();
    for row in 0..trials.rows.len() {
        let block = (text(row, "measure"), text(row, "phase"));
        if phases.contains(&block.1.as_str()) && !seen.contains(&block) {
            seen.push(block);
            let at = At::Cell("Trials", row, score_column(logbook, row));
            planted.push(Planted { check, at });
        }
    }
    planted
}

/// The theory that the pair names can't be tested once this fault is there.
fn theory_untestable(logbook: &Tables) -> Option<Planted> {
    let row = logbook.about.row_where("key", "theory")?;
    Some(Planted {
        check: "theory.not-testable",
        at: At::Cell("About", row, "value"),
    })
}

fn word_for_score(logbook: &mut Tables, stream: &mut Stream) -> Vec<Planted> {
    let all = scores(logbook, "practice");
    let Some((row, _)) = all.get(stream.index(all.len().max(1))).copied() else {
        return Vec::new();
    };
    let column = score_column(logbook, row);
    logbook.trials.set(row, column, Cell::text("about half"));
    let at = |column| At::Cell("Trials", row, column);
    let mut planted = vec![Planted {
        check: "data.not-a-number",
        at: at(column),
    }];
    // A landing point has a word in one of its two cells: the distance that both would give is missing.
    if column != "score" {
        planted.push(Planted {
            check: "data.missing-trial",
            at: at("score"),
        });
    }
    planted
}

fn feedback_in_test(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    let Some(row) = logbook.sessions.row_where("phase", "post") else {
        return Vec::new();
    };
    logbook.sessions.set(row, "feedback", Cell::text("results"));
    let told = Planted {
        check: "testing.feedback-in-test",
        at: At::Cell("Sessions", row, "feedback"),
    };
    std::iter::once(told)
        .chain(theory_untestable(logbook))
        .collect()
}

fn safety_not_recorded(logbook: &mut Tables, _stream: &mut Stream) -> Vec<Planted> {
    for key in ["consent", "screening"] {
        if let Some(row) = logbook.about.row_where("key", key) {
            logbook.about.set(row, "value", Cell::Empty);
        }
    }
    vec![Planted {
        check: "programme.safety-not-recorded",
        at: At::Cell("About", 0, "key"),
    }]
}
