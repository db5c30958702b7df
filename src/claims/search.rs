//! Searches for the slips that give exactly the claimed number from the pair's own data.
//!
//! Every slip is tried alone, then those that are made together two by two. What is found is ordered by [`super::ranking`]: two together
//! after any alone.

use super::computation::{Computation, Ending};
use super::evaluate::Evaluator;
use super::matching::{gives, ways};
use super::plausibility::PLAUSIBILITY;
use super::ranking::{Candidate, Kind, Ranked, Reach, rank};
use super::slips::{self, Detail, Variant, Variations};
use crate::number::{Bound, Stated, close};
use crate::statistic::Statistic;

/// A wrong claim, and what it should have been.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    /// Index of the claim.
    pub claim: usize,
    /// The statistic that it names.
    pub statistic: Statistic,
    /// The number that it states.
    pub stated: Stated,
    /// The statistic's definition.
    pub definition: Computation,
    /// What the trials give.
    pub right: f64,
}

/// One way that gives the claimed number.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    /// The slip, by place in [`slips::ALL`].
    pub slip: usize,
    /// A second one, and its variant.
    pub second: Option<(usize, Variant)>,
    /// The first slip's variant.
    pub variant: Variant,
}

impl Way {
    /// The computation with all slips in it.
    pub fn computation(&self) -> &Computation {
        self.second
            .as_ref()
            .map_or(&self.variant.computation, |(_, variant)| {
                &variant.computation
            })
    }
}

/// A second slip counts among the explanations only in its usual ways.
const USUAL: f64 = 0.5;
/// Two slips together are rarer than either alone by this factor.
const TOGETHER: f64 = 0.05;

/// Everything that gives the claimed number, most plausible first.
pub fn search(question: &Question, evaluator: &mut Evaluator<'_>) -> Ranked<Way> {
    let mut trial = Trying {
        question,
        evaluator,
        values: Vec::new(),
        reach: Reach::new(question.stated, question.right),
        buffer: Vec::new(),
        candidates: Vec::new(),
        matched: Vec::new(),
        applicable: 0,
    };
    for slip in 0..slips::ALL.len() {
        trial.alone(slip);
    }
    // What the claim's own formula shows needs no second cause.
    if !trial
        .candidates
        .iter()
        .any(|candidate| candidate.kind == Kind::Shown)
    {
        trial.together();
    }
    rank(&trial.candidates, &trial.reach, trial.applicable)
}

/// The way in which one of the accepted slips gives the claimed number.
pub fn accepted(
    question: &Question,
    accept: &[usize],
    evaluator: &mut Evaluator<'_>,
) -> Option<Way> {
    let mut trial = Trying {
        question,
        evaluator,
        values: Vec::new(),
        reach: Reach::new(question.stated, question.right),
        buffer: Vec::new(),
        candidates: Vec::new(),
        matched: Vec::new(),
        applicable: 0,
    };
    for slip in accept {
        trial.alone(*slip);
        if let Some(candidate) = trial.candidates.first() {
            return Some(candidate.way);
        }
    }
    // Two accepted conventions at once.
    for first in accept {
        let seconds: Vec<usize> = PLAUSIBILITY
            .then(*first)
            .iter()
            .copied()
            .filter(|second| accept.contains(second))
            .collect();
        trial.with_first(*first, &seconds);
    }
    trial.candidates.first().map(|candidate| candidate.way)
}

struct Trying<'q, 'e, 'm> {
    question: &'q Question,
    evaluator: &'e mut Evaluator<'m>,
    /// The different values of the slip that is being tried, with how usual each is.
    values: Vec<(f64, f64)>,
    reach: Reach,
    buffer: Vec<Variant>,
    candidates: Vec<Candidate<Way>>,
    /// The single slips' ways that give the claimed number.
    matched: Vec<(usize, Detail)>,
    /// How many slips give any number of their own here.
    applicable: usize,
}

