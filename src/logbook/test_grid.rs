//! Grids for tests, written as they look.

use jiff::civil::Date;

use super::grid::{Cell, Grid, Merged, Shown, Source, Value};

impl Grid {
    /// A sheet from its rows. `|` separates cells; a cell that is a number is one, `'3` is the text 3, `@2026-03-09` a date cell,
    /// `#…!` an error cell, `=AVERAGE(B2:B4) -> 2.5` a formula with its value (or without one).
    pub(crate) fn from_rows(sheet: &str, rows: &[&str]) -> Self {
        let mut cells = Vec::new();
        for (row, line) in (0..).zip(rows) {
            for (column, text) in (0..).zip(line.split('|')) {
                if let Some((value, formula)) = cell_value(text.trim()) {
                    cells.push(Cell {
                        row,
                        column,
                        value,
                        shown: Shown::default(),
                        formula,
                    });
                }
            }
        }
        Self {
            file: "P07.xlsx".into(),
            source: Source::Sheet(sheet.into()),
            cells,
            merged: Vec::new(),
            hidden: false,
            hidden_rows: Vec::new(),
            hidden_columns: Vec::new(),
        }
    }

    /// The same as a text file: every cell is text.
    pub(crate) fn from_text(file: &str, rows: &[impl AsRef<str>]) -> Self {
        let mut cells = Vec::new();
        for (row, line) in (0..).zip(rows) {
            for (column, text) in (0..).zip(line.as_ref().split('|')) {
                if !text.trim().is_empty() {
                    cells.push(Cell {
                        row,
                        column,
                        value: Value::Text(text.trim().into()),
                        shown: Shown::default(),
                        formula: None,
                    });
                }
            }
        }
        Self {
            file: file.into(),
            source: Source::Text {
                lines: (0..).take(rows.len()).collect(),
            },
            cells,
            merged: Vec::new(),
            hidden: false,
            hidden_rows: Vec::new(),
            hidden_columns: Vec::new(),
        }
    }

    /// The same grid with a merged range.
    #[must_use]
    pub(crate) fn merge(mut self, first: (u32, u32), last: (u32, u32)) -> Self {
        self.merged.push(Merged {
            first_row: first.0,
            first_column: first.1,
            last_row: last.0,
            last_column: last.1,
        });
        self
    }
}

fn cell_value(text: &str) -> Option<(Value, Option<Box<str>>)> {
    if text.is_empty() {
        return None;
    }
    if let Some(rest) = text.strip_prefix('=') {
        return Some(match rest.split_once(" -> ") {
            Some((formula, value)) => (cell_value(value)?.0, Some(formula.into())),
            None => (Value::NotCalculated, Some(rest.into())),
        });
    }
    let value = if let Some(text) = text.strip_prefix('\'') {
        Value::Text(text.into())
    } else if let Some(date) = text.strip_prefix('@') {
        Value::Date(date.parse::<Date>().expect("a date").at(0, 0, 0, 0))
    } else if text.starts_with('#') && text.len() > 3 && text.ends_with(['!', '?']) {
        Value::Error(text.into())
    } else if let Ok(number) = text.parse() {
        Value::Number(number)
    } else {
        Value::Text(text.into())
    };
    Some((value, None))
}
