//! Do the claims follow from the data? Claims are recomputed in [`crate::claims`]; here what they come to becomes findings.

pub(super) mod claimed;
pub mod differs;
pub mod impossible;
mod improvement;
pub mod improvement_reversed;
pub mod improvement_within_noise;
pub mod inconsistent;
pub mod learning_without_retention;
pub mod not_recomputable;
pub mod spurious_precision;
pub mod unsuited_test;

use super::{Finding, Seen};
use crate::logbook::model::{Better, Measure};

/// Ties a finding to a claim: what was claimed, and what the trials give.
pub(super) fn of_claim(seen: &Seen, finding: &mut Finding, claim: Option<usize>) {
    let typed = claim.and_then(|index| seen.logbook.claims.get(index));
    finding.claim = claim;
    finding.claimed = typed.map(|claim| claim.value_text.to_string());
    finding.recomputed = seen
        .claims
        .iter()
        .find(|recomputed| Some(recomputed.claim) == claim)
        .and_then(|recomputed| recomputed.value.as_ref().ok().copied());
}

/// Which way is better, in words.
fn direction(measure: &Measure) -> &'static str {
    match measure.better {
        Better::Higher => "higher is better",
        Better::Lower => "lower is better",
        Better::Target => "nearer to the target is better",
    }
}
