//! The sheet of findings: a row each, with what was found, where, and the cells for a decision and a note.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::checks::{self, Finding};
use crate::ledger::{DECISIONS, Subject};
use crate::report::workbook::links::{LINK_LIMIT, place_in_short};
use crate::report::workbook::sheet::{CellContent, Column, EntryRule, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Findings";

/// The columns: as far as the note within the width of a small laptop's screen, and of a sheet of paper.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("pair", "Pair", 8.0, Look::Text),
        Column::shown("weight", "Weight", 9.0, Look::Text),
        Column::shown("title", "What", 20.0, Look::Wrapped),
        Column::shown("message", "What was found", 52.0, Look::Wrapped),
        Column::shown("where", "Where", 22.0, Look::Link),
        Column::shown("claimed", "Claimed", 10.0, Look::Text),
        Column::shown("recomputed", "Recomputed", 13.0, Look::Number),
        Column::entry("decision", "Decision", 13.0, EntryRule::Choice(DECISIONS)),
        Column::entry("note", "Note", 24.0, EntryRule::Text),
        Column::shown("comment", "Comment for the pair", 52.0, Look::Wrapped),
        Column::shown("check", "Check", 26.0, Look::Text),
        Column::shown("finding", "Finding", 14.0, Look::Text),
    ]
}

/// Writes the sheet.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(sheet: &mut Worksheet, book: &Moderation<'_>) -> Result<(), XlsxError> {
    let columns = columns();
    let hint = "A finding is a place to look, not an accusation. Uphold what stands, dismiss what doesn't: dismissed findings never reach the pair. One decision for all of a check: sheet Checks.";
    let mut table = TableSheet::begin(sheet, book.looks, NAME, "Findings", hint, &columns)?;
    let mut links = 0;
    for (pair, finding) in book.cohort.findings() {
        if table.is_full() {
            break;
        }
        table.row(row_of(book, pair, finding, &mut links))?;
    }
    let last = table.next_row().saturating_sub(1);
    let sheet = table.finish(1)?;
    let printed = columns.iter().position(|column| column.key == "note");
    let printed = printed.and_then(|column| u16::try_from(column).ok());
    sheet.set_print_area(0, 0, last, printed.unwrap_or(0))?;
    Ok(())
}

fn row_of(
    book: &Moderation<'_>,
    pair: &str,
    finding: &Finding,
    links: &mut usize,
) -> Vec<CellContent> {
    let id = finding.id(pair);
    let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
    let held = |subject: Subject| book.held(pair, &subject, None).map(|held| held.value);
    vec![
        pair.into(),
        finding.weight.name().into(),
        title.into(),
        finding.message.clone().into(),
        where_it_is(book, pair, finding, links),
        finding.claimed.clone().into(),
        finding.recomputed.into(),
        held(Subject::Decision(id.clone())).into(),
        held(Subject::Note(id.clone())).into(),
        finding.comment.clone().into(),
        finding.check.into(),
        id.into(),
    ]
}

fn where_it_is(
    book: &Moderation<'_>,
    pair: &str,
    finding: &Finding,
    links: &mut usize,
) -> CellContent {
    let Some(first) = finding.places.first() else {
        return CellContent::Empty;
    };
    let text = place_in_short(first, finding.places.len());
    match book.link_to(pair, first) {
        Some(target) if *links < LINK_LIMIT => {
            *links += 1;
            CellContent::Link { target, text }
        }
        _ => text.into(),
    }
}
