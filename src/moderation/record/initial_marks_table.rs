//! Marks as they were entered first and second, and what was decided above them.

use super::Recorded;
use crate::ledger::{Held, PairState, Slot, Subject};
use crate::marking::settle::CriterionMark;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;
use crate::rubric::{Criterion, Each};

/// Every mark as markers entered it, and what was decided above it; `decided` alone: where somebody decided, or has to.
pub(super) fn initial_marks_table(
    of: &Recorded<'_>,
    name: &'static str,
    decided: bool,
) -> ReportTable {
    let mut rows: Vec<Vec<CellContent>> = Vec::new();
    for settled in of.settled {
        let Some(state) = of.shown.state.pair(&settled.pair) else {
            continue;
        };
        for (criterion, settled_criterion) in of.shown.rubric.criteria.iter().zip(&settled.criteria)
        {
            for (place, mark) in (1..).zip(&settled_criterion.marks) {
                let row = initial_row(of, state, &settled.pair, criterion, place, mark, decided);
                rows.extend(row);
            }
        }
    }
    let (title, hint) = if decided {
        (
            "What the moderator decided above markers' marks, and what is still open",
            "Adjudications where every pair is marked twice, and any other mark that somebody decided above a marker's.",
        )
    } else {
        (
            "Every mark as it was entered first, second, and decided",
            "Before any shift of a marker's marks.",
        )
    };
    ReportTable::plain(
        name,
        title,
        hint,
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("criterion", "Criterion", 32.0, Look::Wrapped),
            Column::shown("first-marker", "First marker", 18.0, Look::Text),
            Column::shown("first", "First", 9.0, Look::Decimal),
            Column::shown("second-marker", "Second marker", 18.0, Look::Text),
            Column::shown("second", "Second", 9.0, Look::Decimal),
            Column::shown("difference", "First less second", 10.0, Look::Decimal),
            Column::shown("decided", "Decided", 9.0, Look::Decimal),
            Column::shown("by", "By whom and when", 30.0, Look::Wrapped),
            Column::shown("why", "Why", 40.0, Look::Wrapped),
            Column::shown("stands", "Mark that stands", 10.0, Look::Decimal),
        ],
        rows,
    )
}

fn initial_row(
    of: &Recorded<'_>,
    state: &PairState,
    pair: &str,
    criterion: &Criterion,
    place: usize,
    mark: &CriterionMark,
    only_decided: bool,
) -> Option<Vec<CellContent>> {
    let student = mark.student.as_deref().unwrap_or("");
    let subject = Subject::Mark(criterion.id.clone());
    let held = |slot| state.in_slot(&subject, student, slot);
    let number = |held: Option<&Held>| held.and_then(|held| held.value.parse::<f64>().ok());
    let (first, second) = (held(Slot::First), held(Slot::Second));
    let decided = held(Slot::Deciding);
    let difference = number(first).zip(number(second)).map(|(a, b)| a - b);
    let is_open = mark.raw.is_none() && difference.is_some();
    let above = decided.is_some() && (first.is_some() || second.is_some());
    if only_decided && !above && !is_open {
        return None;
    }
    let title = match criterion.each {
        Each::Pair => criterion.title.clone(),
        Each::Student => format!("{}, student {place}", criterion.title),
    };
    let who = |held: Option<&Held>| CellContent::from(held.map(|held| held.who.clone()));
    let by = decided.map(|held| {
        let entry = of.shown.entries.get(held.line);
        let day = entry
            .and_then(|entry| entry.time.get(..10))
            .unwrap_or_default();
        format!("{} ({}), {day}", held.who, held.role)
    });
    let by = by.or_else(|| is_open.then(|| String::from("open: waits for the moderator")));
    Some(vec![
        pair.into(),
        title.into(),
        who(first),
        number(first).into(),
        who(second),
        number(second).into(),
        difference.into(),
        number(decided).into(),
        by.into(),
        decided.map(|held| held.why.clone()).into(),
        mark.raw.into(),
    ])
}
