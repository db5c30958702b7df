//! Proposals for whole runs, and what became of them.

use super::Recorded;
use crate::ledger::{Held, Subject};
use crate::moderation::report::Shown;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// Who decided, and on which day: `by Noor, 2026-03-12`.
fn by(shown: &Shown<'_>, held: &Held) -> String {
    let day = shown
        .entries
        .get(held.line)
        .and_then(|entry| entry.time.get(..10));
    match day {
        Some(day) => format!("by {}, {day}", held.who),
        None => format!("by {}", held.who),
    }
}

/// A decision on a proposal: `accepted by Noor, 2026-03-12`.
fn decided(shown: &Shown<'_>, held: &Held) -> String {
    let word = match held.value.as_str() {
        "accept" => "accepted",
        "refuse" => "refused",
        other => other,
    };
    format!("{word} {}", by(shown, held))
}

/// Proposals as they are made now, shifts in force, what was decided earlier, and runs that are marked again.
pub(super) fn proposals_table(of: &Recorded<'_>) -> ReportTable {
    let shown = &of.shown;
    let decision = |id: &str| {
        let held = shown
            .state
            .cohort
            .standing(&Subject::Proposal(id.to_owned()), "");
        held.map_or_else(|| String::from("not decided"), |held| decided(shown, held))
    };
    // Figures are computed anew each time: those on which somebody decided may have been others.
    let why = |id: &str, why: &str| {
        if decision(id) == "not decided" {
            why.to_owned()
        } else {
            format!("By the marks as they are now: {why}")
        }
    };
    let made = &shown.compared.proposals;
    // Adjudications have a sheet of their own.
    let mut rows: Vec<Vec<CellContent>> = made
        .iter()
        .filter(|proposal| !proposal.id.starts_with("adjudicate "))
        .map(|proposal| {
            vec![
                proposal.what.clone().into(),
                why(&proposal.id, &proposal.why).into(),
                decision(&proposal.id).into(),
            ]
        })
        .collect();
    let cohort = &shown.state.cohort;
    for (key, held) in cohort.all() {
        let (what, why) = match &key.subject {
            Subject::Shift(marker, scale) => (
                format!(
                    "In force: {marker}'s marks ({scale}) are shifted by {}",
                    held.value
                ),
                held.why.clone(),
            ),
            Subject::Proposal(id)
                if made.iter().all(|proposal| proposal.id != *id)
                    && !id.starts_with("adjudicate ") =>
            {
                (format!("Decided earlier: {id}"), held.why.clone())
            }
            _ => continue,
        };
        let decision = match &key.subject {
            Subject::Shift(..) => format!("in force, {}", by(shown, held)),
            _ => decided(shown, held),
        };
        rows.push(vec![what.into(), why.into(), decision.into()]);
    }
    for run in &shown.compared.again {
        let waiting: Vec<&str> = run.waiting().map(|pair| pair.pair.as_str()).collect();
        rows.push(vec![
            format!(
                "{}'s marks for {} are marked again",
                run.marker, run.criterion
            )
            .into(),
            format!("accepted {}", run.since.get(..10).unwrap_or_default()).into(),
            if waiting.is_empty() {
                String::from("all pairs done")
            } else {
                format!("waiting: {}", waiting.join(", "))
            }
            .into(),
        ]);
    }
    ReportTable::plain(
        "Proposals",
        "What was proposed for whole runs, and what was decided",
        "Nothing is applied of itself.",
        vec![
            Column::shown("what", "What", 48.0, Look::Wrapped),
            Column::shown("why", "Why", 70.0, Look::Wrapped),
            Column::shown("decided", "Decision", 34.0, Look::Wrapped),
        ],
        rows,
    )
}
