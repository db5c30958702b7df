//! The checklist of technique: ratings of elements, by one or more observers.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::catalogue::Entry;
use super::two_ratings::TwoRatings;
use super::value::Facts;
use super::writer::Writer;
use crate::logbook::model::Logbook;
use crate::number::close;
use crate::phase::{Phase, PhaseKind};
use crate::stats::summary;

const TABLE: &str = "the logbook's Technique table";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "pre",
        "rating",
        "Mean rating over the elements at the pre-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "mid",
        "rating",
        "Mean rating over the elements at the mid-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "post",
        "rating",
        "Mean rating over the elements at the post-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "retention",
        "rating",
        "Mean rating over the elements at the retention test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "transfer",
        "rating",
        "Mean rating over the elements at the transfer test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "elements",
        "elements",
        "Different elements that were rated.",
        TABLE,
    ),
    Entry::number(
        "compared",
        "elements",
        "Elements rated at both pre-test and post-test.",
        TABLE,
    ),
    Entry::number(
        "improved",
        "elements",
        "Elements whose rating rose from pre-test to post-test.",
        TABLE,
    ),
    Entry::number("observers", "observers", "Observers who are named.", TABLE),
    Entry::number(
        "observed_twice",
        "ratings",
        "Elements of a phase that the first two observers both rated, over all phases.",
        TABLE,
    ),
    Entry::number(
        "agreement",
        "%",
        "Share of these, 0 to 100, to which both observers gave the same rating.",
        "common practice",
    ),
    Entry::number(
        "kappa",
        "",
        "Cohen's kappa of the first two observers over the same ratings.",
        "Cohen 1960",
    ),
    Entry::number(
        "weighted_kappa",
        "",
        "Kappa weighted by the squared difference of the two ratings, over the same ratings.",
        "Cohen 1968",
    ),
];

/// One element at one phase, with everybody's ratings in order: observer, rating, row.
struct Observed {
    phase: Phase,
    element: String,
    ratings: Vec<(Option<Arc<str>>, f64, usize)>,
}

impl Observed {
    /// The mean over observers, each observer's own ratings averaged first.
    fn mean(&self) -> Option<f64> {
        let mut places: HashMap<&Option<Arc<str>>, usize> = HashMap::new();
        let mut observers: Vec<Vec<f64>> = Vec::new();
        for (observer, rating, _) in &self.ratings {
            let place = *places.entry(observer).or_insert_with(|| {
                observers.push(Vec::new());
                observers.len() - 1
            });
            if let Some(ratings) = observers.get_mut(place) {
                ratings.push(*rating);
            }
        }
        let means: Vec<f64> = observers
            .iter()
            .filter_map(|ratings| summary::mean(ratings).ok())
            .collect();
        summary::mean(&means).ok()
    }
}

/// Records the facts of the technique checklist.
pub(super) fn record(facts: &mut Facts, logbook: &Logbook) {
    let Some(mut writer) = Writer::new(facts, None, "technique") else {
        return;
    };
    let observed = observed(logbook);
    if observed.is_empty() {
        writer.nothing_else("no rating of technique is recorded");
        return;
    }
    let means = |phase: Phase| {
        observed
            .iter()
            .filter(move |of| of.phase == phase)
            .filter_map(|of| Some((of.element.as_str(), of.mean()?)))
    };
    let tests = [
        PhaseKind::Pre,
        PhaseKind::Mid,
        PhaseKind::Post,
        PhaseKind::Retention,
        PhaseKind::Transfer,
    ];
    for kind in tests {
        let ratings: Vec<f64> = means(Phase::first(kind)).map(|(_, mean)| mean).collect();
        writer.number(
            kind.name(),
            summary::mean(&ratings).map_err(|_| "the checklist has no rating of this phase"),
        );
    }
    let elements: HashSet<&str> = observed.iter().map(|of| of.element.as_str()).collect();
    writer.count("elements", elements.len());
    let before: HashMap<&str, f64> = means(Phase::PRE).collect();
    let compared: Vec<(f64, f64)> = means(Phase::POST)
        .filter_map(|(element, after)| Some((*before.get(element)?, after)))
        .collect();
    writer.count("compared", compared.len());
    if compared.is_empty() {
        writer.absent(
            "improved",
            "no element was rated at both pre-test and post-test",
        );
    } else {
        let rose = compared
            .iter()
            .filter(|(before, after)| after > before && !close(*before, *after));
        writer.count("improved", rose.count());
    }
    record_observers(&mut writer, &observed);
}

