//! Tells the layout of a Trials table from its headers and its rows.

use super::{Head, Layout, Planner};
use crate::logbook::aliases::Field;
use crate::logbook::columns::{fit, sample};
use crate::logbook::grid::Value;
use crate::logbook::labels::{Label, read_label};
use crate::logbook::spelling::{numbered, words};
use crate::phase::Phase;

impl Planner<'_, '_> {
    /// Tells the layout from the headers, and the readings of `T1` and of bare numbers from the rows.
    pub(super) fn lay_out(&mut self) {
        let bare: Vec<u32> = self
            .heads
            .iter()
            .filter_map(|head| head.read.label.bare)
            .collect();
        let counts = bare.len() >= 3 || (bare.len() == 2 && self.heads.len() <= 4);
        let rows_are_trials = self.rows_are_trials();
        let rows_are_blocks = self.rows_are_blocks();
        let named_trials = self
            .heads
            .iter()
            .filter(|head| head.read.label.trial.is_some())
            .count();
        let few_times = (2..=5).contains(&named_trials)
            && rows_are_trials
            && !rows_are_blocks
            && self.heads.iter().all(|head| {
                head.read.label.trial.is_none() || !self.aliases.phase(&head.read.key).is_empty()
            });
        for head in &mut self.heads {
            let label = &mut head.read.label;
            if let Some(number) = label.bare.filter(|_| counts) {
                // Numbers over rows that are trials count sessions, else trials.
                if rows_are_trials && !rows_are_blocks && label.session.is_none() {
                    label.session = Some(number);
                } else {
                    label.trial = label.trial.or(Some(number));
                }
            }
            if few_times && let [phase] = self.aliases.phase(&head.read.key) {
                // T1, T2, T3 over rows that are trials are points in time.
                *label = Label {
                    phase: Some(Phase::first(*phase)),
                    ..Label::default()
                };
            }
        }
        if rows_are_blocks && named_trials == 0 {
            self.tests_over_blocks_are_trials();
            if !rows_are_trials {
                self.counted_columns_are_trials();
            }
        }
        let trials = self
            .heads
            .iter()
            .filter(|head| head.read.label.trial.is_some())
            .count();
        let blocks = self
            .heads
            .iter()
            .filter(|head| head.names_block() && !head.read.computed && !self.is_about_rows(head))
            .count();
        let plain_score = self.heads.iter().any(|head| {
            head.may_be(Field::Score)
                && !head.names_block()
                && head.read.label.trial.is_none()
                && !head.read.computed
        });
        self.layout = if trials >= 2 || (trials == 1 && !plain_score) {
            Layout::RowABlock
        } else if blocks >= 1 && !plain_score {
            Layout::ColumnABlock
        } else {
            Layout::Long
        };
    }

    /// `Test 1`, `Test 2` over rows that are phases count trials.
    fn tests_over_blocks_are_trials(&mut self) {
        let numbered = |head: &Head| {
            let words = words(&head.header.text());
            (words.len() == 2
                && words
                    .first()
                    .is_some_and(|word| word == "test" || word == "time"))
            .then(|| words.get(1).and_then(|word| word.parse().ok()))
            .flatten()
        };
        for head in &mut self.heads {
            if let Some(number) = numbered(head) {
                head.read.label = Label {
                    trial: Some(number),
                    ..Label::default()
                };
            }
        }
    }

    /// `Wurf 1`, `Wurf 2`, `Wurf 3` over rows that are phases count trials, whatever the word means.
    fn counted_columns_are_trials(&mut self) {
        let counted: Vec<(usize, String, u32)> = self
            .heads
            .iter()
            .enumerate()
            .filter(|(_, head)| {
                let read = &head.read;
                // A single letter before a number may be that of weeks, and of trials in another language.
                let unknown = read.label == Label::default() && read.fields.is_empty();
                (unknown || read.label.week.is_some() && read.label.phase.is_none())
                    && !read.computed
                    && self.is_numeric(head.column())
            })
            .filter_map(|(at, head)| {
                let (word, number) = numbered(&head.header.text())?;
                (!word.is_empty() && (head.read.label.week.is_none() || word.len() == 1))
                    .then_some((at, word, number))
            })
            .collect();
        let counts = counted.len() >= 3
            && counted
                .iter()
                .zip(1..)
                .all(|((_, word, number), expected)| {
                    *number == expected
                        && counted.first().is_some_and(|(_, first, _)| first == word)
                });
        if !counts {
            return;
        }
        for (at, _, number) in counted {
            if let Some(head) = self.heads.get_mut(at) {
                head.read.label = Label {
                    trial: Some(number),
                    ..Label::default()
                };
            }
        }
    }

    /// A header such as "Practice" or "Session", which names a column of row labels unless other headers name blocks too.
    pub(super) fn is_about_rows(&self, head: &Head) -> bool {
        let about = [Field::Phase, Field::Session, Field::Date, Field::Week]
            .into_iter()
            .any(|field| head.may_be(field));
        about
            && head.date.is_none()
            && fit(
                Field::Score,
                &sample(self.region, head.column()),
                self.aliases,
            ) < 50
            || about
                && !self
                    .heads
                    .iter()
                    .any(|other| other.column() != head.column() && other.names_block())
    }

    /// The first column counts trials: 1, 2, 3 down the rows, or its header says so.
    fn rows_are_trials(&self) -> bool {
        let Some(column) = self
            .region
            .rows
            .iter()
            .filter_map(|row| row.first())
            .map(|cell| cell.column)
            .min()
        else {
            return false;
        };
        let first = sample(self.region, column);
        let numbers: Vec<f64> = first
            .iter()
            .filter_map(|cell| match &cell.value {
                Value::Number(number) => Some(*number),
                Value::Text(text) => {
                    match (text.trim().parse(), read_label(text, self.aliases).trial) {
                        (Ok(number), _) => Some(number),
                        (_, Some(trial)) => Some(f64::from(trial)),
                        _ => None,
                    }
                }
                _ => None,
            })
            .collect();
        let head = self.heads.iter().find(|head| head.column() == column);
        let named_trial =
            head.is_some_and(|head| head.may_be(Field::Trial) && head.read.label.trial.is_none());
        let unnamed = head.is_none_or(|head| {
            !head.names_block() && head.read.label.trial.is_none() && !head.may_be(Field::Session)
        });
        let counts = numbers.len() >= 2
            && numbers
                .windows(2)
                .all(|pair| matches!(pair, [a, b] if (b - a - 1.0).abs() < f64::EPSILON));
        named_trial && !numbers.is_empty() || unnamed && counts
    }

    /// Some column names a phase or a session in every row.
    fn rows_are_blocks(&self) -> bool {
        let mut columns: Vec<u32> = self
            .heads
            .iter()
            .filter(|head| head.read.label.trial.is_none())
            .map(Head::column)
            .collect();
        columns.extend(
            self.region
                .rows
                .iter()
                .take(3)
                .filter_map(|row| row.first())
                .map(|cell| cell.column),
        );
        columns.into_iter().any(|column| {
            let cells = sample(self.region, column);
            !cells.is_empty() && fit(Field::Phase, &cells, self.aliases) >= 50
        })
    }
}
