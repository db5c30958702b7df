//! The sheet of findings of a marker's own pairs, with the cells for a decision and a note.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::{MarkerBook, MarkingAs, note};
use crate::checks;
use crate::ledger::Subject;
use crate::place::evidence;
use crate::report::workbook::moderation::findings_sheet::columns as moderation_columns;
use crate::report::workbook::sheet::{CellContent, Column, TableSheet};
use crate::report::workbook::style::Look;
use crate::report::workbook::written::Written;

/// The sheet's own name.
pub const NAME: &str = "Findings";

/// The columns: those of the instructor's sheet. Places are no links, as the workbook travels without the hand-ins.
pub fn columns() -> Vec<Column> {
    let mut columns = moderation_columns();
    for column in &mut columns {
        if column.look == Look::Link {
            column.look = Look::Wrapped;
        }
    }
    columns
}

/// Writes the sheet, and notes what its cells to fill in hold. Findings of pairs that everybody marks are for their first marker to decide.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    written: &mut Written,
) -> Result<(), XlsxError> {
    let columns = columns();
    let hint = "A finding is a place to look, not an accusation. Uphold what stands, dismiss what doesn't: dismissed findings never reach the pair.";
    let mut table = TableSheet::begin(sheet, book.looks, NAME, "Findings", hint, &columns)?;
    for pair in &book.pairs {
        if pair.marking_as == MarkingAs::Common {
            continue;
        }
        let result = pair.result;
        for finding in &result.findings {
            if table.is_full() {
                break;
            }
            let id = finding.id(&result.pair);
            let mut held = |subject: &Subject, key: &str| -> CellContent {
                let Some(held) = book.held(pair, subject, None) else {
                    return CellContent::Empty;
                };
                note(&mut written.values, NAME, &id, key.to_owned(), &held.value);
                held.value.clone().into()
            };
            let decision = held(&Subject::Decision(id.clone()), "decision");
            let noted = held(&Subject::Note(id.clone()), "note");
            let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
            table.row([
                id.into(),
                (&*result.pair).into(),
                finding.weight.name().into(),
                title.into(),
                finding.message.clone().into(),
                evidence(&finding.places).into(),
                finding.claimed.clone().into(),
                finding.recomputed.into(),
                finding.comment.clone().into(),
                decision,
                noted,
                finding.check.into(),
            ])?;
        }
    }
    table.finish(2)?;
    Ok(())
}
