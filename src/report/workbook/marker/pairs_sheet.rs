//! The sheet of the marker's pairs: a row each, how far it is, and the way to its part and its page.

use rust_xlsxwriter::{Url, Worksheet, XlsxError};

use super::marks_sheet::{self, Parts, pair_cell};
use super::words::{claims_counted, to_discuss};
use super::{MarkerBook, evidence_sheet, progress};
use crate::number::readable;
use crate::place::{cell_name, column_letters};
use crate::report::workbook::moderation::marks_sheet::{findings_in_words, level, totals};
use crate::report::workbook::sheet::{CellContent, Column, FIRST_ROW, TableSheet, clean};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Pairs";

/// The columns that the line of progress counts.
const PROGRESS: u32 = 1;
const DISCUSS: u32 = 2;

fn columns(book: &MarkerBook<'_>) -> Vec<Column> {
    let mut columns = vec![
        Column::shown("pair", "Pair", 10.0, Look::Link),
        Column::shown("progress", "Progress", 10.0, Look::Text),
        Column::shown(
            "discuss",
            "To discuss (the program says)",
            26.0,
            Look::Wrapped,
        ),
        Column::shown("role", "Marking as", 14.0, Look::Wrapped),
        Column::shown("skill", "Skill", 34.0, Look::Wrapped),
        Column::shown("findings", "Findings", 22.0, Look::Wrapped),
        Column::shown("claims", "Claims that differ", 11.0, Look::Text),
    ];
    let of = readable(book.rubric.out_of);
    for student in totals(book.rubric) {
        let (key, title) = match student {
            None => (String::from("total"), format!("Total of {of}")),
            Some(index) => (
                format!("total#{}", index + 1),
                format!("Total of {of}, student {}", index + 1),
            ),
        };
        columns.push(Column::shown(key, title, 10.0, Look::Total));
    }
    columns.push(Column::shown("level", "Level", 15.0, Look::Text));
    columns.push(Column::shown("page", "To print", 13.0, Look::Link));
    if book.moderation.names {
        columns.push(Column::shown("names", "Students", 30.0, Look::Wrapped));
    }
    columns
}

/// The cells of so many pairs that say how far each is, and what is to be discussed.
pub fn progress_ranges(pairs: usize) -> (String, String) {
    let last = FIRST_ROW + u32::try_from(pairs).unwrap_or(0).max(1);
    let range = |column| {
        let letters = column_letters(column);
        format!("{NAME}!${letters}${}:${letters}${last}", FIRST_ROW + 1)
    };
    (range(PROGRESS), range(DISCUSS))
}

/// Writes the sheet.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    parts: &Parts,
    pages: &[u32],
) -> Result<(), XlsxError> {
    let columns = columns(book);
    let title = format!("Pairs of {}", book.marker);
    let mut table = TableSheet::begin(sheet, book.looks, NAME, &title, "", &columns)?;
    for pair in &book.pairs {
        let (row, result) = (table.next_row(), pair.result);
        let cell = pair_cell(row);
        let mut cells: Vec<CellContent> = vec![
            (&*result.pair).into(),
            progress::word(book, pair, &cell, parts.last),
            to_discuss(book, pair).into(),
            pair.marking_as.word().into(),
            result.skill.as_deref().into(),
            findings_in_words(result).into(),
            claims_counted(result).into(),
        ];
        let total_column = cells.len();
        let totals = progress::totals_of(book, pair, &cell, parts.last);
        let first = totals.first().and_then(|cell| match cell {
            CellContent::Formula { result, .. } => result.parse::<f64>().ok(),
            _ => None,
        });
        cells.extend(totals);
        cells.push(level(book.rubric, row, total_column, first));
        cells.push("evidence".into());
        if book.moderation.names {
            cells.push(book.names(&result.pair).join("\n").into());
        }
        table.row(cells)?;
    }
    let sheet = table.finish(1)?;
    let link = book.looks.of(Look::Link);
    let page_column = columns.iter().position(|column| column.key == "page");
    let page_column = page_column.and_then(|column| u16::try_from(column).ok());
    for (row, ((pair, part), page)) in
        (FIRST_ROW..).zip(book.pairs.iter().zip(&parts.first).zip(pages))
    {
        let to = |sheet: &str, row: u32| format!("internal:'{sheet}'!{}", cell_name(row, 0));
        let url = Url::new(to(marks_sheet::NAME, *part)).set_text(clean(&pair.result.pair));
        sheet.write_url_with_format(row, 0, url, link)?;
        if let Some(column) = page_column {
            let url = Url::new(to(evidence_sheet::NAME, *page)).set_text("evidence");
            sheet.write_url_with_format(row, column, url, link)?;
        }
    }
    progress::write_line(sheet, book)?;
    let hint = "Choose a pair to mark it on sheet Marks; sheet Evidence prints a page a pair.";
    sheet.write_string_with_format(1, 4, hint, book.looks.of(Look::Hint))?;
    Ok(())
}
