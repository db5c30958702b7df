//! Runs of trials that two pairs have alike, each with the number of such runs that chance would give over all comparisons of the cohort.
//!
//! The chance of one trial is how often its score occurs in sessions of like level of other pairs. For a run that begins at one place the
//! product of these chances bounds the chance of any run as improbable from there (Ville 1939: a likelihood ratio with expectation 1 exceeds
//! 1/p with a chance of p at most); where some trials may differ, a mixture of matching and differing (9 in 10, 1 in 10) takes its place.
//! Times the number of places compared, that is the expected number of such runs.

use std::collections::HashMap;

use super::pool::Pool;
use super::search::Search;
use super::suffixes::Suffixes;

/// In which way trials are alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Way {
    /// Equal, in order.
    Equal,
    /// Equal but for this many.
    Changed(usize),
    /// All shifted by this much, but for this many.
    Shifted(f64, usize),
    /// The same scores within each session, in another order.
    Reordered,
}

/// Trials that two pairs have alike.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Alike {
    /// Indices of the two pairs, the smaller first.
    pub pairs: (usize, usize),
    pub way: Way,
    /// The trials of the first pair, as places in the pool's text.
    pub first: Vec<usize>,
    /// Those of the second, in the same order.
    pub second: Vec<usize>,
    /// −ln of the bound on its chance.
    pub surprise: f64,
    /// How many such runs chance would give over all comparisons.
    pub expected: f64,
}

/// Everything that pairs have alike beyond chance, and how much was compared.
pub(super) struct Likenesses {
    /// Runs that are equal, the least expected first for each two pairs.
    pub equal: Vec<Alike>,
    /// Near copies: the least expected for each two pairs.
    pub near: Vec<Alike>,
    /// Comparisons of places.
    pub comparisons: f64,
}

/// How many places are compared, in each way.
pub(super) struct Comparisons {
    /// The same place of two programmes.
    pub same_place: f64,
    /// Any place with any other.
    pub any_place: f64,
    /// Two pairs' like measures.
    pub members: f64,
}

impl Likenesses {
    /// What pairs have alike, at or below this expected number.
    pub fn of(pool: &Pool, allowed: f64) -> Self {
        let comparisons = Comparisons::of(pool);
        let places = comparisons.same_place + comparisons.any_place;
        // Before the search knows every trial's surprise: sorting takes the most room of all, and gives it back.
        let suffixes = Suffixes::of(&pool.text);
        let mut search = Search::new(pool, comparisons, allowed);
        search.runs(suffixes);
        search.side_by_side();
        search.shifted();
        search.reordered();
        let (equal, near) = search.found();
        Self {
            equal: in_order(equal),
            near: in_order(near),
            comparisons: places,
        }
    }
}

fn in_order(mut found: Vec<Alike>) -> Vec<Alike> {
    found.sort_by(|a, b| {
        a.pairs
            .cmp(&b.pairs)
            .then(b.surprise.total_cmp(&a.surprise))
            .then(a.first.cmp(&b.first))
    });
    found
}

impl Comparisons {
    fn of(pool: &Pool) -> Self {
        let mut at_place: HashMap<u32, f64> = HashMap::new();
        for place in pool.programme_places() {
            *at_place.entry(place).or_insert(0.0) += 1.0;
        }
        let mut trials: HashMap<_, (f64, f64, f64)> = HashMap::new();
        for member in &pool.members {
            let sessions = pool
                .sessions
                .get(member.sessions.clone())
                .unwrap_or_default();
            let n: f64 = sessions
                .iter()
                .map(|session| session.trace.scores.len() as f64)
                .sum();
            let (all, squares, members) = trials.entry(member.scale).or_insert((0.0, 0.0, 0.0));
            *all += n;
            *squares += n * n;
            *members += 1.0;
        }
        let two_of = |n: &f64| n * (n - 1.0) / 2.0;
        Self {
            same_place: at_place.values().map(two_of).sum(),
            any_place: trials
                .values()
                .map(|(all, squares, _)| (all * all - squares) / 2.0)
                .sum(),
            members: trials.values().map(|(_, _, members)| two_of(members)).sum(),
        }
    }
}
