//! The criteria on a pair's page, and which of their lines the pair had best change first.

use super::by_check::ToldOf;
use super::candidate::Candidate;
use super::lines::Lines;
use super::told::Decided;
use crate::ledger::{PairState, Role, Subject};
use crate::marking::settle::SettledPair;
use crate::report::page::feedback::CriterionFeedback;
use crate::rubric::{Criterion, Rubric};

/// The criteria, what could be changed first, and the strength worth most.
pub struct Criteria {
    /// In the rubric's order.
    pub all: Vec<CriterionFeedback>,
    /// What could be changed first.
    pub candidates: Vec<Candidate>,
    /// The criterion and the met point worth most, where there is one.
    pub strength: Option<(usize, usize)>,
}

/// Collects the criteria; a finding that says what a point says goes with that point, and is taken from `told`.
pub fn criteria(
    pair: &SettledPair,
    rubric: &Rubric,
    decided: Option<&Decided<'_>>,
    state: Option<&PairState>,
    told: &mut Vec<ToldOf>,
) -> Criteria {
    let mut collected = Criteria {
        all: Vec::new(),
        candidates: Vec::new(),
        strength: None,
    };
    let mut best = 0.0;
    for (index, criterion) in rubric.criteria.iter().enumerate() {
        let mark = mark_of(pair, criterion);
        let lost = mark.map(|(mark, _)| (criterion.marks - mark).max(0.0));
        let mut lines = Lines::of(index, lost);
        if !is_in_the_markers_words(state, criterion) {
            for outcome in decided.into_iter().flat_map(|decided| {
                decided
                    .result
                    .suggestions
                    .iter()
                    .filter(|suggestion| suggestion.criterion == criterion.id)
                    .flat_map(|suggestion| &suggestion.evidence)
            }) {
                let evidence = criterion.evidence.iter().find(|one| one.id == outcome.id);
                lines.evidence(outcome, evidence, decided, told);
            }
        }
        for judged in &criterion.judged {
            lines.judged(judged, criterion, state);
        }
        for (met, (_, points)) in lines.met.iter().enumerate() {
            if *points > best {
                best = *points;
                collected.strength = Some((index, met));
            }
        }
        if let Some((mark, _)) = mark {
            lines.unexplained(criterion, mark);
        }
        collected.candidates.append(&mut lines.candidates);
        collected.all.push(lines.criterion(criterion, mark, state));
    }
    collected
}

/// The pair's mark of a criterion, and what an accepted shift put into it; none where it is each student's own.
fn mark_of(pair: &SettledPair, criterion: &Criterion) -> Option<(f64, f64)> {
    let settled = pair.criteria.iter().find(|one| one.id == criterion.id)?;
    match settled.marks.as_slice() {
        [only] if only.student.is_none() => Some((only.mark()?, only.shift)),
        _ => None,
    }
}

/// A marker's comment begins as the evidence's own sentences: what the marker made of them stands instead of them.
fn is_in_the_markers_words(state: Option<&PairState>, criterion: &Criterion) -> bool {
    let subject = Subject::Comment(criterion.id.clone());
    state
        .and_then(|state| state.standing(&subject, ""))
        .is_some_and(|held| {
            matches!(held.role, Role::Marker | Role::SecondMarker) && !held.value.is_empty()
        })
}

/// What a person wrote about a criterion, or overall.
pub fn comment(state: Option<&PairState>, of: &str) -> String {
    state
        .and_then(|state| state.standing(&Subject::Comment(of.to_owned()), ""))
        .map(|held| held.value.clone())
        .unwrap_or_default()
}
