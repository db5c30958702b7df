//! Rows of numbers under words that no table has: what a pair recorded under names of its own is not dropped, but told column by column.

use super::Supposed;
use super::header_rows::Heading;
use super::walker::Walker;
use crate::logbook::aliases::{Field, TableKind};
use crate::logbook::cells::starts_as_number;
use crate::logbook::grid::{Cell, Value};
use crate::logbook::headers::HeaderCell;

/// A cell with more than this is prose.
const LONGEST_NAME: usize = 250;

/// Rows below a header that are looked at.
const ROWS: usize = 5;

impl<'g> Walker<'g, '_> {
    /// A table of trials that begins at this row by all but the names of its columns: words, and numbers below them.
    pub(super) fn supposed(&self, at: usize) -> Option<Heading<'g>> {
        let row = self.rows.get(at).copied()?;
        if row.len() < 2 || row.len() > 2_000 || !self.may_begin_below(at) {
            return None;
        }
        let words = |cell: &Cell| matches!(&cell.value, Value::Text(text) if !starts_as_number(text) && text.chars().count() <= LONGEST_NAME);
        if row.iter().filter(|cell| words(cell)).count() < 2 {
            return None;
        }
        let below = self.rows.get(at + 1..)?;
        let numbers = below
            .iter()
            .take(ROWS)
            .filter(|row| row.len() > 1 && row.iter().any(holds_number))
            .count();
        if numbers < 2 {
            return None;
        }
        let (mut rows, mut of_table, mut names) = (0, 0, 0);
        for cell in row {
            if !words(cell) {
                // A number or a date may head a column of a table that shows itself by others.
                if !matches!(
                    &cell.value,
                    Value::Number(_) | Value::Date(_) | Value::Text(_)
                ) {
                    return None;
                }
                continue;
            }
            let read = HeaderCell::of(cell, self.aliases);
            let of_trials = |field| {
                read.as_ref()
                    .is_some_and(|read| read.may_be(TableKind::Trials, field))
            };
            rows += usize::from(of_trials(Field::Phase) || of_trials(Field::Trial));
            of_table +=
                usize::from(read.as_ref().is_some_and(|read| {
                    read.fields.iter().any(|(of, _)| *of == TableKind::Trials)
                }));
            names += usize::from(read.as_ref().is_none_or(|read| {
                read.fields.is_empty() && !read.computed && read.about.is_none()
            }));
        }
        let all_words = row.iter().all(words);
        let without_header = below.iter().take(ROWS).any(|below| {
            below.iter().any(|cell| {
                holds_number(cell)
                    && row
                        .binary_search_by_key(&cell.column, |cell| cell.column)
                        .is_err()
            })
        });
        if !(all_words || of_table >= 2) || names == 0 && all_words && !without_header {
            return None;
        }
        let supposed = if rows > 0 {
            Supposed::Named
        } else {
            let named = self.title_name().or(self.named);
            if numbers < 3 || named.is_some_and(|kind| kind != TableKind::Trials) {
                return None;
            }
            Supposed::Unnamed
        };
        let next = below.first().copied();
        Some(Heading {
            supposed: Some(supposed),
            ..self.heading(row, next, self.band, TableKind::Trials)
        })
    }

    /// Below another table a row begins one of its own only behind a gap, and never below trials that are recognised: what stands there is
    /// a pair's summary of them.
    fn may_begin_below(&self, at: usize) -> bool {
        if self.open.is_empty() {
            return true;
        }
        let line = |at: usize| {
            self.rows
                .get(at)
                .and_then(|row| row.first())
                .map(|cell| cell.row)
        };
        let trials = self
            .open
            .iter()
            .any(|open| open.region.kind == TableKind::Trials && open.region.supposed.is_none());
        // A title may stand between the gap and the header.
        let titled = at > 1 && self.rows.get(at - 1).is_some_and(|row| row.len() == 1);
        let gap = |at: usize| at > 0 && line(at) > line(at - 1).map(|line| line + 1);
        !trials && (gap(at) || titled && gap(at - 1))
    }
}

fn holds_number(cell: &Cell) -> bool {
    match &cell.value {
        Value::Number(_) => true,
        Value::Text(text) => starts_as_number(text),
        _ => false,
    }
}
