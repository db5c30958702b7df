//! What the proposed shifts would make of each total.

use super::Shown;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// Every pair under every proposed shift; no sheet where none is proposed.
pub(super) fn shifts_table(shown: &Shown<'_>) -> Option<ReportTable> {
    let rows: Vec<Vec<CellContent>> = shown
        .compared
        .proposals
        .iter()
        .flat_map(|proposal| &proposal.shifted)
        .map(|shifted| {
            let number = |text: &str| CellContent::from(text.parse::<f64>().ok());
            vec![
                shifted.pair.clone().into(),
                shifted.marker.clone().into(),
                number(&shifted.before),
                number(&shifted.after),
            ]
        })
        .collect();
    (!rows.is_empty()).then(|| ReportTable::plain("Shifts", "What the proposed shifts would make of each total", "Nothing of this is in force unless the proposal is accepted. No total leaves its range.", vec![
            Column::shown("of", "Pair", 10.0, Look::Text),
            Column::shown("marker", "Marker", 20.0, Look::Text),
            Column::shown("before", "Total as marked", 14.0, Look::Decimal),
            Column::shown("after", "if accepted", 14.0, Look::Decimal),
        ], rows))
}
