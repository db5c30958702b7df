//! What the checks of marks found.

use super::Shown;
use crate::place::evidence_in_short;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

pub(super) fn findings_table(shown: &Shown<'_>) -> ReportTable {
    let found = shown.compared.found.found.iter().map(|placed| {
        let finding = &placed.finding;
        let check = crate::checks::find(finding.check);
        vec![
            placed.pair.clone().into(),
            finding.weight.name().into(),
            check.map_or(finding.check, |check| check.title).into(),
            finding.message.clone().into(),
            evidence_in_short(&finding.places).into(),
            finding.comment.clone().into(),
            finding.check.into(),
        ]
    });
    let not_checked = shown.compared.found.not_checked.iter().map(|not| {
        let check = crate::checks::find(not.check);
        vec![
            CellContent::Empty,
            "not checked".into(),
            check.map_or(not.check, |check| check.title).into(),
            not.why.clone().into(),
            CellContent::Empty,
            CellContent::Empty,
            not.check.into(),
        ]
    });
    ReportTable::plain(
        "Checks of marks",
        "What the checks of marks found",
        "A finding is a place to look.",
        vec![
            Column::shown("of", "Pair", 10.0, Look::Text),
            Column::shown("weight", "Weight", 11.0, Look::Text),
            Column::shown("title", "What", 26.0, Look::Wrapped),
            Column::shown("message", "What was found", 70.0, Look::Wrapped),
            Column::shown("where", "Where", 30.0, Look::Wrapped),
            Column::shown("remedy", "What to do", 50.0, Look::Wrapped),
            Column::shown("id", "Check", 24.0, Look::Text),
        ],
        found.chain(not_checked).collect(),
    )
}
