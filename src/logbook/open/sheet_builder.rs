//! Collects the cells of one sheet as any of the formats gives them, within the budget, into a grid.

use std::sync::Arc;

use super::error::OpenError;
use super::limits::Budget;
use crate::logbook::grid::{Cell, Grid, Merged, Shown, Source, Value};

/// Rows of the largest sheet of any spreadsheet program.
pub(super) const ROWS: u32 = 1 << 20;
/// Columns of the largest sheet of any spreadsheet program.
pub(super) const COLUMNS: u32 = 1 << 14;
/// Merged ranges that are kept; a logbook has a few.
const MOST_MERGED: usize = 10_000;

/// A sheet being read.
#[derive(Debug, Default)]
pub(super) struct SheetBuilder {
    cells: Vec<Cell>,
    merged: Vec<Merged>,
    hidden_rows: Vec<u32>,
    /// Ranges of hidden columns, both ends included.
    hidden_columns: Vec<(u32, u32)>,
    row: Option<u32>,
    unsorted: bool,
}

impl SheetBuilder {
    /// Adds a cell that holds something.
    pub(super) fn cell(
        &mut self,
        row: u32,
        column: u32,
        value: Value,
        shown: Shown,
        formula: Option<Box<str>>,
        budget: &mut Budget,
    ) -> Result<(), OpenError> {
        if row >= ROWS || column >= COLUMNS {
            return Err(OpenError::damaged("a cell lies beyond the largest sheet"));
        }
        budget.cell()?;
        if self.row != Some(row) {
            budget.row()?;
            self.row = Some(row);
        }
        if let Some(formula) = &formula {
            budget.holds(formula.len() + 16)?;
        }
        if let Some(last) = self.cells.last() {
            self.unsorted |= (last.row, last.column) >= (row, column);
        }
        self.cells.push(Cell {
            row,
            column,
            value,
            shown,
            formula,
        });
        Ok(())
    }

    /// Notes a hidden row. Only rows that hold something are kept, so call it after the row's cells.
    pub(super) fn hidden_row(&mut self, row: u32) {
        if self.row == Some(row) && self.hidden_rows.last() != Some(&row) {
            self.hidden_rows.push(row);
        }
    }

    /// Notes a range of hidden columns, both ends included.
    pub(super) fn hidden_columns(&mut self, first: u32, last: u32) {
        if first <= last && self.hidden_columns.len() < MOST_MERGED {
            self.hidden_columns.push((first, last));
        }
    }

    /// Notes a merged range.
    pub(super) fn merge(&mut self, range: Merged) {
        let one_cell = range.first_row == range.last_row && range.first_column == range.last_column;
        let sound = range.first_row <= range.last_row
            && range.first_column <= range.last_column
            && range.last_row < ROWS
            && range.last_column < COLUMNS;
        if sound && !one_cell && self.merged.len() < MOST_MERGED {
            self.merged.push(range);
        }
    }

    /// The sheet as a grid.
    pub(super) fn finish(mut self, file: Arc<str>, source: Source, hidden: bool) -> Grid {
        if self.unsorted {
            // Of two cells at one place the first stands.
            self.cells.sort_by_key(|cell| (cell.row, cell.column));
            self.cells.dedup_by_key(|cell| (cell.row, cell.column));
            self.hidden_rows.sort_unstable();
            self.hidden_rows.dedup();
        }
        let widest = self.cells.iter().map(|cell| cell.column).max();
        let mut hidden_columns: Vec<u32> = Vec::new();
        if let Some(widest) = widest {
            for (first, last) in self.hidden_columns {
                hidden_columns.extend(first..=last.min(widest));
                if hidden_columns.len() > 2 * COLUMNS as usize {
                    hidden_columns.sort_unstable();
                    hidden_columns.dedup();
                }
            }
        }
        hidden_columns.sort_unstable();
        hidden_columns.dedup();
        self.cells.shrink_to_fit();
        Grid {
            file,
            source,
            cells: self.cells,
            merged: self.merged,
            hidden,
            hidden_rows: self.hidden_rows,
            hidden_columns,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::open::limits::Limits;

    #[test]
    fn cells_in_any_order_become_a_sorted_grid() {
        let mut budget = Budget::new(&Limits::default());
        let mut sheet = SheetBuilder::default();
        for (row, column, number) in [(1, 1, 1.0), (0, 3, 2.0), (1, 1, 3.0), (1, 0, 4.0)] {
            sheet
                .cell(
                    row,
                    column,
                    Value::Number(number),
                    Shown::default(),
                    None,
                    &mut budget,
                )
                .unwrap();
        }
        sheet.hidden_row(1);
        sheet.hidden_row(7);
        sheet.hidden_columns(2, 16_383);
        let grid = sheet.finish("a.xlsx".into(), Source::Sheet("S".into()), false);
        let seen: Vec<_> = grid
            .cells
            .iter()
            .map(|cell| (cell.row, cell.column))
            .collect();
        assert_eq!(seen, [(0, 3), (1, 0), (1, 1)]);
        assert_eq!(
            grid.get(1, 1).map(|cell| &cell.value),
            Some(&Value::Number(1.0))
        );
        assert_eq!(grid.hidden_rows, [1]);
        assert_eq!(grid.hidden_columns, [2, 3]);
    }

    #[test]
    fn a_cell_beyond_any_sheet_is_refused() {
        let mut budget = Budget::new(&Limits::default());
        let mut sheet = SheetBuilder::default();
        let result = sheet.cell(
            ROWS,
            0,
            Value::Truth(true),
            Shown::default(),
            None,
            &mut budget,
        );
        assert!(matches!(result, Err(OpenError::Damaged { .. })));
    }
}
