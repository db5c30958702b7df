//! Searches for the slips that give exactly the claimed number from the pair's own data.
//!
//! Every slip is tried alone, then those that are made together two by two. What is found is ordered by [`super::ranking`]: two together
//! after any alone.

use super::computation::{Computation, Ending, Side};
use super::evaluate::Evaluator;
use super::matching::{Matcher, ways};
use super::plausibility::{PLAUSIBILITY, Second};
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
    let mut trial = Trying::new(question, evaluator);
    for slip in 0..slips::ALL.len() {
        trial.alone(slip);
    }
    // What the claim's own formula shows needs no second cause.
    if !trial
        .candidates
        .iter()
        .any(|candidate| candidate.kind == Kind::Shown)
    {
        trial.together(|_| true);
    }
    rank(&trial.candidates, &trial.reach, trial.applicable)
}

/// The way in which one of the accepted slips gives the claimed number.
pub fn accepted(
    question: &Question,
    accept: &[usize],
    evaluator: &mut Evaluator<'_>,
) -> Option<Way> {
    let mut trial = Trying::new(question, evaluator);
    for slip in accept {
        trial.alone(*slip);
        if let Some(candidate) = trial.candidates.first() {
            return Some(candidate.way);
        }
    }
    // Two accepted conventions at once.
    trial.together(|second| accept.contains(&second));
    trial.candidates.first().map(|candidate| candidate.way)
}

struct Trying<'q, 'e, 'm> {
    question: &'q Question,
    matcher: Matcher,
    /// For the slip that is being tried.
    variations: Variations<'e, 'm>,
    /// The different values of the slip that is being tried.
    values: Vec<f64>,
    reach: Reach,
    candidates: Vec<Candidate<Way>>,
    /// The single slips' ways that give the claimed number.
    matched: Vec<(usize, Detail)>,
    /// The single slips' ways after which another slip may act, slip by slip in the order in which they were tried.
    firsts: Vec<(usize, Variant)>,
    /// How many slips give any number of their own here.
    applicable: usize,
}

/// What a computation comes to, beside the claimed number and the right one.
struct Tried {
    /// None where it has no value.
    value: Option<f64>,
    /// It gives the claimed number.
    matches: bool,
    /// It gives the right number.
    is_right: bool,
}

impl Tried {
    /// Its value, where that is another than the right one or gives the claimed number.
    fn other_value(&self) -> Option<f64> {
        self.value.filter(|_| self.matches || !self.is_right)
    }
}

impl<'q, 'e, 'm> Trying<'q, 'e, 'm> {
    fn new(question: &'q Question, evaluator: &'e mut Evaluator<'m>) -> Self {
        Self {
            question,
            matcher: Matcher::new(question.stated),
            variations: Variations {
                from: question.definition,
                statistic: question.statistic,
                stated: question.stated,
                claim: u32::try_from(question.claim).unwrap_or(u32::MAX),
                least: 0.0,
                evaluator,
                found: Vec::with_capacity(128),
            },
            values: Vec::new(),
            reach: Reach::new(question.stated, question.right),
            candidates: Vec::new(),
            matched: Vec::new(),
            firsts: Vec::new(),
            applicable: 0,
        }
    }

    /// The ways in which a slip changes a computation, but for those less usual than `least`: to be given back to `variations.found`.
    fn variants(&mut self, slip: usize, from: &Computation, least: f64) -> Vec<Variant> {
        self.variations.found.clear();
        self.variations.from = *from;
        self.variations.least = least;
        if let Some(entry) = slips::ALL.get(slip) {
            (entry.vary)(&mut self.variations);
        }
        std::mem::take(&mut self.variations.found)
    }

    /// What a computation comes to.
    fn try_one(&mut self, computation: &Computation) -> Tried {
        let rounded = computation.ending == Ending::Rounded;
        let value = if !rounded
            && *computation == with_ending(self.question.definition, computation.ending)
        {
            // The right number, wrongly copied.
            Some(self.question.right)
        } else {
            self.variations.evaluator.value(computation).ok()
        };
        let matches = value.is_some_and(|value| {
            self.matcher.gives(computation.ending, value)
                // The same count from the other side, for u and wilcoxon.
                || rounded
                    && self
                        .variations
                        .evaluator
                        .other_side(computation, value)
                        .is_some_and(|other| self.question.stated.agrees(other))
        });
        Tried {
            value,
            matches,
            is_right: rounded && value.is_some_and(|value| close(value, self.question.right)),
        }
    }

