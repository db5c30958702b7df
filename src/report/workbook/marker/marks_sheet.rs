//! The sheet to mark in: a part a pair, a row for each finding to decide, question to answer and criterion to mark, all entered in one
//! column, with the evidence to its left and the words to its right.
//!
//! Every row carries its own ids in hidden columns, so that the sheet can be sorted and filtered like any table.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::MarkerBook;
use super::curves_sheet::{Curve, drawing};
use super::part::{Line, length, lines_of_pair};
use super::progress;
use crate::place::cell_name;
use crate::report::workbook::sheet::{
    Column, EntryRule, FIRST_ROW, TableSheet, height_of, lines_of_text, validation,
};
use crate::report::workbook::style::Look;
use crate::report::workbook::written::Written;

/// The sheet's own name.
pub const NAME: &str = "Marks";

/// The pair's column.
pub const PAIR: u32 = 0;
/// Where the chart of a pair begins.
const CHART: u16 = 3;
/// The column in which numbers and decisions are entered.
pub const ENTRY: u32 = 5;
/// The hidden column that says what of a row is entered.
pub const KIND: u32 = 11;

/// Lines that a row has at most: as tall as a row may be.
const MOST_LINES: usize = 26;
/// Lines of a row that begins a pair's part: room for the chart.
const BAND_LINES: usize = 14;
/// Pixels of a chart that stands there.
const CHART_HEIGHT: u32 = 236;

/// The columns, within the width of a small laptop's screen.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("pair", "Pair", 7.0, Look::Text),
        Column::shown("what", "What", 21.0, Look::Strong),
        Column::shown("evidence", "Evidence", 57.0, Look::Wrapped),
        Column::shown(
            "gives",
            "Evidence gives, or where it is",
            18.0,
            Look::Wrapped,
        ),
        Column::shown("of", "Of", 6.0, Look::Number),
        Column::entry("entry", "Points, mark or decision", 11.0, EntryRule::Text),
        Column::entry(
            "words",
            "Comment (on marks: the pair reads it) or note (on findings: it stays with you)",
            54.0,
            EntryRule::Text,
        ),
        Column::shown("criterion", "Criterion", 12.0, Look::Text),
        Column::shown("part", "Part", 12.0, Look::Text),
        Column::shown("finding", "Finding", 14.0, Look::Text),
        Column::shown("role", "Marking as", 12.0, Look::Text),
        Column::shown("kind", "Entered here", 12.0, Look::Text),
    ]
}

/// The first of the hidden columns.
const FIRST_HIDDEN: u16 = 7;

/// Where each pair's part begins.
pub struct Parts {
    /// The first row of each pair, in the order of the marker's pairs.
    pub first: Vec<u32>,
    /// The sheet's last row.
    pub last: u32,
}

/// Writes the sheet, and notes what its cells to fill in hold.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    curves: &[Vec<Curve>],
    written: &mut Written,
) -> Result<Parts, XlsxError> {
    let columns = columns();
    let rows: u32 = book.pairs.iter().map(|pair| length(book, pair)).sum();
    let last = FIRST_ROW + rows.max(1) - 1;
    let title = format!("Marks: {}", book.marker);
    let mut table = TableSheet::begin(sheet, book.looks, NAME, &title, "", &columns)?;
    let mut parts = Parts {
        first: Vec::new(),
        last,
    };
    let mut rules: Vec<(u32, EntryRule)> = Vec::new();
    for pair in &book.pairs {
        parts.first.push(table.next_row());
        for line in lines_of_pair(book, pair, table.next_row(), last, written) {
            if let Some(rule) = &line.rule {
                rules.push((table.next_row(), rule.clone()));
            }
            table.row_of_looks(height(&line, &columns), line.cells())?;
        }
    }
    let sheet = table.finish(1)?;
    sheet.set_row_height(4, 47)?;
    sheet.set_column_range_hidden(FIRST_HIDDEN, FIRST_HIDDEN + 4)?;
    validate(sheet, &rules)?;
    draw(sheet, curves, &parts)?;
    progress::write_line(sheet, book)?;
    let hint = "One column to enter, from top to bottom; all that is not green is locked (no password). Comments are started from the evidence: change them freely.";
    sheet.write_string_with_format(1, 2, hint, book.looks.of(Look::Hint))?;
    Ok(parts)
}

/// The height that shows all of a row's text.
fn height(line: &Line, columns: &[Column]) -> f64 {
    let width = |key: &str| {
        let column = columns.iter().find(|column| column.key == key);
        column.map_or(10.0, |column| column.width)
    };
    let lines = [
        ("what", &line.what),
        ("evidence", &line.evidence),
        ("words", &line.words_text()),
        ("gives", &line.gives_text()),
    ]
    .into_iter()
    .map(|(key, text)| lines_of_text(text, width(key)))
    .max()
    .unwrap_or(1);
    // Bold names need more room than the count of their letters says.
    let least = if line.begins_part() {
        BAND_LINES
    } else {
        1 + usize::from(line.what.chars().count() > 20)
    };
    height_of(lines.clamp(least, MOST_LINES)) + 3.0
}

/// What may be entered in each row; runs of rows with the same rule share one.
fn validate(sheet: &mut Worksheet, rules: &[(u32, EntryRule)]) -> Result<(), XlsxError> {
    let column = u16::try_from(ENTRY).unwrap_or(0);
    let same = |a: &(u32, EntryRule), b: &(u32, EntryRule)| a.0 + 1 == b.0 && a.1 == b.1;
    for run in rules.chunk_by(same) {
        if let (Some((first, rule)), Some((last, _))) = (run.first(), run.last())
            && let Some(validation) = validation(rule)?
        {
            sheet.add_data_validation(*first, column, *last, column, &validation)?;
        }
    }
    Ok(())
}

fn draw(sheet: &mut Worksheet, curves: &[Vec<Curve>], parts: &Parts) -> Result<(), XlsxError> {
    /// Pixels from the column where charts begin to the last one that is seen.
    const ROOM: u32 = 610;
    for (row, curves) in parts.first.iter().zip(curves) {
        let count = u32::try_from(curves.len()).unwrap_or(1).max(1);
        let width = ROOM / count - 8;
        for (place, curve) in (0_u32..).zip(curves) {
            let chart = drawing(curve, width, CHART_HEIGHT);
            sheet.insert_chart_with_offset(*row, CHART, &chart, 4 + place * (width + 8), 4)?;
        }
    }
    Ok(())
}

/// A range of one column of the sheet, as formulas on any sheet name it.
pub fn range(column: u32, last: u32) -> String {
    let letters = crate::place::column_letters(column);
    format!(
        "{NAME}!${letters}${}:${letters}${}",
        FIRST_ROW + 1,
        last + 1
    )
}

/// The name of a row's cell that holds its pair.
pub fn pair_cell(row: u32) -> String {
    cell_name(row, PAIR)
}
