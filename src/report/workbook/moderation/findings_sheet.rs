//! The sheet of findings: a row each, with what was found, where, and the cells for a decision and a note.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::checks::{self, Finding};
use crate::ledger::{DECISIONS, Subject};
use crate::place::evidence_in_short;
use crate::report::workbook::links::LINK_LIMIT;
use crate::report::workbook::sheet::{CellContent, Column, EntryRule, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Findings";

/// The columns.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("finding", "Finding", 14.0, Look::Text),
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("weight", "Weight", 9.0, Look::Text),
        Column::shown("title", "What", 24.0, Look::Wrapped),
        Column::shown("message", "What was found", 56.0, Look::Wrapped),
        Column::shown("where", "Where", 26.0, Look::Link),
        Column::shown("claimed", "Claimed", 10.0, Look::Text),
        Column::shown("recomputed", "Recomputed", 12.0, Look::Number),
        Column::shown("comment", "Comment for the pair", 52.0, Look::Wrapped),
        Column::entry("decision", "Decision", 13.0, EntryRule::Choice(DECISIONS)),
        Column::entry("note", "Note", 30.0, EntryRule::Text),
        Column::shown("check", "Check", 26.0, Look::Text),
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
    table.finish(2)?;
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
        id.clone().into(),
        pair.into(),
        finding.weight.name().into(),
        title.into(),
        finding.message.clone().into(),
        where_it_is(book, pair, finding, links),
        finding.claimed.clone().into(),
        finding.recomputed.into(),
        finding.comment.clone().into(),
        held(Subject::Decision(id.clone())).into(),
        held(Subject::Note(id)).into(),
        finding.check.into(),
    ]
}

fn where_it_is(
    book: &Moderation<'_>,
    pair: &str,
    finding: &Finding,
    links: &mut usize,
) -> CellContent {
    let text = evidence_in_short(&finding.places);
    let Some(first) = finding.places.first() else {
        return CellContent::Empty;
    };
    match book.link_to(pair, first) {
        Some(target) if *links < LINK_LIMIT => {
            *links += 1;
            CellContent::Link { target, text }
        }
        _ => text.into(),
    }
}