    fn alone(&mut self, slip: usize) {
        let variants = self.variants(slip, &self.question.definition, 0.0);
        self.values.clear();
        let mut total = 0.0;
        let may_be_first =
            !PLAUSIBILITY.then(slip).is_empty() && self.question.stated.bound == Bound::Exactly;
        let mut most = 0.0_f64;
        let mut matched: Option<Variant> = None;
        let mut matched_weight = 0.0;
        for variant in &variants {
            let tried = self.try_one(&variant.computation);
            if may_be_first
                && variant.weight >= USUAL
                && !self.is_no_change(&variant.computation, tried.value)
            {
                self.firsts.push((slip, *variant));
            }
            let Some(value) = tried.other_value() else {
                continue;
            };
            most = most.max(variant.weight);
            let ending = variant.computation.ending;
            // Another way to the same number is no other number.
            let known =
                ending == Ending::Rounded && self.values.iter().any(|known| close(*known, value));
            if ending != Ending::Rounded {
                self.values.push(f64::NAN);
                total += variant.weight * ways(&self.question.stated, ending);
            } else if !known {
                self.values.push(value);
                total += variant.weight;
            }
            if tried.matches {
                self.matched.push((slip, variant.detail));
                if !known {
                    matched_weight += variant.weight;
                }
                if matched.is_none_or(|best| variant.weight > best.weight) {
                    matched = Some(*variant);
                }
            }
        }
        self.variations.found = variants;
        if self.values.is_empty() {
            return;
        }
        self.applicable += 1;
        for value in &self.values {
            self.reach.add(*value);
        }
        if let Some(variant) = matched {
            self.candidates.push(Candidate {
                way: Way {
                    slip,
                    second: None,
                    variant,
                },
                order: slip,
                convention: slips::ALL.get(slip).is_some_and(|slip| slip.convention),
                usual: variant.weight >= USUAL * most,
                kind: if self
                    .variations
                    .evaluator
                    .is_by_formula(&variant.computation)
                {
                    Kind::Shown
                } else {
                    Kind::Alone
                },
                plausibility: PLAUSIBILITY.at(slip),
                share: (matched_weight.max(variant.weight) / total).min(1.0),
            });
        }
    }

    /// All pairs that are made together: of one of the slips tried alone, and of one that acts after it and is to be tried.
    fn together(&mut self, is_tried: impl Fn(usize) -> bool) {
        let firsts = std::mem::take(&mut self.firsts);
        for of_slip in firsts.chunk_by(|(a, _), (b, _)| a == b) {
            let Some((first, _)) = of_slip.first() else {
                continue;
            };
            for second in PLAUSIBILITY.then(*first) {
                if is_tried(second.slip) {
                    self.pair(*first, of_slip, *second);
                }
            }
        }
        self.firsts = firsts;
    }

    /// Whether a slip gives the number alone, in this way.
    fn gives_it_alone(&self, slip: usize, variant: &Variant) -> bool {
        self.matched.contains(&(slip, variant.detail))
    }

    fn pair(&mut self, first: usize, firsts: &[(usize, Variant)], then: Second) {
        let mut tried = 0.0_f64;
        let mut matched: Option<(Way, f64)> = None;
        let Second {
            slip: second,
            always,
        } = then;
        for (_, variant) in firsts {
            // One that gives the number alone needs no second.
            if !always && self.gives_it_alone(first, variant) {
                continue;
            }
            let seconds = self.variants(second, &variant.computation, USUAL);
            for then in &seconds {
                if !always && self.gives_it_alone(second, then) {
                    continue;
                }
                let result = self.try_one(&then.computation);
                if result.other_value().is_none() {
                    continue;
                }
                let weight = variant.weight * then.weight;
                tried += weight;
                if result.matches && matched.is_none_or(|(_, best)| weight > best) {
                    let way = Way {
                        slip: first,
                        second: Some((second, *then)),
                        variant: *variant,
                    };
                    matched = Some((way, weight));
                }
            }
            self.variations.found = seconds;
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
    fn is_no_change(&self, computation: &Computation, value: Option<f64>) -> bool {
        let definition = &self.question.definition;
        value.is_some_and(|value| close(value, self.question.right))
            && [
                (computation.later, definition.later),
                (computation.earlier, definition.earlier),
                (computation.between, definition.between),
            ]
            .iter()
            .all(|(a, b)| a.trials == b.trials || self.sum(a) == self.sum(b))
    }

    /// How many numbers there are and what they add up to: a zero in each block may leave a ratio as it is, and moves the levels.
    fn sum(&self, side: &Side) -> (usize, f64) {
        let values = &self.variations.evaluator.numbers(side.trials).values;
        (values.len(), values.iter().sum())
    }
}

fn with_ending(computation: Computation, ending: Ending) -> Computation {
    Computation {
        ending,
        ..computation
    }
}
