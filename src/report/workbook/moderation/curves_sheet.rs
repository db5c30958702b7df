//! The sheet of curves: a row a pair and measure, the practice curve as a sparkline, the test blocks beside it.

use std::collections::BTreeSet;

use rust_xlsxwriter::{Sparkline, SparklineType, Worksheet, XlsxError};

use super::Moderation;
use crate::examination::PairResult;
use crate::logbook::model::{Better, Measure};
use crate::phase::{Phase, PhaseKind};
use crate::place::cell_name;
use crate::report::workbook::sheet::{CellContent, Column, TableSheet};
use crate::report::workbook::style::{Look, TEAL};

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

fn columns(sessions: &[u32]) -> Vec<Column> {
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
    for session in sessions {
        let title = format!("{session}");
        columns.push(
            Column::shown(format!("session {session}"), title, 7.0, Look::Decimal)
                .under("Means of the practice sessions, by their numbers"),
        );
    }
    columns
}

/// The sheet being written.
pub(super) struct CurvesSheet<'a> {
    table: TableSheet<'a, Worksheet>,
    /// The numbers of the practice sessions that have a column, ascending: as the pairs' Sessions tables, claims and charts number them.
    sessions: Vec<u32>,
    curves: Vec<DrawnCurve>,
}

/// A curve to be drawn in a row, over its own range.
struct DrawnCurve {
    row: u32,
    /// The first column of sessions with a mean, from 0.
    first: usize,
    /// Columns from there to the last with a mean, with those that have none.
    points: usize,
    lowest: f64,
    highest: f64,
}

impl DrawnCurve {
    /// Of these means; none of fewer than two.
    fn of(row: u32, means: &[Option<f64>]) -> Option<Self> {
        let known = || means.iter().flatten().copied();
        let first = means.iter().position(Option::is_some)?;
        let last = means.iter().rposition(Option::is_some)?;
        (known().count() >= 2).then(|| Self {
            row,
            first,
            points: last - first + 1,
            lowest: known().fold(f64::INFINITY, f64::min),
            highest: known().fold(f64::NEG_INFINITY, f64::max),
        })
    }

    /// Where its columns begin: a little below the lowest mean, which could else not be told from a session without one.
    fn foot(&self) -> f64 {
        let range = self.highest - self.lowest;
        if range > 0.0 {
            self.lowest - range * FOOT
        } else {
            self.lowest - 1.0
        }
    }
}

/// The share of its range by which the columns of a curve begin below the lowest.
const FOOT: f64 = 0.15;

impl<'a> CurvesSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let pairs = book.cohort.pairs.iter();
        let numbers: BTreeSet<u32> = pairs
            .flat_map(|pair| pair.outline.sessions.iter().copied())
            .collect();
        let sessions: Vec<u32> = numbers.into_iter().take(SESSION_LIMIT).collect();
        let hint = "Each curve runs over its own range: its height says nothing beside another pair's. The means it is drawn from stand to the right.";
        let columns = columns(&sessions);
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
            let means = means_by_number(result, measure, &self.sessions);
            let curve = DrawnCurve::of(self.table.next_row(), &means);
            self.curves.extend(curve);
            let row = row_of(result, measure, means);
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
        for curve in &self.curves {
            let row = curve.row;
            let from = u32::try_from(first + curve.first).unwrap_or(0);
            let to = u32::try_from(first + curve.first + curve.points - 1).unwrap_or(0);
            let range = format!("{NAME}!{}:{}", cell_name(row, from), cell_name(row, to));
            let sparkline = Sparkline::new()
                .set_range(range.as_str())
                // LibreOffice leaves the lines of sparklines out of what it prints, and draws columns.
                .set_type(SparklineType::Column)
                .set_sparkline_color(TEAL)
                .set_custom_min(curve.foot())
                .set_custom_max(curve.highest);
            sheet.add_sparkline(row, 3, &sparkline)?;
        }
        Ok(sheet)
    }
}

/// The mean of each of these practice sessions; none of those that a pair doesn't have.
fn means_by_number(result: &PairResult, measure: &Measure, sessions: &[u32]) -> Vec<Option<f64>> {
    let of = |number: &u32| {
        let mut practised = result.practice(measure);
        let session = practised.find(|row| row.session == Some(*number));
        session.and_then(|row| row.mean)
    };
    sessions.iter().map(of).collect()
}

fn row_of(result: &PairResult, measure: &Measure, means: Vec<Option<f64>>) -> Vec<CellContent> {
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
    cells.extend(means.into_iter().map(CellContent::from));
    cells
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::BlockRow;
    use crate::logbook::model::Measure;

    #[test]
    fn the_lowest_session_has_a_column_and_a_session_without_a_mean_has_none() {
        let curve = DrawnCurve::of(7, &[Some(2.0), None, Some(4.0)]).unwrap();
        assert_eq!((curve.row, curve.first, curve.points), (7, 0, 3));
        assert_eq!((curve.foot(), curve.highest), (1.7, 4.0));
        let later = DrawnCurve::of(7, &[None, Some(2.0), Some(4.0), None]).unwrap();
        assert_eq!((later.first, later.points), (1, 2));
        let flat = DrawnCurve::of(7, &[Some(2.0), Some(2.0)]).unwrap();
        assert_eq!((flat.foot(), flat.highest), (1.0, 2.0));
        assert!(DrawnCurve::of(7, &[Some(2.0), None]).is_none());
    }

    #[test]
    fn a_session_stands_in_the_column_of_its_own_number() {
        let measure = Measure::undescribed();
        let row = |session, mean| BlockRow {
            mean: Some(mean),
            ..BlockRow::without_numbers(&measure.name, Phase::PRACTICE, session, 10)
        };
        let result = PairResult {
            measures: vec![measure.clone()],
            blocks: vec![row(Some(2), 1.5), row(Some(4), 2.5)],
            ..PairResult::default()
        };
        let numbers = [1, 2, 3, 4];
        let titles: Vec<String> = columns(&numbers).into_iter().map(|c| c.title).collect();
        assert_eq!(titles[titles.len() - 4..], ["1", "2", "3", "4"]);
        let cells = row_of(
            &result,
            &measure,
            means_by_number(&result, &measure, &numbers),
        );
        let means: Vec<Option<f64>> = cells[cells.len() - 4..]
            .iter()
            .map(|cell| match cell {
                CellContent::Number(mean) => Some(*mean),
                _ => None,
            })
            .collect();
        assert_eq!(means, [None, Some(1.5), None, Some(2.5)]);
    }
}
