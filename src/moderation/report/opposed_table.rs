//! Findings about which two markers decided otherwise: they stand open until somebody above both decides.

use super::Shown;
use crate::checks;
use crate::ledger::markers_differ;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Decisions that differ";

/// About how many findings two markers decided otherwise.
pub fn decided_differently(shown: &Shown<'_>) -> usize {
    opposed_rows(shown).len()
}

/// A row a finding; empty where markers agree.
pub(super) fn opposed_rows(shown: &Shown<'_>) -> Vec<Vec<CellContent>> {
    let mut rows = Vec::new();
    for result in shown.cohort.results() {
        for finding in &result.findings {
            let Some((first, second)) =
                markers_differ(shown.state, Some(&result), &result.pair, finding)
            else {
                continue;
            };
            let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
            rows.push(vec![
                result.pair.to_string().into(),
                title.into(),
                finding.message.clone().into(),
                first.who.clone().into(),
                first.value.clone().into(),
                second.who.clone().into(),
                second.value.clone().into(),
            ]);
        }
    }
    rows
}

/// The sheet; none where markers agree.
pub(super) fn opposed_table(rows: Vec<Vec<CellContent>>) -> Option<ReportTable> {
    (!rows.is_empty()).then(|| {
        ReportTable::plain(
            NAME,
            "Findings about which two markers decided differently",
            "A decision on the sheet Findings of out/moderation.xlsx settles it, or one for all on the sheet Checks. Until then an error holds its pair back, and of other findings the first marker's decision stands.",
            vec![
                Column::shown("of", "Pair", 10.0, Look::Text),
                Column::shown("title", "What", 26.0, Look::Wrapped),
                Column::shown("message", "What was found", 60.0, Look::Wrapped),
                Column::shown("first-marker", "First marker", 18.0, Look::Wrapped),
                Column::shown("first", "decided", 13.0, Look::Text),
                Column::shown("second-marker", "Second marker", 18.0, Look::Wrapped),
                Column::shown("second", "decided", 13.0, Look::Text),
            ],
            rows,
        )
    })
}
