//! Headers of a Trials table that name no column: what stands below each tells what it may be, and that tells how to settle it.

use super::titles::fallback;
use super::{Layout, Planner};
use crate::logbook::aliases::{Aliases, Field};
use crate::logbook::columns::{fit, place_of, sample, unrecognised};
use crate::logbook::grid::{Cell, Value};
use crate::logbook::numbers::{Marks, NumberText, read_number};
use crate::logbook::problem::{Problem, ProblemKind, report};
use crate::logbook::regions::Header;
use crate::logbook::spelling::key;

/// So many columns of numbers without a known name are one each a trial rather than a score each.
const MANY: usize = 4;

/// A header that names no column, with what its cells look like.
struct Unnamed<'r, 'g> {
    header: &'r Header<'g>,
    looks: Looks,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Looks {
    Phase,
    Date,
    /// 1, 2, 3 and again from 1.
    Counting,
    /// 1, 1, 1, 2, 2, 2.
    Stepping,
    /// Numbers, or words for results.
    Score,
    Words,
}

impl Planner<'_, '_> {
    /// Reports what names no column, with the line of `cohort.toml` that settles it where its cells tell which.
    pub(super) fn report_unnamed(&mut self, problems: &mut Vec<Problem>) {
        let mut unnamed: Vec<Unnamed> = self
            .unnamed
            .iter()
            .map(|header| Unnamed {
                header,
                looks: looks(&sample(self.region, header.column), self.aliases),
            })
            .collect();
        let lacks = |field| self.about.of(field).is_none();
        let lacks_score = self.layout == Layout::Long
            && self.scores.is_empty()
            && [Field::X, Field::Y].into_iter().any(|field| {
                let column = self.about.of(field);
                column.is_none_or(|column| sample(self.region, column).is_empty())
            });
        let lacks_phase = lacks(Field::Phase)
            && self.scores.iter().all(|score| score.label.phase.is_none())
            && fallback(self.region, self.aliases).phase.is_none();
        if lacks_score {
            only_numbers_are_scores(&mut unnamed);
            if self.report_many(&unnamed, problems) {
                unnamed.retain(|column| column.looks != Looks::Score);
            }
        }
        for column in &unnamed {
            let field = match column.looks {
                Looks::Phase => lacks_phase.then_some(Field::Phase),
                Looks::Date => lacks(Field::Date).then_some(Field::Date),
                Looks::Counting => lacks(Field::Trial).then_some(Field::Trial),
                Looks::Stepping => lacks(Field::Session).then_some(Field::Session),
                Looks::Score => lacks_score.then_some(Field::Score),
                Looks::Words => None,
            };
            let block = column.looks == Looks::Score && self.layout == Layout::ColumnABlock;
            if let Some(problem) = self.problem(column.header, field, block) {
                report(problems, problem);
            }
        }
    }

    fn problem(&self, header: &Header, field: Option<Field>, block: bool) -> Option<Problem> {
        let problem = unrecognised(self.region, header)?;
        let line = field
            .filter(|_| {
                header
                    .cell()
                    .is_some_and(|cell| matches!(cell.value, Value::Text(_)))
            })
            .and_then(|field| self.aliases.line_for(field, &problem.text));
        let settle = match (&line, field) {
            (Some(line), Some(field)) => format!(
                "Nothing was read from it. If it is the {}, add to cohort.toml under [columns]: {line}.",
                field.name()
            ),
            (None, Some(field)) => format!(
                "Nothing was read from it. If it is the {name}, the header “{name}” settles it.",
                name = field.name()
            ),
            _ if block => format!(
                "Nothing was read from it. If it is a test or practice, add to cohort.toml under [phases], for instance: retention = [{}].",
                toml::Value::from(problem.text.as_str())
            ),
            _ => problem.settle,
        };
        let looks_like = match field {
            Some(Field::Phase | Field::Score) => field,
            _ => block.then_some(Field::Score),
        };
        Some(Problem {
            settle,
            looks_like,
            line,
            ..problem
        })
    }