impl Trying<'_, '_, '_> {
    /// The ways in which a slip changes a computation.
    fn variants(&mut self, slip: usize, from: &Computation) -> Vec<Variant> {
        let mut found = std::mem::take(&mut self.buffer);
        found.clear();
        let Some(entry) = slips::ALL.get(slip) else {
            return found;
        };
        let mut variations = Variations {
            from: *from,
            statistic: self.question.statistic,
            stated: self.question.stated,
            claim: u32::try_from(self.question.claim).unwrap_or(u32::MAX),
            evaluator: self.evaluator,
            found,
        };
        (entry.vary)(&mut variations);
        variations.found
    }

    /// Whether a computation gives the claimed number, and its value where it is another than the right one.
    fn try_one(&mut self, computation: &Computation) -> Option<(f64, bool)> {
        let value = if computation.ending == Ending::Rounded {
            self.evaluator.value(computation).ok()?
        } else if *computation == with_ending(self.question.definition, computation.ending) {
            // The right number, wrongly copied.
            self.question.right
        } else {
            self.evaluator.value(computation).ok()?
        };
        let stated = &self.question.stated;
        let mut matches = gives(stated, computation.ending, value);
        if !matches && computation.ending == Ending::Rounded {
            // The same count from the other side, for u and wilcoxon.
            matches = self
                .evaluator
                .other_side(computation, value)
                .is_some_and(|other| stated.agrees(other));
        }
        if !matches && computation.ending == Ending::Rounded && close(value, self.question.right) {
            return None;
        }
        Some((value, matches))
    }

    fn alone(&mut self, slip: usize) {
        let variants = self.variants(slip, &self.question.definition);
        self.values.clear();
        let mut most = 0.0_f64;
        let mut matched: Option<Variant> = None;
        let mut matched_weight = 0.0;
        for variant in &variants {
            let Some((value, matches)) = self.try_one(&variant.computation) else {
                continue;
            };
            most = most.max(variant.weight);
            let ending = variant.computation.ending;
            // Another way to the same number is no other number.
            let known = ending == Ending::Rounded
                && self.values.iter().any(|(known, _)| close(*known, value));
            if !known {
                self.values.push((
                    if ending == Ending::Rounded {
                        value
                    } else {
                        f64::NAN
                    },
                    variant.weight * ways(&self.question.stated, ending),
                ));
            }
            if matches {
                self.matched.push((slip, variant.detail));
                if !known {
                    matched_weight += variant.weight;
                }
                if matched.is_none_or(|best| variant.weight > best.weight) {
                    matched = Some(*variant);
                }
            }
        }
        self.buffer = variants;
        if self.values.is_empty() {
            return;
        }
        self.applicable += 1;
        for (value, _) in &self.values {
            self.reach.add(*value);
        }
        if let Some(variant) = matched {
            let total: f64 = self.values.iter().map(|(_, weight)| weight).sum();
            self.candidates.push(Candidate {
                way: Way {
                    slip,
                    second: None,
                    variant,
                },
                order: slip,
                convention: slips::ALL.get(slip).is_some_and(|slip| slip.convention),
                usual: variant.weight >= USUAL * most,
                kind: if variant.computation.is_by_formula() {
                    Kind::Shown
                } else {
                    Kind::Alone
                },
                plausibility: PLAUSIBILITY.at(slip),
                share: (matched_weight.max(variant.weight) / total).min(1.0),
            });
        }
    }

    /// All pairs that are made together.
    fn together(&mut self) {
        for first in 0..slips::ALL.len() {
            self.with_first(first, PLAUSIBILITY.then(first));
        }
    }

    /// Pairs of one slip with others that act after it.
    fn with_first(&mut self, first: usize, seconds: &[usize]) {
        if seconds.is_empty() || self.question.stated.bound != Bound::Exactly {
            return;
        }
        let mut firsts: Vec<Variant> = self.variants(first, &self.question.definition);
        // One that gives the number alone needs no second; one that leaves the number as it is would let the second act alone.
        let any_always = seconds
            .iter()
            .any(|second| PLAUSIBILITY.always(first, *second));
        firsts.retain(|variant| {
            variant.weight >= USUAL
                && (any_always || !self.gives_it_alone(first, variant))
                && !self.is_no_change(&variant.computation)
        });
        if firsts.is_empty() {
            return;
        }
        for second in seconds {
            self.pair(first, &firsts, *second);
        }
    }

    /// Whether a slip gives the number alone, in this way.
    fn gives_it_alone(&self, slip: usize, variant: &Variant) -> bool {
        self.matched.contains(&(slip, variant.detail))
    }

    fn pair(&mut self, first: usize, firsts: &[Variant], second: usize) {
        let mut tried = 0.0_f64;
        let mut matched: Option<(Way, f64)> = None;
        let always = PLAUSIBILITY.always(first, second);
        for variant in firsts {
            if !always && self.gives_it_alone(first, variant) {
                continue;
            }
            let seconds = self.variants(second, &variant.computation);
            for then in seconds.iter().filter(|then| then.weight >= USUAL) {
                if !always && self.gives_it_alone(second, then) {
                    continue;
                }
                let Some((_, matches)) = self.try_one(&then.computation) else {
                    continue;
                };
                let weight = variant.weight * then.weight;
                tried += weight;
                if matches && matched.is_none_or(|(_, best)| weight > best) {
                    let way = Way {
                        slip: first,
                        second: Some((second, *then)),
                        variant: *variant,
                    };
                    matched = Some((way, weight));
                }
            }
            self.buffer = seconds;
        }
        let Some((way, weight)) = matched else {
            return;
        };
        let convention = [first, second]
            .iter()
            .all(|slip| slips::ALL.get(*slip).is_some_and(|slip| slip.convention));
        self.candidates.push(Candidate {
            way,
            order: slips::ALL.len() + first,
            convention,
            usual: true,
            kind: Kind::Pair,
            plausibility: TOGETHER * (PLAUSIBILITY.at(first) * PLAUSIBILITY.at(second)).sqrt(),
            share: (weight / tried).min(1.0),
        });
    }

    /// Whether a variant leaves everything as it is: a second slip would then act alone.
    fn is_no_change(&mut self, computation: &Computation) -> bool {
        let is_same = self
            .evaluator
            .value(computation)
            .is_ok_and(|value| close(value, self.question.right));
        is_same && self.sums(computation) == self.sums(&self.question.definition)
    }

    /// How many numbers there are and what they add up to: a zero in each block may leave a ratio as it is, and moves the levels.
    fn sums(&mut self, computation: &Computation) -> [(usize, f64); 3] {
        [computation.later, computation.earlier, computation.between].map(|side| {
            let values = &self.evaluator.numbers(side.trials).values;
            (values.len(), values.iter().sum())
        })
    }
}

fn with_ending(computation: Computation, ending: Ending) -> Computation {
    Computation {
        ending,
        ..computation
    }
}
