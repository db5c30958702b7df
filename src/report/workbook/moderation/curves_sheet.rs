//! The sheet of curves: a row a pair and measure, the practice curve as a sparkline, the test blocks beside it.

use rust_xlsxwriter::{Sparkline, SparklineType, Worksheet, XlsxError};

use super::Moderation;
use crate::examination::PairResult;
use crate::logbook::model::{Better, Measure};
use crate::phase::{Phase, PhaseKind};
use crate::place::cell_name;
use crate::report::workbook::sheet::{CellContent, Column, TableSheet};
use crate::report::workbook::style::{INK, Look, TEAL};

/// The sheet's own name.
pub const NAME: &str = "Curves";

/// The tests that have a column each.
const TESTS: [PhaseKind; 5] = [
    PhaseKind::Pre,
    PhaseKind::Mid,
    PhaseKind::Post,
    PhaseKind::Retention,
    PhaseKind::Transfer,
];

/// Sessions that have a column each; the rest of a longer programme is in blocks.csv.
const SESSION_LIMIT: usize = 60;

/// The columns before the first test.
const BEFORE: usize = 4;

fn columns(sessions: usize) -> Vec<Column> {
    let mut columns = vec![
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("measure", "Measure", 18.0, Look::Text),
        Column::shown("better", "Better is", 10.0, Look::Text),
        Column::shown("curve", "Practice curve", 30.0, Look::Text),
    ];
    for kind in TESTS {
        columns.push(
            Column::shown(kind.name(), kind.title(), 10.0, Look::Decimal)
                .under("Means of the tests"),
        );
    }
    for session in 1..=sessions {
        let title = format!("{session}");
        columns.push(
            Column::shown(format!("session {session}"), title, 7.0, Look::Decimal)
                .under("Means of the practice sessions"),
        );
    }
    columns
}

/// The sheet being written.
pub(super) struct CurvesSheet<'a> {
    table: TableSheet<'a, Worksheet>,
    /// Sessions that have a column.
    sessions: usize,
    /// The rows that have a curve, and how many points each has.
    curves: Vec<(u32, usize)>,
}

impl<'a> CurvesSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let pairs = book.cohort.pairs.iter();
        let most = pairs.map(|pair| pair.outline.sessions).max();
        let sessions = most.unwrap_or(0).min(SESSION_LIMIT);
        let hint = "Each curve runs over its own range: its height says nothing beside another pair's. The means it is drawn from stand to the right.";
        let columns = columns(sessions);
        Ok(Self {
            table: TableSheet::begin(sheet, book.looks, NAME, "Curves", hint, columns)?,
            sessions,
            curves: Vec::new(),
        })
    }

    /// Adds a pair.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, result: &PairResult) -> Result<(), XlsxError> {
        for measure in &result.measures {
            if self.table.is_full() {
                break;
            }
            let points = result.practice(measure).count().min(self.sessions);
            if points >= 2 {
                self.curves.push((self.table.next_row(), points));
            }
            let row = row_of(result, measure, self.sessions);
            self.table.row_of_height(Some(24.0), row)?;
        }
        Ok(())
    }

    /// Finishes the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(self) -> Result<Worksheet, XlsxError> {
        let mut sheet = self.table.finish(2)?;
        let first = BEFORE + TESTS.len();
        for (row, points) in self.curves {
            let from = u32::try_from(first).unwrap_or(0);
            let to = u32::try_from(first + points - 1).unwrap_or(0);
            let range = format!("{NAME}!{}:{}", cell_name(row, from), cell_name(row, to));
            let sparkline = Sparkline::new()
                .set_range(range.as_str())
                .set_type(SparklineType::Line)
                .set_line_weight(1.5)
                .set_sparkline_color(TEAL)
                .show_markers(true)
                .set_markers_color(INK);
            sheet.add_sparkline(row, 3, &sparkline)?;
        }
        Ok(sheet)
    }
}

fn row_of(result: &PairResult, measure: &Measure, sessions: usize) -> Vec<CellContent> {
    let better = match measure.better {
        Better::Higher => String::from("higher"),
        Better::Lower => String::from("lower"),
        Better::Target => String::from("nearer"),
    };
    let mut cells: Vec<CellContent> = vec![
        (&*result.pair).into(),
        (&*measure.name).into(),
        better.into(),
        CellContent::Empty,
    ];
    for kind in TESTS {
        let phase = Phase::first(kind);
        let block = result
            .blocks
            .iter()
            .find(|row| row.measure == measure.name && row.phase == phase && row.session.is_none());
        cells.push(block.and_then(|row| row.mean).into());
    }
    cells.extend(
        result
            .practice(measure)
            .take(sessions)
            .map(|row| row.mean.into()),
    );
    cells
}
