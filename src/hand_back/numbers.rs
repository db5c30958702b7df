//! The pair's numbers beside what its trials give, by one count throughout.

use super::told::{Decided, is_wrong};
use crate::claims::{Verdict, in_table};
use crate::examination::{ExaminedClaim, PairResult};
use crate::logbook::model::{ClaimMeasure, ClaimOrigin};
use crate::report::page::feedback::{NumberLine, Numbers};
use crate::report::wording::claim_in_words;
use crate::wording::listed;

/// Numbers that the page lists; the rest is counted.
const LISTED: usize = 8;
/// Numbers that a sentence names; the rest is counted.
const NAMED: usize = 3;

/// The stated numbers: those that follow, and those of which the pair is told that they don't.
pub fn numbers(decided: &Decided<'_>) -> Numbers {
    let result = decided.result;
    let agree = result.claims_with(Verdict::Agrees);
    let mut told = decided.wrong_claims();
    // What another convention gives comes after what is to be put right.
    told.sort_by_key(|(_, claim)| is_convention(claim, result));
    let wrong = result.claims.iter().filter(|claim| is_wrong(claim)).count();
    Numbers {
        agree,
        // What somebody dismissed, or nobody looked at, is not counted against the pair.
        recomputed: agree + told.len(),
        set_aside: wrong > told.len(),
        conventions: told
            .iter()
            .filter(|(_, claim)| is_convention(claim, result))
            .count(),
        not_recomputable: result.claims_with(Verdict::NotRecomputable),
        differ: told
            .iter()
            .take(LISTED)
            .map(|(_, claim)| number_line(claim, result))
            .collect(),
        more: told.len().saturating_sub(LISTED),
    }
}

/// What to do about the numbers that are to be put right; none where there are none.
pub fn next(decided: &Decided<'_>) -> Option<String> {
    let result = decided.result;
    let told = decided.wrong_claims();
    let wrong: Vec<String> = told
        .iter()
        .filter(|(_, claim)| !is_convention(claim, result))
        .map(|(_, claim)| format!("the {}", named(claim, result)))
        .collect();
    if wrong.is_empty() {
        return None;
    }
    let of = told.len() + result.claims_with(Verdict::Agrees);
    let more = wrong.len().saturating_sub(NAMED);
    let names = match wrong.get(..NAMED) {
        Some(first) if more > 0 => format!("{} and {more} more", first.join(", ")),
        _ => listed(&wrong),
    };
    let (verb, them) = if wrong.len() == 1 {
        ("is", "it")
    } else {
        ("are", "them")
    };
    Some(format!(
        "{} of your {of} recomputed numbers {verb} not what your trials give: {names}. Work {them} out again from the trials, and where a formula \
         gave one, check which cells it takes in.",
        wrong.len()
    ))
}

/// Whether a number, or the one from which it follows, is what another convention or way of rounding gives.
fn is_convention(examined: &ExaminedClaim, result: &PairResult) -> bool {
    let root = root(examined, result).unwrap_or(examined);
    examined.recomputed.verdict == Verdict::Differs && root.recomputed.is_convention()
}

fn root<'a>(examined: &ExaminedClaim, result: &'a PairResult) -> Option<&'a ExaminedClaim> {
    result.claims.get(examined.recomputed.consequence_of?)
}

/// What a number states, with its measure where there are several.
fn named(examined: &ExaminedClaim, result: &PairResult) -> String {
    let words = claim_in_words(&examined.claim);
    match examined.claim.measure {
        ClaimMeasure::Known(index) if result.measures.len() > 1 => {
            match result.measures.get(index) {
                Some(measure) => format!("{words} ({})", measure.name),
                None => words,
            }
        }
        ClaimMeasure::Technique => format!("{words} (technique)"),
        _ => words,
    }
}

fn number_line(examined: &ExaminedClaim, result: &PairResult) -> NumberLine {
    let claim = &examined.claim;
    let explained = match root(examined, result) {
        Some(root) => format!("It follows from the {}.", named(root, result)),
        None => examined
            .recomputed
            .explanations
            .first()
            .map(|explanation| {
                let name_it = if explanation.is_convention() {
                    " Say in the report that you did so."
                } else {
                    ""
                };
                format!("It comes out when {}.{name_it}", explanation.when)
            })
            .unwrap_or_default(),
    };
    let place = match (&claim.location, claim.origin) {
        (Some(location), _) => location.to_string(),
        (None, ClaimOrigin::Marker) => String::new(),
        (None, _) => claim.place.to_string(),
    };
    NumberLine {
        what: named(examined, result),
        place,
        claimed: claim.value_text.to_string(),
        recomputed: examined
            .recomputed
            .value
            .as_ref()
            .map(|value| in_table(claim.value.as_ref(), *value))
            .unwrap_or_default(),
        explained,
    }
}
