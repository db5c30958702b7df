//! The scores of all pairs, and what pairs have alike, ready to be told: worked out once, by whichever check asks first.

use std::sync::OnceLock;

use super::alike::{Alike, Likenesses, Way};
use super::pool::Pool;
use crate::checks::CohortSeen;
use crate::checks::wording::the_phase;
use crate::number::{plain, readable};
use crate::place::Place;
use crate::wording::listed;

/// What the checks of this family share.
#[derive(Default)]
pub(in crate::checks) struct Likeness<'a> {
    pool: OnceLock<Pool<'a>>,
    told: OnceLock<Told>,
}

/// What the checks tell of it.
pub(super) struct Told {
    pub equal: Vec<TwoAlike>,
    pub near: Vec<TwoAlike>,
    /// Comparisons of places, in words.
    pub comparisons: String,
}

/// Two pairs with trials alike, seen from both.
pub(super) struct TwoAlike {
    pub way: Way,
    /// Trials alike.
    pub n: usize,
    pub sides: [Side; 2],
    pub expected: f64,
}

/// One pair's side of it.
pub(super) struct Side {
    pub pair: String,
    /// Which trials: `form, the post-test`.
    pub of: String,
    /// The first scores.
    pub scores: String,
    pub places: Vec<Place>,
}

impl<'a> CohortSeen<'a> {
    /// The scores of all pairs.
    pub(super) fn pool(&self) -> &Pool<'a> {
        self.likeness.pool.get_or_init(|| Pool::new(self.traces))
    }

    /// What pairs have alike.
    pub(super) fn told(&self) -> &Told {
        self.likeness.told.get_or_init(|| {
            let pool = self.pool();
            let found = Likenesses::of(pool, self.thresholds.copied);
            let told = |alike: &Alike| TwoAlike {
                way: alike.way,
                n: alike.first.len(),
                sides: [
                    Side::new(pool, alike.pairs.0, &alike.first),
                    Side::new(pool, alike.pairs.1, &alike.second),
                ],
                expected: alike.expected,
            };
            Told {
                equal: found.equal.iter().map(told).collect(),
                near: found.near.iter().map(told).collect(),
                comparisons: plain(found.comparisons.round()),
            }
        })
    }
}

impl Side {
    fn new(pool: &Pool, pair: usize, trials: &[usize]) -> Self {
        const SHOWN: usize = 12;
        let mut phases = Vec::new();
        for (session, _) in trials.iter().filter_map(|at| pool.trial(*at)) {
            if let Some(session) = pool.sessions.get(session) {
                let title = the_phase(session.trace.phase);
                if !phases.contains(&title) {
                    phases.push(title);
                }
            }
        }
        let mut scores: Vec<String> = trials
            .iter()
            .take(SHOWN)
            .filter_map(|at| pool.score(*at).map(readable))
            .collect();
        if trials.len() > SHOWN {
            scores.push("…".to_owned());
        }
        Self {
            pair: pool.pair(pair).to_owned(),
            of: listed(&phases),
            scores: scores.join(", "),
            places: pool.places(trials.iter().copied()),
        }
    }
}

impl TwoAlike {
    /// Both sides, each with the other.
    pub fn views(&self) -> [(&Side, &Side); 2] {
        let [a, b] = &self.sides;
        [(a, b), (b, a)]
    }
}

/// What a pair is told after how its trials are another's.
pub(super) const GOOD_REASON: &str = "There can be a good reason, such as trials recorded together or a shared file: please tell your instructor how these trials were recorded.";

/// An expected number, however small, in words.
pub(super) fn chance(expected: f64) -> String {
    if expected < 1e-6 {
        "fewer than 0.000001".to_owned()
    } else {
        format!("about {}", readable(expected))
    }
}
