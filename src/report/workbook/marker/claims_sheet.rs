//! The sheet of claims of a marker's own pairs that differ, and empty rows for numbers that the marker reads in a report.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::{Assigned, MarkerBook, note};
use crate::claims::Verdict;
use crate::ledger::{PairState, Subject};
use crate::logbook::model::ClaimOrigin;
use crate::logbook::typed::TypedClaim;
use crate::natural_order;
use crate::report::workbook::moderation::claims_sheet::{TO_FILL_IN, columns, row_of, typed_row};
use crate::report::workbook::sheet::TableSheet;
use crate::report::workbook::written::Written;

/// The sheet's own name.
pub const NAME: &str = "Claims";

/// Empty rows for numbers that a marker reads in a report.
const ROWS_TO_TYPE: usize = 40;

/// Writes the sheet, and notes what its cells to fill in hold.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    written: &mut Written,
) -> Result<(), XlsxError> {
    let columns = columns();
    let hint = "Claims that do not follow from the data. Read another number in the report? Type it in a green row at the end: pair, statistic, measure, phase, value and where.";
    let title = "Claims that differ";
    let mut table = TableSheet::begin(sheet, book.looks, NAME, title, hint, &columns)?;
    for pair in &book.pairs {
        for examined in &pair.result.claims {
            let verdict = examined.recomputed.verdict;
            let differs = matches!(verdict, Verdict::Differs | Verdict::Impossible);
            if differs && examined.claim.origin != ClaimOrigin::Marker && !table.is_full() {
                table.row(row_of(pair.result, examined))?;
            }
        }
        for (id, value, typed) in typed(book, pair) {
            if table.is_full() {
                break;
            }
            let key = Subject::Claim(id.clone()).to_string();
            note(&mut written.values, NAME, &pair.result.pair, key, &value);
            table.row_to_fill_in(&TO_FILL_IN, typed_row(pair.result, &id, typed))?;
        }
    }
    for _ in 0..ROWS_TO_TYPE {
        if table.is_full() {
            break;
        }
        table.row_to_fill_in(&TO_FILL_IN, [])?;
    }
    table.finish(2)?;
    Ok(())
}

/// What was typed in this marker's role for a pair, by the marker or by whoever took the workbook back under a name of their own, but not by
/// another marker: id, value on the ledger, and the claim.
fn typed(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> Vec<(String, String, TypedClaim)> {
    let slot = pair.marking_as.slot();
    let mut typed: Vec<(String, String, TypedClaim)> = book
        .pair_state(pair)
        .into_iter()
        .flat_map(PairState::all)
        .filter(|(key, held)| key.slot == slot && !book.is_another_marker(&held.who))
        .filter_map(|(key, held)| match &key.subject {
            Subject::Claim(id) => {
                let claim = TypedClaim::from_joined(&held.value)?;
                Some((id.clone(), held.value.clone(), claim))
            }
            _ => None,
        })
        .collect();
    typed.sort_by(|a, b| natural_order::compare(&a.0, &b.0));
    typed
}
