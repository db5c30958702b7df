//! The Measures table: one row a measure, the first the primary one.

use super::aliases::Field;
use super::cells::cell_text;
use super::cells::text_of;
use super::cells::{self, NumberReading};
use super::columns::{Columns, columns};
use super::grid::Cell;
use super::model::Measure;
use super::numbers::plain;
use super::problem::{Problem, ProblemKind, report};
use super::read::Context;
use super::regions::Region;
use super::settings::MeasureSettings;
use super::spelling::key;

/// Reads one Measures table.
pub(crate) fn read(
    region: &Region,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Vec<Measure> {
    let columns = columns(region, context.aliases(), problems);
    region
        .rows
        .iter()
        .filter_map(|row| {
            Row {
                region,
                context,
                columns: &columns,
                cells: row,
            }
            .read(problems)
        })
        .collect()
}

struct Row<'r, 'g> {
    region: &'r Region<'g>,
    context: &'r Context<'r>,
    columns: &'r Columns,
    cells: &'g [Cell],
}

impl Row<'_, '_> {
    fn read(&self, problems: &mut Vec<Problem>) -> Option<Measure> {
        // A lone cell is a note.
        if self.cells.len() < 2 {
            return None;
        }
        let name_cell = self.columns.cell(self.cells, Field::Measure)?;
        let name = text_of(name_cell)?;
        let aliases = self.context.aliases();
        let scale = self
            .columns
            .cell(self.cells, Field::Scale)
            .and_then(|cell| ends(&cell_text(cell)));
        let settings = MeasureSettings {
            kind: self.word(Field::Kind, problems, |key| aliases.measure_kind(key)),
            unit: self.columns.cell(self.cells, Field::Unit).and_then(text_of),
            better: self.word(Field::Better, problems, |key| aliases.better(key)),
            lowest: self
                .number(Field::Lowest, problems)
                .or(scale.map(|(low, _)| low)),
            highest: self
                .number(Field::Highest, problems)
                .or(scale.map(|(_, high)| high)),
            step: self
                .number(Field::Step, problems)
                .filter(|step| *step > 0.0),
            target: self.number(Field::Target, problems),
        };
        Some(Measure {
            place: Some(self.region.grid.place(name_cell.row, name_cell.column)),
            ..settings.complete(name)
        })
    }

    fn word<T>(
        &self,
        field: Field,
        problems: &mut Vec<Problem>,
        meaning: impl Fn(&str) -> Option<T>,
    ) -> Option<T> {
        let cell = self.columns.cell(self.cells, field)?;
        let text = text_of(cell)?;
        let found = meaning(&key(&text));
        if found.is_none() && plain(&text).chars().any(|c| c != '-') {
            report(
                problems,
                Problem::at(
                    ProblemKind::AmbiguousValue,
                    self.region.grid.place(cell.row, cell.column),
                    text.to_string(),
                    format!(
                        "“{text}” is no {} of a measure that is known.",
                        field.name()
                    ),
                    "It was left open.",
                ),
            );
        }
        found
    }

    fn number(&self, field: Field, problems: &mut Vec<Problem>) -> Option<f64> {
        let cell = self.columns.cell(self.cells, field)?;
        let reading = cells::read(cell, self.context);
        if reading == NumberReading::No && !is_open_end(&cell_text(cell)) {
            let text = cell_text(cell);
            report(
                problems,
                Problem::at(
                    ProblemKind::AmbiguousValue,
                    self.region.grid.place(cell.row, cell.column),
                    &text,
                    format!("“{text}” is no number for {}.", field.name()),
                    "It was left open.",
                ),
            );
        }
        reading.number()
    }
}

/// Words for a scale without an end.
fn is_open_end(text: &str) -> bool {
    matches!(
        key(text).as_str(),
        "open" | "infinity" | "∞" | "unlimited" | "nolimit" | "any" | "noend" | "unbounded"
    )
}

/// Both ends of a scale in one cell: `1-4`, `0 to 10`.
fn ends(text: &str) -> Option<(f64, f64)> {
    let text = plain(text).into_owned();
    let (low, high) = text
        .split_once(" to ")
        .or_else(|| text.split_once(".."))
        .or_else(|| {
            // A minus before the first number is no dash.
            let at = text.get(1..)?.find('-')? + 1;
            Some((text.get(..at)?, text.get(at + 1..)?))
        })?;
    Some((low.trim().parse().ok()?, high.trim().parse().ok()?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_of_a_scale_in_one_cell() {
        assert_eq!(ends("1-4"), Some((1.0, 4.0)));
        assert_eq!(ends("0 to 10"), Some((0.0, 10.0)));
        assert_eq!(ends("-5–5"), Some((-5.0, 5.0)));
        assert_eq!(ends("good"), None);
    }
}
