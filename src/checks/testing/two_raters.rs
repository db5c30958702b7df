//! What two people judged both: the trials of a measure, or the elements of technique.

use std::sync::Arc;

use crate::checks::Seen;
use crate::phase::Phase;
use crate::place::Place;

/// The judgements of two people on the same things, in the same order, with the cells of both.
#[derive(Default)]
pub(super) struct TwoRaters {
    pub first: Vec<f64>,
    pub second: Vec<f64>,
    pub names: Vec<Arc<str>>,
    pub places: Vec<Place>,
}

/// An element of technique in a phase.
type Element<'a> = (Option<Phase>, &'a str);
/// One judgement: whose, how much, in which row or cell.
type Judgement<'a> = (Option<&'a Arc<str>>, f64, Place);

impl TwoRaters {
    /// Of the test trials of a measure, all tests together: the first two raters by order of appearance.
    pub fn of_trials(seen: &Seen, measure: usize) -> Self {
        let things: Vec<Vec<Judgement>> = seen
            .tests()
            .filter(|test| test.index == measure)
            .flat_map(|test| test.block.trials())
            .map(|trial| {
                trial
                    .ratings
                    .iter()
                    .filter_map(|rating| {
                        Some((rating.rater.as_ref(), rating.score, seen.place(rating.row)?))
                    })
                    .collect()
            })
            .collect();
        Self::of(&things)
    }

    /// Of the elements of technique, all phases together: the first two observers.
    pub fn of_technique(seen: &Seen) -> Self {
        let mut things: Vec<(Element, Vec<Judgement>)> = Vec::new();
        for row in &seen.logbook.technique {
            let Some(rating) = row.rating else { continue };
            let thing = (row.phase, &*row.element);
            let judgement = (row.observer.as_ref(), rating, row.place.clone());
            match things.iter_mut().find(|(known, _)| *known == thing) {
                Some((_, judgements)) => judgements.push(judgement),
                None => things.push((thing, vec![judgement])),
            }
        }
        let things: Vec<Vec<Judgement>> = things
            .into_iter()
            .map(|(_, judgements)| judgements)
            .collect();
        Self::of(&things)
    }

    fn of(things: &[Vec<Judgement>]) -> Self {
        let mut names: Vec<Arc<str>> = Vec::new();
        for (name, ..) in things.iter().flatten() {
            if let Some(name) = name
                && names.len() < 2
                && !names.contains(name)
            {
                names.push((*name).clone());
            }
        }
        let mut both = Self::default();
        if let [a, b] = names.as_slice() {
            for judgements in things {
                let by = |who: &Arc<str>| judgements.iter().find(|(name, ..)| *name == Some(who));
                if let (Some((_, first, at)), Some((_, second, also))) = (by(a), by(b)) {
                    both.first.push(*first);
                    both.second.push(*second);
                    both.places.extend([at.clone(), also.clone()]);
                }
            }
        }
        both.names = names;
        both
    }
}
