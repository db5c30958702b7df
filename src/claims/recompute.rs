//! Recomputes every claim of a logbook.

use super::computation::{Computation, Sides};
use super::definition;
use super::evaluate::Evaluator;
use super::material::Material;
use super::verdict::{RecomputedClaim, Verdict, agrees};
use crate::facts::Record;
use crate::logbook::Logbook;
use crate::logbook::model::Claim;
use crate::place::Place;

/// What a course settles about claims.
#[derive(Debug, Clone, Default)]
pub struct ClaimSettings {
    /// Slips that the course's brief allows, by code: a claim that one of them gives agrees.
    pub accept: Vec<String>,
}

/// Every claim of the logbook, recomputed, in the order of the claims.
pub fn recompute(
    logbook: &Logbook,
    record: &Record,
    settings: &ClaimSettings,
) -> Vec<RecomputedClaim> {
    let material = Material::new(logbook, record);
    let mut evaluator = Evaluator::new(&material);
    let _ = settings;
    logbook
        .claims
        .iter()
        .enumerate()
        .map(|(index, claim)| plainly(index, claim, &mut evaluator))
        .collect()
}

/// One claim against its definition.
fn plainly(index: usize, claim: &Claim, evaluator: &mut Evaluator<'_>) -> RecomputedClaim {
    let definition = definition::of_claim(claim, evaluator.material());
    let value = definition.and_then(|computation| evaluator.value(&computation));
    let verdict = match (&value, &definition) {
        (Ok(value), Ok(computation)) => match &claim.value {
            None => Verdict::NotRecomputable,
            Some(_) if follows(claim, computation, *value, evaluator) => Verdict::Agrees,
            Some(_) => Verdict::Differs,
        },
        _ => Verdict::NotRecomputable,
    };
    let (places, scores) = match &definition {
        Ok(computation) => (
            places(claim, computation, evaluator),
            evaluator.count(computation),
        ),
        Err(_) => (vec![claim.place.clone()], 0),
    };
    RecomputedClaim {
        claim: index,
        value,
        verdict,
        explanations: Vec::new(),
        confidence: None,
        consequence_of: None,
        places,
        scores,
    }
}

/// Whether the claim is what the computation gives.
fn follows(
    claim: &Claim,
    computation: &Computation,
    value: f64,
    evaluator: &mut Evaluator<'_>,
) -> bool {
    let (Some(stated), Some(statistic)) = (&claim.value, claim.statistic) else {
        return false;
    };
    let other = evaluator.other_side(computation, value);
    agrees(stated, statistic, value, other)
        || evaluator
            .tied_modes(computation)
            .iter()
            .any(|mode| stated.agrees(*mode))
}

/// The claim's cell, then the cells of the trials that it speaks of: the earlier block's first.
fn places(claim: &Claim, computation: &Computation, evaluator: &mut Evaluator<'_>) -> Vec<Place> {
    let mut places = vec![claim.place.clone()];
    let sides = match computation.uses() {
        Sides::One => vec![computation.later],
        Sides::Two => vec![computation.earlier, computation.later],
        Sides::Three => vec![computation.earlier, computation.between, computation.later],
    };
    for side in sides {
        places.extend(cells(evaluator, side.trials));
    }
    places
}

/// The cells that a selection's numbers come from.
pub(super) fn cells(
    evaluator: &mut Evaluator<'_>,
    selection: super::computation::Selection,
) -> Vec<Place> {
    let material = evaluator.material();
    let technique = selection.measure == material.technique_index();
    let rows: Vec<usize> = evaluator
        .numbers(selection)
        .from
        .iter()
        .filter_map(|origin| origin.row)
        .collect();
    rows.into_iter()
        .filter_map(|row| {
            if technique {
                Some(material.logbook.technique.get(row)?.place.clone())
            } else {
                Some(material.logbook.trials.get(row)?.place.clone())
            }
        })
        .collect()
}
