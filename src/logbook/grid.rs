//! A grid of cells: what a sheet or a text file is before anybody knows what its tables mean.
//!
//! The grid is sparse, and rows and columns count from 0 at the sheet's first cell, whatever the file says of its size.

use std::sync::Arc;

use jiff::civil::{DateTime, Time};

use crate::place::Place;

/// One sheet of a workbook, or one text file.
#[derive(Debug, Clone)]
pub struct Grid {
    /// The file, relative to the submissions.
    pub file: Arc<str>,
    /// Where its cells stand.
    pub source: Source,
    /// The cells that hold something, sorted by row, then column.
    pub cells: Vec<Cell>,
    /// Merged ranges; only the first cell of each holds a value.
    pub merged: Vec<Merged>,
    /// The whole sheet is hidden.
    pub hidden: bool,
    /// Hidden rows, sorted.
    pub hidden_rows: Vec<u32>,
    /// Hidden columns, sorted.
    pub hidden_columns: Vec<u32>,
}

/// What kind of file a grid came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Source {
    /// A sheet of a workbook, with its name.
    Sheet(Arc<str>),
    /// A delimited text file: a row is a record, and `lines[row]` the line (from 0) on which it begins.
    Text {
        /// Line on which each record begins, from 0.
        lines: Vec<u32>,
    },
}

/// A merged range, both corners included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Merged {
    /// First row, from 0.
    pub first_row: u32,
    /// First column, from 0.
    pub first_column: u32,
    /// Last row, from 0.
    pub last_row: u32,
    /// Last column, from 0.
    pub last_column: u32,
}

/// One cell that holds something.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Row, from 0.
    pub row: u32,
    /// Column, from 0.
    pub column: u32,
    /// What it holds.
    pub value: Value,
    /// How its number is shown, where the file says so.
    pub shown: Shown,
    /// Its formula, without the leading `=`, where it has one.
    pub formula: Option<Box<str>>,
}

/// What a cell holds, the same for every file format.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing but a formula that was never calculated.
    NotCalculated,
    /// A number as stored.
    Number(f64),
    /// Text as it stands.
    Text(Arc<str>),
    /// A tick box or a truth value.
    Truth(bool),
    /// A date, with its time of day where it has one.
    Date(DateTime),
    /// A time of day or a length of time without a date, in days.
    Duration(f64),
    /// A time of day.
    Time(Time),
    /// An error cell, with its text (`#DIV/0!`).
    Error(Arc<str>),
}

/// How a number is shown by its format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Shown {
    /// Decimals that the format shows; none where the format shows as many as it takes, or can't be read.
    pub decimals: Option<u8>,
    /// Shown as a percentage: 0.35 shown as 35 %.
    pub percent: bool,
}

impl Grid {
    /// The place of a cell of this grid.
    pub fn place(&self, row: u32, column: u32) -> Place {
        match &self.source {
            Source::Sheet(sheet) => Place::cell(self.file.clone(), sheet.clone(), row, column),
            Source::Text { lines } => {
                let line = usize::try_from(row)
                    .ok()
                    .and_then(|row| lines.get(row).copied())
                    .unwrap_or(row);
                Place::field(self.file.clone(), line, column)
            }
        }
    }

    /// The cell at a row and column, if it holds something.
    pub fn get(&self, row: u32, column: u32) -> Option<&Cell> {
        self.cells
            .binary_search_by_key(&(row, column), |cell| (cell.row, cell.column))
            .ok()
            .and_then(|index| self.cells.get(index))
    }

    /// The cells of one row, from left to right.
    pub fn row(&self, row: u32) -> &[Cell] {
        let start = self.cells.partition_point(|cell| cell.row < row);
        let end = self.cells.partition_point(|cell| cell.row <= row);
        self.cells.get(start..end).unwrap_or_default()
    }

    /// One past the last row that holds something.
    pub fn rows(&self) -> u32 {
        self.cells
            .last()
            .map_or(0, |cell| cell.row.saturating_add(1))
    }

    /// The sheet's name, or the text file's name without folders and ending.
    pub fn name(&self) -> &str {
        match &self.source {
            Source::Sheet(sheet) => sheet,
            Source::Text { .. } => {
                let base = self.file.rsplit('/').next().unwrap_or(&self.file);
                base.rsplit_once('.').map_or(base, |(stem, _)| stem)
            }
        }
    }
}
