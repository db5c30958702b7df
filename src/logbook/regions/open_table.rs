//! A table whose end has not been reached: what its rows look like.

use super::header_rows::is_bracketed;
use super::walker::{text_key, title_cells};
use super::{Header, Region};
use crate::logbook::aliases::{Aliases, Counted, Field, TableKind};
use crate::logbook::cells::starts_as_number;
use crate::logbook::dates::looks_like_date;
use crate::logbook::grid::{Cell, Value};
use crate::logbook::headers::HeaderCell;
use crate::logbook::labels::{PhaseReading, read_phase};
use crate::logbook::spelling::{key, numbered};

/// A table whose end has not been reached.
pub(super) struct Open<'g> {
    pub(super) region: Region<'g>,
    pub(super) columns: (u32, u32),
    /// Columns that hold numbers: a number there shows a row of data at once.
    pub(super) probes: Vec<u32>,
    /// What the last row began with: rows of one block begin alike.
    pub(super) begins: Value,
    /// Columns by which a row of words shows itself as data.
    pub(super) typed: Vec<(u32, Field)>,
}

/// A number, or a text that begins as one.
fn holds_number(cell: &Cell) -> bool {
    match &cell.value {
        Value::Number(_) | Value::Date(_) => true,
        Value::Text(text) => text.as_bytes().first().is_some_and(u8::is_ascii_digit),
        _ => false,
    }
}

impl Open<'_> {
    /// The row below the keys of an About table in a row holds their values, whatever it looks like.
    pub(super) fn awaits_values(&self) -> bool {
        self.region.kind == TableKind::About && !self.region.keyed && self.region.rows.is_empty()
    }

    /// A number where the table has numbers shows a row of data at once, where the row begins like the row above or with a number too.
    pub(super) fn is_surely_data(&mut self, row: &[Cell]) -> bool {
        let Some(first) = row.first().filter(|_| !self.region.keyed) else {
            return false;
        };
        if !self.holds_numbers(row) {
            return false;
        }
        if holds_number(first) {
            return true;
        }
        let alike = self.begins == first.value;
        if !alike {
            self.begins = first.value.clone();
        }
        alike && !self.repeats_header(row)
    }

    /// Numbers stand where the table has numbers.
    fn holds_numbers(&self, row: &[Cell]) -> bool {
        self.probes.iter().any(|column| {
            row.binary_search_by_key(column, |cell| cell.column)
                .ok()
                .and_then(|at| row.get(at))
                .is_some_and(holds_number)
        })
    }

    pub(super) fn repeats_header(&self, row: &[Cell]) -> bool {
        let Some(first) = row.first() else {
            return false;
        };
        self.region
            .headers
            .iter()
            .find(|header| header.column == first.column)
            .and_then(Header::cell)
            .is_some_and(|header| {
                header.value == first.value && matches!(first.value, Value::Text(_))
            })
    }

    /// A row of words that fits the columns is data, though its words may name columns too.
    pub(super) fn fits_as_data(&self, row: &[Cell], aliases: &Aliases) -> bool {
        if self.region.keyed {
            return row.len() <= 3
                && row.first().is_some_and(|cell| {
                    text_key(cell).is_some_and(|key| aliases.about_key(&key).is_some())
                });
        }
        !self.repeats_header(row) && data_fit(row, &self.typed, aliases) > 0
    }

    /// How many rows at the end of the table may be titles or header rows of the next one.
    pub(super) fn tail_of_titles(&self, aliases: &Aliases) -> usize {
        let keyed_row = |row: &[Cell]| {
            self.region.keyed
                && row.len() > 1
                && row.first().is_some_and(|cell| {
                    text_key(cell).is_some_and(|key| aliases.about_key(&key).is_some())
                })
        };
        // The values of an About table in a row are its first row, however much like a title they look.
        let values = usize::from(self.region.kind == TableKind::About && !self.region.keyed);
        self.region
            .rows
            .iter()
            .skip(values)
            .rev()
            .take(5)
            .take_while(|row| {
                !self.holds_numbers(row)
                    && !keyed_row(row)
                    && (title_cells(row, 1).is_some() || !self.fits_as_data(row, aliases))
                    && row
                        .iter()
                        .all(|cell| matches!(cell.value, Value::Text(_) | Value::Date(_)))
            })
            .count()
    }
}

