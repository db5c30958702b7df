//! Findings about one claim, told in the words of [`crate::claims`].

use crate::checks::{Check, Finding, Seen};
use crate::claims::{RecomputedClaim, say};
use crate::logbook::model::Claim;
use crate::place::Place;

/// A finding about the claim at a place among the recomputed ones: its cell first, then those of the claims that follow from it, then the
/// trials of which it speaks.
pub(super) fn finding(seen: &Seen, check: &Check, place: usize) -> Option<Finding> {
    let recomputed = seen.claims.get(place)?;
    let claim = typed(seen, recomputed)?;
    let said = say(seen.logbook, seen.claims, place)?;
    let mut places: Vec<Place> = vec![claim.place.clone()];
    places.extend(consequences(seen, recomputed.claim));
    let trials = recomputed.places.iter().filter(|cell| *cell != claim.place);
    places.extend(trials);
    let mut finding = check
        .finding(said.message, said.comment)
        .at(places, claim.value_text.trim());
    super::of_claim(seen, &mut finding, Some(recomputed.claim));
    Some(finding)
}

/// The claim as typed.
pub(super) fn typed<'a>(seen: &Seen<'a>, recomputed: &RecomputedClaim) -> Option<&'a Claim> {
    seen.logbook.claims.get(recomputed.claim)
}

/// The cells of the claims that follow from a wrong one.
pub(in crate::checks) fn consequences(seen: &Seen, root: usize) -> Vec<Place> {
    seen.claims
        .iter()
        .filter(|other| other.consequence_of == Some(root))
        .filter_map(|other| Some(seen.logbook.claims.get(other.claim)?.place.clone()))
        .collect()
}