    /// Says once of many columns of numbers that their names were not recognised: none of them alone is the score.
    fn report_many(&self, unnamed: &[Unnamed], problems: &mut Vec<Problem>) -> bool {
        let of: Vec<&Header> = unnamed
            .iter()
            .filter(|column| column.looks == Looks::Score)
            .map(|column| column.header)
            .collect();
        let (Some(first), Some(last)) = (of.first(), of.last()) else {
            return false;
        };
        if of.len() < MANY {
            return false;
        }
        let text = first.text();
        let mut problem = Problem::at(
            ProblemKind::UnrecognisedColumn,
            place_of(self.region, first),
            &text,
            format!(
                "The Trials table has no columns “{text}” to “{}” ({} columns of numbers).",
                last.text(),
                of.len()
            ),
            "Nothing was read from them. If each holds a trial, the headers “Trial 1”, “Trial 2” and so on settle it.",
        );
        problem.places = of
            .iter()
            .map(|header| place_of(self.region, header))
            .collect();
        problem.looks_like = Some(Field::Score);
        report(problems, problem);
        true
    }
}

/// Columns that count trials or sessions are no scores, unless there is nothing else that could be.
fn only_numbers_are_scores(unnamed: &mut [Unnamed]) {
    let counts = |column: &Unnamed| matches!(column.looks, Looks::Counting | Looks::Stepping);
    if unnamed.iter().any(|column| column.looks == Looks::Score)
        || unnamed.iter().filter(|column| counts(column)).count() != 1
    {
        return;
    }
    for column in unnamed.iter_mut().filter(|column| counts(column)) {
        column.looks = Looks::Score;
    }
}

fn looks(cells: &[&Cell], aliases: &Aliases) -> Looks {
    if fit(Field::Phase, cells, aliases) >= 50 {
        return Looks::Phase;
    }
    // "3,5" may be the third of May, and where it stands for a number it is one.
    let dates = cells
        .iter()
        .filter(|cell| match &cell.value {
            Value::Number(_) => false,
            Value::Text(text) => !matches!(read_number(text, Marks::Open), NumberText::Number(_)),
            _ => true,
        })
        .count();
    if dates * 2 >= cells.len() && fit(Field::Date, cells, aliases) >= 50 {
        return Looks::Date;
    }
    let results = cells
        .iter()
        .filter(|cell| matches!(&cell.value, Value::Text(text) if aliases.cell_word(&key(text)).is_some()))
        .count();
    if fit(Field::Score, cells, aliases) < 50 && results * 2 < cells.len() {
        return Looks::Words;
    }
    let numbers: Vec<f64> = cells
        .iter()
        .filter_map(|cell| match &cell.value {
            Value::Number(number) => Some(*number),
            Value::Text(text) => text.trim().parse().ok(),
            _ => None,
        })
        .collect();
    let whole = numbers.len() == cells.len()
        && numbers.len() >= 3
        && numbers.iter().all(|number| number.fract() == 0.0)
        && numbers
            .first()
            .is_some_and(|first| (0.0..=1.0).contains(first));
    let each = |follows: &dyn Fn(f64, f64) -> bool| {
        whole
            && numbers
                .windows(2)
                .all(|pair| matches!(pair, [a, b] if follows(*a, *b)))
    };
    let next = |a: f64, b: f64| (b - a - 1.0).abs() < f64::EPSILON;
    let highest = numbers.iter().copied().fold(0.0, f64::max);
    if highest >= 2.0 && each(&|a, b| next(a, b) || b <= 1.0 && a > b) {
        Looks::Counting
    } else if highest >= 2.0 && each(&|a, b| next(a, b) || (b - a).abs() < f64::EPSILON) {
        Looks::Stepping
    } else {
        Looks::Score
    }
}
