//! The theory that a pair names, as the checks of this family speak of it.

use crate::checks::Seen;
use crate::checks::seen::TableName;
use crate::judgement::{Ladder, PredictionReading, TheoryVerdict};
use crate::place::Place;
use crate::wording::{listed, shortened};

/// The cells of the theory and the reason for it, else where they should be.
pub(super) fn places(seen: &Seen) -> Vec<Place> {
    let about = &seen.logbook.about;
    let mut places: Vec<Place> = [&about.theory, &about.theory_reason]
        .into_iter()
        .flatten()
        .map(|cell| cell.place.clone())
        .collect();
    if places.is_empty() {
        places.push(seen.where_missing(TableName::About));
    }
    places
}

/// The theory as typed.
pub(super) fn text<'a>(seen: &Seen<'a>) -> &'a str {
    let theory = &seen.logbook.about.theory;
    theory.as_ref().map_or("", |typed| typed.value.as_ref())
}

/// The titles of the theories that were recognised, as a sentence lists them.
pub(super) fn titles(verdict: &TheoryVerdict) -> String {
    let titles: Vec<&str> = verdict
        .theories
        .iter()
        .map(|theory| theory.title.as_str())
        .collect();
    listed(&titles)
}

/// Every prediction of the theories named.
/// The theory in the pair's own words, and as what it was read where that is something else.
pub(super) fn as_named(seen: &Seen, verdict: &TheoryVerdict) -> String {
    let (own, read) = (text(seen).trim(), titles(verdict));
    if own.is_empty() || own.to_lowercase().contains(&read.to_lowercase()) {
        read
    } else {
        format!("“{}” (here read as: {read})", shortened(own))
    }
}

pub(super) fn predictions(verdict: &TheoryVerdict) -> impl Iterator<Item = &PredictionReading> {
    verdict
        .theories
        .iter()
        .flat_map(|theory| &theory.predictions)
}

/// Whether the predictions were looked at; where not, why.
pub(super) fn why_not_judged(ladder: Ladder) -> Option<&'static str> {
    match ladder {
        Ladder::NotNamed => Some("no theory is named"),
        Ladder::Unknown => Some("the theory named is not among those whose predictions are listed"),
        _ => None,
    }
}

/// A sentence with its point.
pub(super) fn sentence(text: &str) -> String {
    format!("{}.", text.trim().trim_end_matches('.'))
}
