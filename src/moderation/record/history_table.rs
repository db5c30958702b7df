//! A digest of each pair's history on the ledger.

use super::Recorded;
use crate::ledger::{Entry, Subject};
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// A row a pair.
pub(super) fn history_table(of: &Recorded<'_>) -> ReportTable {
    let rows = of.settled.iter().map(|settled| {
        let state = of.shown.state.pair(&settled.pair);
        let lines = state.map_or(&[][..], |state| state.lines.as_slice());
        let entries: Vec<_> = lines
            .iter()
            .filter_map(|line| of.shown.entries.get(*line))
            .collect();
        let marks: Vec<_> = entries
            .iter()
            .filter(|entry| matches!(Subject::from(entry.what.as_str()), Subject::Mark(_)))
            .collect();
        let day = |of: Option<&&&Entry>| {
            let text = of.and_then(|entry| entry.time.get(..10)).map(str::to_owned);
            CellContent::from(text)
        };
        let mut people: Vec<&str> = marks.iter().map(|entry| entry.who.as_str()).collect();
        people.sort_unstable();
        people.dedup();
        let hand_in = of.shown.cohort.pair(&settled.pair);
        let digest = hand_in
            .and_then(|result| result.hand_in)
            .map(|hand_in| hand_in.digest);
        let under = marks.last().filter(|entry| !entry.hand_in.is_empty());
        let moved = under
            .zip(digest.as_ref())
            .is_some_and(|(entry, now)| entry.hand_in != *now);
        vec![
            (*settled.pair).into(),
            entries.len().into(),
            marks
                .iter()
                .filter(|entry| entry.old.is_empty())
                .count()
                .into(),
            marks
                .iter()
                .filter(|entry| !entry.old.is_empty())
                .count()
                .into(),
            day(marks.first()),
            day(marks.last()),
            people.join(", ").into(),
            digest.into(),
            if moved {
                "the hand-in changed after the last mark"
            } else {
                ""
            }
            .into(),
        ]
    });
    ReportTable::plain(
        "History",
        "A digest of each pair's history",
        "In full: evenhand pair DIR P07 --history, or the ledger itself, which any spreadsheet opens.",
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("lines", "Lines on the ledger", 11.0, Look::Whole),
            Column::shown("entered", "Marks entered", 10.0, Look::Whole),
            Column::shown("changed", "Marks changed", 10.0, Look::Whole),
            Column::shown("begun", "First mark", 13.0, Look::Text),
            Column::shown("last", "Last mark", 13.0, Look::Text),
            Column::shown("people", "Who marked", 40.0, Look::Wrapped),
            Column::shown("hand-in", "Digest of the hand-in", 24.0, Look::Text),
            Column::shown("moved", "To look at", 36.0, Look::Wrapped),
        ],
        rows.collect(),
    )
}
