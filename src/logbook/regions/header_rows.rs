//! Header rows: one or two of them, and tables side by side under one row.

use super::open_table::{data_fit, typed_columns};
use super::walker::Walker;
use super::{Header, Supposed, within};
use crate::logbook::aliases::{Aliases, Field, TableKind};
use crate::logbook::grid::{Cell, Value};
use crate::logbook::headers::HeaderCell;
use crate::logbook::labels::read_label;

/// A header row, before its table is opened.
pub(super) struct Heading<'g> {
    pub(super) kind: TableKind,
    pub(super) first: u32,
    pub(super) headers: Vec<Header<'g>>,
    pub(super) header_rows: usize,
    pub(super) supposed: Option<Supposed>,
}

impl<'g> Walker<'g, '_> {
    pub(super) fn heading(
        &self,
        row: &'g [Cell],
        next: Option<&'g [Cell]>,
        span: (u32, u32),
        kind: TableKind,
    ) -> Heading<'g> {
        let this = within(row, span).unwrap_or(row);
        let second = next
            .and_then(|next| within(next, span))
            .filter(|next| self.is_second_header(row, next, kind));
        let first = this
            .first()
            .into_iter()
            .chain(second.and_then(|second| second.first()))
            .map(|cell| cell.column)
            .min()
            .unwrap_or(0);
        match second {
            Some(second) => Heading {
                kind,
                first,
                headers: self.two_rows(this, second, true),
                header_rows: 2,
                supposed: None,
            },
            None => Heading {
                kind,
                first,
                headers: this
                    .iter()
                    .map(|cell| Header {
                        column: cell.column,
                        upper: None,
                        lower: Some(cell),
                    })
                    .collect(),
                header_rows: 1,
                supposed: None,
            },
        }
    }

    /// Whether the row below a header row is its second row: words that name columns, trials or units, and no data.
    pub(super) fn is_second_header(&self, first: &[Cell], row: &[Cell], kind: TableKind) -> bool {
        if first
            .first()
            .is_some_and(|cell| row.first().is_some_and(|below| below.row != cell.row + 1))
        {
            return false;
        }
        let Some(cells) = header_cells(row, self.aliases) else {
            return false;
        };
        let bare = cells.iter().filter(|cell| cell.is_number()).count();
        if bare > 0
            && (bare < 2
                || !cells
                    .iter()
                    .filter_map(|cell| cell.label.bare)
                    .is_sorted_by(|a, b| *b == a + 1 || *b == 1))
        {
            return false;
        }
        // A row that would be data below these headers is data.
        let upper = header_cells(first, self.aliases).unwrap_or_default();
        let typed: Vec<(u32, Field)> = typed_columns(&upper, kind);
        if row
            .iter()
            .any(|cell| data_fit(std::slice::from_ref(cell), &typed, self.aliases) > 0)
        {
            return false;
        }
        let split_header = |cell: &HeaderCell| {
            // "Test" over "phase": two words of one header.
            let above = upper.iter().find(|upper| upper.column == cell.column);
            above.is_some_and(|above| {
                !above.key.is_empty()
                    && (!self
                        .aliases
                        .column(&format!("{}{}", above.key, cell.key))
                        .is_empty()
                        || self.aliases.is_unit(&cell.key))
            })
        };
        let meaning = cells
            .iter()
            .zip(row)
            .filter(|(cell, raw)| {
                cell.computed
                    || cell.label.trial.is_some()
                    || cell.is_number()
                    || cell.label.rater.is_some()
                    || cell.fields.iter().any(|(of, _)| *of == kind)
                    || split_header(cell)
                    || is_bracketed(raw)
                    || self.aliases.is_weekday(&cell.key)
                    || cell.label.session.is_some()
            })
            .count();
        meaning * 2 > cells.len()
    }

    /// The headers of two rows, joined column by column. A cell of the upper row heads the columns that it is merged over; without
    /// merged cells, those up to the next upper cell.
    pub(super) fn two_rows(
        &self,
        upper: &'g [Cell],
        lower: &'g [Cell],
        all: bool,
    ) -> Vec<Header<'g>> {
        let row = upper.first().map_or(0, |cell| cell.row);
        let merged: Vec<_> = self
            .grid
            .merged
            .iter()
            .filter(|merged| merged.first_row == row)
            .collect();
        let above = |column: u32| -> Option<&'g Cell> {
            let left = upper.iter().rev().find(|cell| cell.column <= column)?;
            if left.column == column {
                return Some(left);
            }
            let spread = if merged
                .iter()
                .any(|merged| merged.last_column > merged.first_column)
            {
                merged.iter().any(|merged| {
                    merged.first_column == left.column && merged.last_column >= column
                })
            } else {
                // Only what names a block heads more than one column.
                matches!(&left.value, Value::Date(_))
                    || matches!(&left.value, Value::Text(text) if read_label(text, self.aliases).names_block())
                    || lower.iter().any(|cell| cell.column == left.column)
            };
            spread.then_some(left)
        };
        let mut columns: Vec<u32> = lower.iter().map(|cell| cell.column).collect();
        if all {
            columns.extend(upper.iter().map(|cell| cell.column));
        }
        columns.sort_unstable();
        columns.dedup();
        columns
            .into_iter()
            .map(|column| Header {
                column,
                upper: above(column),
                lower: lower.iter().find(|cell| cell.column == column),
            })
            .collect()
    }

    /// Whether a row heads the columns below it by phases, sessions, weeks or dates.
    pub(super) fn is_upper_header(&self, row: &[Cell]) -> bool {
        let Some(cells) = header_cells(row, self.aliases) else {
            return false;
        };
        let blocks = cells
            .iter()
            .filter(|cell| cell.label.names_block() || cell.date || cell.label.rater.is_some())
            .count();
        let merged_part = |cell: &Cell| {
            self.grid.merged.iter().any(|merged| {
                merged.first_row == cell.row
                    && merged.first_column == cell.column
                    && cell.column > self.band.0
            })
        };
        !cells.iter().any(HeaderCell::is_number)
            && blocks * 2 >= cells.len()
            && (cells.len() > 1 && blocks > 0
                || row
                    .first()
                    .is_some_and(|cell| blocks == 1 && merged_part(cell)))
            || cells.len() > 1 && row.iter().all(merged_part)
    }
}

pub(super) fn is_bracketed(cell: &Cell) -> bool {
    matches!(&cell.value, Value::Text(text) if text.trim_start().starts_with(['(', '[']))
}

pub(super) fn header_cells(row: &[Cell], aliases: &Aliases) -> Option<Vec<HeaderCell>> {
    row.iter()
        .map(|cell| HeaderCell::of(cell, aliases))
        .collect()
}

/// Cuts a header row at blank columns, and where its first column comes again: tables side by side.
pub(super) fn split_runs(cells: &[HeaderCell]) -> Vec<Vec<HeaderCell>> {
    let first_key = cells
        .first()
        .map(|cell| cell.key.clone())
        .unwrap_or_default();
    let mut runs: Vec<Vec<HeaderCell>> = Vec::new();
    for cell in cells {
        let gap = runs
            .last()
            .and_then(|run| run.last())
            .is_none_or(|last: &HeaderCell| last.column + 1 != cell.column);
        let again = !first_key.is_empty() && cell.key == first_key && cell.label.trial.is_none();
        match runs.last_mut() {
            Some(run) if !gap && !again => run.push(cell.clone()),
            _ => runs.push(vec![cell.clone()]),
        }
    }
    runs
}
