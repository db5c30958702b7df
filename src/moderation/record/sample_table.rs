//! The second-marking sample, and why each pair was drawn.

use super::Recorded;
use crate::ledger::{Held, PairState, Subject};
use crate::moderation::{MarkedTwice, Scale};
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::Column;
use crate::report::workbook::style::Look;

fn standing<'a>(state: Option<&'a PairState>, subject: &Subject) -> Option<&'a Held> {
    state.and_then(|state| state.standing(subject, ""))
}

/// A row a pair that is marked a second time.
pub(super) fn sample_table(of: &Recorded<'_>) -> ReportTable {
    let twice = of.shown.compared.gathered.twice(&Scale::Total);
    let rows = of.settled.iter().filter_map(|settled| {
        let state = of.shown.state.pair(&settled.pair);
        let why = standing(state, &Subject::Sample);
        let second = standing(state, &Subject::SecondMarker);
        if why.is_none() && second.is_none() {
            return None;
        }
        let marks = twice.iter().find(|one| one.pair.pair == *settled.pair);
        Some(vec![
            (*settled.pair).into(),
            why.map(|held| held.value.clone()).into(),
            standing(state, &Subject::FirstMarker)
                .map(|held| held.value.clone())
                .into(),
            second.map(|held| held.value.clone()).into(),
            marks.map(|one| one.first).into(),
            marks.map(|one| one.second).into(),
            marks.map(MarkedTwice::difference).into(),
        ])
    });
    ReportTable::plain(
        "Sample",
        "Pairs marked a second time, and why each was drawn",
        "Totals as entered, before any shift; empty where a marker has not finished.",
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("why", "Why it was drawn", 44.0, Look::Wrapped),
            Column::shown("first-marker", "First marker", 20.0, Look::Text),
            Column::shown("second-marker", "Second marker", 20.0, Look::Text),
            Column::shown("first", "First total", 11.0, Look::Decimal),
            Column::shown("second", "Second total", 11.0, Look::Decimal),
            Column::shown("difference", "First less second", 11.0, Look::Decimal),
        ],
        rows.collect(),
    )
}