/// The ratings that can be read, by phase and element; elements are the same whatever their case and outer spaces.
fn observed(logbook: &Logbook) -> Vec<Observed> {
    let mut places: HashMap<(Phase, String), usize> = HashMap::new();
    let mut observed: Vec<Observed> = Vec::new();
    for (row, rating) in logbook.technique.iter().enumerate() {
        let (Some(phase), Some(score)) = (rating.phase, rating.rating) else {
            continue;
        };
        if !score.is_finite() || phase.kind == PhaseKind::Familiarisation {
            continue;
        }
        let element = rating.element.trim().to_lowercase();
        let place = *places.entry((phase, element.clone())).or_insert_with(|| {
            observed.push(Observed {
                phase,
                element,
                ratings: Vec::new(),
            });
            observed.len() - 1
        });
        if let Some(of) = observed.get_mut(place) {
            of.ratings.push((rating.observer.clone(), score, row));
        }
    }
    observed
}

fn record_observers(writer: &mut Writer<'_>, observed: &[Observed]) {
    let named: HashSet<&str> = observed
        .iter()
        .flat_map(|of| &of.ratings)
        .filter_map(|(observer, ..)| observer.as_deref())
        .collect();
    if named.is_empty() {
        writer.absent("observers", "the checklist names no observer");
    } else {
        writer.count("observers", named.len());
    }
    let both = TwoRatings::of_first_two(observed.iter().map(|of| of.ratings.as_slice()));
    writer.count("observed_twice", both.n());
    if both.n() == 0 {
        writer.nothing_else("no element was rated by two observers");
    } else {
        both.record_agreement(writer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample;
    use crate::logbook::model::{Measure, TechniqueRating};
    use crate::place::Place;

    fn facts_of(ratings: &[(Phase, &str, Option<f64>, &str)]) -> Facts {
        let mut logbook = sample::logbook(vec![Measure::undescribed()], Vec::new());
        logbook.technique = ratings
            .iter()
            .map(|(phase, element, rating, observer)| TechniqueRating {
                phase: Some(*phase),
                element: (*element).into(),
                rating: *rating,
                observer: (!observer.is_empty()).then(|| (*observer).into()),
                place: Place::file("invented.csv"),
            })
            .collect();
        let mut facts = Facts::default();
        record(&mut facts, &logbook);
        facts
    }

    #[test]
    fn observers_are_averaged_before_elements() {
        let facts = facts_of(&[
            (Phase::PRE, "Elbow", Some(0.0), "A"),
            (Phase::PRE, "Elbow", Some(1.0), "B"),
            (Phase::PRE, "Follow-through", Some(1.0), "A"),
            (Phase::PRE, "Stance", None, "A"),
            (Phase::POST, "elbow ", Some(1.0), "A"),
            (Phase::POST, "Elbow", Some(1.0), "B"),
            (Phase::POST, "Follow-through", Some(0.0), "A"),
            (Phase::POST, "Stance", Some(1.0), "A"),
        ]);
        // Pre: mean of ½ and 1; post: mean of 1, 0 and 1.
        assert_eq!(facts.number("technique.pre"), Some(0.75));
        assert_eq!(facts.number("technique.post"), Some(2.0 / 3.0));
        assert_eq!(facts.number("technique.elements"), Some(3.0));
        assert_eq!(facts.number("technique.compared"), Some(2.0));
        assert_eq!(facts.number("technique.improved"), Some(1.0));
        assert_eq!(facts.number("technique.observers"), Some(2.0));
        assert_eq!(facts.number("technique.observed_twice"), Some(2.0));
        assert_eq!(facts.number("technique.agreement"), Some(50.0));
        assert_eq!(facts.number("technique.retention"), None);
    }

    #[test]
    fn a_checklist_of_one_test_shows_no_improvement() {
        let facts = facts_of(&[(Phase::PRE, "Elbow", Some(0.0), "")]);
        assert_eq!(facts.number("technique.compared"), Some(0.0));
        assert_eq!(facts.number("technique.improved"), None);
        assert_eq!(facts.number("technique.observers"), None);
        assert_eq!(
            facts_of(&[]).why_absent("technique.pre"),
            Some("no rating of technique is recorded")
        );
    }
}