/// The columns by which a row shows itself as data.
pub(super) fn typed_columns(cells: &[HeaderCell], kind: TableKind) -> Vec<(u32, Field)> {
    cells
        .iter()
        .filter_map(|cell| {
            let (_, field) = cell.fields.iter().find(|(of, _)| *of == kind)?;
            Some((cell.column, *field))
        })
        .filter(|(_, field)| is_numeric(*field) || is_worded(*field))
        .collect()
}

pub(super) fn is_numeric(field: Field) -> bool {
    matches!(
        field,
        Field::Session
            | Field::Trial
            | Field::Score
            | Field::X
            | Field::Y
            | Field::Estimate
            | Field::Week
            | Field::Date
            | Field::Minutes
            | Field::FeedbackPercent
            | Field::Lowest
            | Field::Highest
            | Field::Step
            | Field::Target
            | Field::Rating
            | Field::Value
    )
}

pub(super) fn is_worded(field: Field) -> bool {
    matches!(
        field,
        Field::Phase
            | Field::Versus
            | Field::Statistic
            | Field::Kind
            | Field::Better
            | Field::Order
            | Field::Variety
            | Field::Feedback
    )
}

/// Cells that fit their columns as data less those that don't.
pub(super) fn data_fit(row: &[Cell], typed: &[(u32, Field)], aliases: &Aliases) -> i32 {
    let mut fit = 0;
    for cell in row {
        let Some((_, field)) = typed.iter().find(|(column, _)| *column == cell.column) else {
            continue;
        };
        let fits = match &cell.value {
            Value::Text(text) if is_numeric(*field) => {
                !is_bracketed(cell) && number_fits(text, *field, aliases)
            }
            Value::Text(text) => {
                let key = key(text);
                match field {
                    Field::Phase | Field::Versus => read_phase(text, aliases) != PhaseReading::No,
                    Field::Statistic => aliases.statistic(&key).is_some(),
                    Field::Kind => aliases.measure_kind(&key).is_some(),
                    Field::Better => aliases.better(&key).is_some(),
                    Field::Order => aliases.order(&key).is_some(),
                    Field::Variety => aliases.variety(&key).is_some(),
                    _ => aliases.feedback(&key).is_some(),
                }
            }
            Value::Number(number) => match field {
                Field::Date => (18_264.0..73_051.0).contains(number),
                field => is_numeric(*field),
            },
            Value::Date(_) => *field == Field::Date,
            Value::Error(_) | Value::NotCalculated => true,
            _ => false,
        };
        fit += if fits { 1 } else { -1 };
    }
    fit
}

/// Whether a text stands for a number of this column: a number, a word for missing, or a number with its own name (`Session 3`).
fn number_fits(text: &str, field: Field, aliases: &Aliases) -> bool {
    let key = key(text);
    if !aliases.column(&key).is_empty() {
        return field == Field::Rating && aliases.answer(&key).is_some();
    }
    if aliases.cell_word(&key).is_some() || starts_as_number(text) {
        return true;
    }
    let counts = |wanted: Counted| {
        numbered(text).is_some_and(|(word, _)| aliases.counted(&word) == Some(wanted))
    };
    match field {
        Field::Date => looks_like_date(text, aliases),
        Field::Session => counts(Counted::Session) || read_phase(text, aliases) != PhaseReading::No,
        Field::Trial => counts(Counted::Trial),
        Field::Week => counts(Counted::Week),
        Field::Rating => aliases.answer(&key).is_some(),
        _ => false,
    }
}
