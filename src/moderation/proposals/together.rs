//! Which proposals repair the same fault: accepted together, they would repair it twice, so each names the others.
//!
//! A fault here is that two markers differ. It shows only in pairs that both of them marked: of markers who share none, or who agree in those
//! that they share, nothing is said, however alike what is proposed of each.

use std::fmt::Write as _;

use super::{Grounds, Proposal};
use crate::moderation::Scale;
use crate::report::workbook::marker::MarkingAs;
use crate::wording::listed;

/// A proposal with the marker whose marks it is about, and for a run its criterion.
pub(super) struct Of {
    pub marker: String,
    pub criterion: Option<String>,
    pub proposal: Proposal,
}

/// Shifts and runs, each saying which of the others repairs the same fault.
pub(super) fn told_together(grounds: &Grounds<'_>, shifts: &[Of], runs: &[Of]) -> Vec<Proposal> {
    let mut all = Vec::with_capacity(shifts.len() + runs.len());
    for shift in shifts {
        all.push(with(shift, &beside_shift(grounds, shift, shifts, runs)));
    }
    for run in runs {
        all.push(with(run, &beside_run(grounds, run, shifts, runs)));
    }
    all
}

fn with(of: &Of, says: &str) -> Proposal {
    let mut proposal = of.proposal.clone();
    proposal.changes.push_str(says);
    proposal
}

fn titles(of: &[&Of]) -> String {
    let titles: Vec<String> = of
        .iter()
        .map(|of| format!("“{}”", of.proposal.what))
        .collect();
    listed(&titles)
}

fn beside_shift(grounds: &Grounds<'_>, shift: &Of, shifts: &[Of], runs: &[Of]) -> String {
    let mut says = String::new();
    // Severities are of one group of markers, whom pairs link at least through others, and add up to nothing: shifts go together.
    let others: Vec<&Of> = shifts
        .iter()
        .filter(|other| other.marker != shift.marker)
        .collect();
    if !others.is_empty() {
        let _ = write!(
            says,
            " It belongs with {}: together they bring the markers to one standard, one alone goes part of the way.",
            titles(&others)
        );
    }
    let again: Vec<&Of> = runs
        .iter()
        .filter(|run| same_fault(grounds, run, &shift.marker))
        .collect();
    if !again.is_empty() {
        let _ = write!(
            says,
            " It repairs the same fault as {}: where that is accepted, compare afresh before shifting.",
            titles(&again)
        );
    }
    says
}

fn beside_run(grounds: &Grounds<'_>, run: &Of, shifts: &[Of], runs: &[Of]) -> String {
    let mut says = String::new();
    let same: Vec<&Of> = runs
        .iter()
        .filter(|other| other.criterion == run.criterion && other.marker != run.marker)
        .filter(|other| same_fault(grounds, run, &other.marker))
        .collect();
    if !same.is_empty() {
        let _ = write!(
            says,
            " It repairs the same fault as {}: the marks tell that these markers differ, not which of them is out. Agree on a standard, and accept the one that departs from it.",
            titles(&same)
        );
    }
    let shifts: Vec<&Of> = shifts
        .iter()
        .filter(|shift| same_fault(grounds, run, &shift.marker))
        .collect();
    if !shifts.is_empty() {
        let _ = write!(
            says,
            " {} would come on top of the new marks.",
            titles(&shifts)
        );
    }
    says
}

/// Whether a marker has part in what having a run marked again would repair: the run is the marker's own, or most marks for its criterion in
/// pairs that both marked lie too far apart.
fn same_fault(grounds: &Grounds<'_>, run: &Of, marker: &str) -> bool {
    run.marker == marker
        || run
            .criterion
            .as_deref()
            .is_some_and(|criterion| differ(grounds, criterion, &run.marker, marker))
}

/// Whether most marks for a criterion that two markers gave to the same pairs, as first and second in either order, lie too far apart.
fn differ(grounds: &Grounds<'_>, criterion: &str, one: &str, other: &str) -> bool {
    let gathered = grounds.gathered;
    let Some((_, out_of)) = gathered.criteria.iter().find(|(id, _)| id == criterion) else {
        return false;
    };
    let most = grounds.most_apart(*out_of);
    let scale = Scale::Criterion(criterion.to_owned());
    let differences: Vec<f64> = gathered
        .twice(&scale)
        .iter()
        .filter(|twice| {
            let by = |marker: &str| {
                let mut markings = twice.pair.markings.iter();
                markings.any(|m| m.marker == marker && m.marking_as != MarkingAs::Common)
            };
            by(one) && by(other)
        })
        .map(|twice| twice.difference().abs())
        .collect();
    let beyond = differences.iter().filter(|d| **d > most + 1e-9).count();
    2 * beyond > differences.len()
}
