//! Two people's ratings of the same things, and how far they agree.

use super::value::Reason;
use super::writer::{IntoReason, Writer};
use crate::stats::agreement::cohen::{Weights, cohen_kappa};
use crate::stats::agreement::percent::percent_agreement;
use crate::stats::icc::absolute_agreement;

/// Ratings of the same things by two people, in one order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct TwoRatings {
    /// The first person's.
    pub first: Vec<f64>,
    /// The second's.
    pub second: Vec<f64>,
}

impl TwoRatings {
    /// The things that the first two people both rated: the first two in order of appearance over all things. Each thing has its ratings
    /// as person and score, in the order in which they were recorded; a person is anything that can be told apart.
    pub fn of_first_two<'t, P: PartialEq + Clone + 't>(
        things: impl Iterator<Item = &'t [(P, f64, usize)]> + Clone,
    ) -> Self {
        let mut appearances: Vec<&(P, f64, usize)> = things.clone().flatten().collect();
        appearances.sort_by_key(|(_, _, row)| *row);
        let mut people: Vec<&P> = Vec::new();
        for (person, ..) in appearances {
            if !people.contains(&person) {
                people.push(person);
            }
            if people.len() == 2 {
                break;
            }
        }
        let mut both = Self::default();
        if let [one, other] = people.as_slice() {
            for thing in things {
                let by = |person: &P| thing.iter().find(|(p, ..)| p == person).map(|r| r.1);
                if let Some((first, second)) = by(one).zip(by(other)) {
                    both.first.push(first);
                    both.second.push(second);
                }
            }
        }
        both
    }

    /// How many things both rated.
    pub fn n(&self) -> usize {
        self.first.len()
    }

    /// Records agreement and both kappas.
    pub(super) fn record_agreement(&self, writer: &mut Writer<'_>) {
        writer.number("agreement", percent_agreement(&self.first, &self.second));
        let kappa =
            |weights| cohen_kappa(&self.first, &self.second, weights).map(|kappa| kappa.kappa);
        writer.number("kappa", kappa(Weights::Plain));
        writer.number("weighted_kappa", kappa(Weights::Quadratic));
    }

    /// Intraclass correlation: two-way random, single rater, absolute agreement.
    pub(super) fn icc(&self) -> Result<f64, Reason> {
        let things: Vec<Vec<f64>> = self
            .first
            .iter()
            .zip(&self.second)
            .map(|(first, second)| vec![*first, *second])
            .collect();
        absolute_agreement(&things).map_err(IntoReason::into_reason)
    }
}
