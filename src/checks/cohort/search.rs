//! Looks for what two pairs have alike, and keeps what chance does not give.

use std::collections::{HashMap, HashSet};

use rayon::prelude::*;

use super::alike::{Alike, Comparisons, Way};
use super::pool::{Pool, millionths};
use super::suffixes::{Shared, Suffixes, shared_stretches};

/// How two pairs' trials are compared: each way has the same share of the chance that is allowed in all.
const WAYS: f64 = 4.0;
/// Trials in the shortest run, and the shortest session, that is looked at.
pub(super) const SHORTEST: usize = 5;
/// Share of trials that may differ in a run with changes.
const CHANGED: f64 = 0.1;
/// How much more improbable a run with changes must be than the run without, as −ln of a chance: less is what chance adds at its ends.
const MORE: f64 = 5.0;

/// What chance gives no more often than this in a cohort may be part of something longer. No course allows as much to be kept by itself.
const NOW_AND_THEN: f64 = 1e3;

pub(super) struct Search<'p> {
    pub pool: &'p Pool<'p>,
    comparisons: Comparisons,
    /// What is expected more often than this is not kept.
    pub allowed: f64,
    equal: HashMap<(usize, usize), Vec<Alike>>,
    near: HashMap<(usize, usize), Alike>,
    /// What each session makes of each of its own scores, by their places in the text: asked for again and again.
    own: Vec<f64>,
}

/// One trial of each of two pairs.
pub(super) type Two = (usize, usize);

impl<'p> Search<'p> {
    /// A search that keeps what is expected at most this often.
    pub fn new(pool: &'p Pool<'p>, comparisons: Comparisons, allowed: f64) -> Self {
        Self {
            pool,
            comparisons,
            allowed,
            equal: HashMap::new(),
            near: HashMap::new(),
            own: pool.own_surprises(),
        }
    }

    /// What was kept: equal runs and near copies.
    pub fn found(self) -> (Vec<Alike>, Vec<Alike>) {
        (
            self.equal.into_values().flatten().collect(),
            self.near.into_values().collect(),
        )
    }

    /// Runs that are equal, and what lies around them with some changes; `suffixes` are those of the pool's text.
    pub fn runs(&mut self, suffixes: Suffixes) {
        let surprise = |run: &Shared| run.places().map(|two| self.surprise_of_equal(two)).sum();
        // Most of the runs chance gives everywhere: they are not worth their room.
        let is_wanted = |run: &Shared| self.expected_of(run, surprise(run)) < NOW_AND_THEN;
        let pool = self.pool;
        let runs = shared_stretches(suffixes, &pool.text, &pool.owners(), SHORTEST, is_wanted);
        let runs: Vec<(Shared, f64)> = runs.into_iter().map(|run| (run, surprise(&run))).collect();
        let mut seen = HashSet::new();
        let beside: Vec<Beside> = runs
            .iter()
            .filter_map(|(run, _)| self.beside(run.at as usize, run.other as usize))
            .filter(|beside| seen.insert(beside.members))
            .collect();
        for (run, surprise) in &runs {
            self.keep_equal(run, *surprise);
        }
        self.keep_near_of(&beside, |search, beside| {
            search.with_changes(&beside.places(), 0)
        });
    }

    /// How many members as much alike chance would give.
    pub fn expected_of_members(&self, surprise: f64) -> f64 {
        WAYS * self.comparisons.members * (-surprise).exp()
    }

    /// The pair that a trial belongs to.
    fn owner(&self, at: usize) -> usize {
        let member = |(session, _)| self.pool.member(session);
        let member = self.pool.trial(at).and_then(member);
        member.map_or(usize::MAX, |member| member.pair)
    }

    fn is_same_place(&self, a: usize, b: usize) -> bool {
        self.pool.place_of.get(a) == self.pool.place_of.get(b)
    }

    /// How many runs as improbable chance would give that begin as this one does.
    fn expected(&self, a: usize, b: usize, surprise: f64) -> f64 {
        let places = if self.is_same_place(a, b) {
            self.comparisons.same_place
        } else {
            self.comparisons.any_place
        };
        WAYS * places * (-surprise).exp()
    }

    fn expected_of(&self, run: &Shared, surprise: f64) -> f64 {
        self.expected(run.at as usize, run.other as usize, surprise)
    }

    /// −ln of the chance that the second trial shows what it does: by whichever of the two sessions makes it likelier.
    fn surprise(&self, (a, b): Two) -> f64 {
        let code = self.pool.text.get(b).copied().unwrap_or(0);
        let by_first = self.pool.trial(a);
        let by_first = by_first.map(|(session, _)| self.pool.surprise(session, code));
        likelier(by_first, self.own.get(b).copied())
    }

    /// The same of two trials that show the same.
    fn surprise_of_equal(&self, (a, b): Two) -> f64 {
        likelier(self.own.get(a).copied(), self.own.get(b).copied())
    }

    fn keep_equal(&mut self, run: &Shared, surprise: f64) {
        let expected = self.expected_of(run, surprise);
        if expected > self.allowed {
            return;
        }
        let places: Vec<Two> = run.places().collect();
        let alike = self.alike(Way::Equal, &places, surprise, expected);
        let known = self.equal.entry(alike.pairs).or_default();
        // The same run is found from both sides.
        let overlaps = |other: &Alike| {
            other.first.iter().any(|at| alike.first.contains(at))
                && other.second.iter().any(|at| alike.second.contains(at))
        };
        match known.iter_mut().find(|other| overlaps(other)) {
            Some(other) if other.surprise < alike.surprise => *other = alike,
            Some(_) => {}
            None => known.push(alike),
        }
    }

    /// Keeps what is found in each of many places to look, in their order.
    pub fn keep_near_of<T: Sync>(
        &mut self,
        all: &[T],
        find: impl Fn(&Self, &T) -> Option<Alike> + Sync,
    ) {
        let found: Vec<Alike> = all.par_iter().filter_map(|one| find(self, one)).collect();
        for alike in found {
            self.keep_near(alike);
        }
    }

    fn keep_near(&mut self, alike: Alike) {
        if let Some(runs) = self.equal.get(&alike.pairs)
            && runs.iter().any(|run| run.surprise + MORE > alike.surprise)
        {
            return;
        }
        let is_less_expected = |known: &Alike| {
            let order = alike.surprise.total_cmp(&known.surprise);
            // Of two as improbable the earlier, whichever came first.
            order.then_with(|| known.first.cmp(&alike.first)).is_gt()
        };
        if self.near.get(&alike.pairs).is_none_or(is_less_expected) {
            self.near.insert(alike.pairs, alike);
        }
    }

    pub fn alike(&self, way: Way, places: &[Two], surprise: f64, expected: f64) -> Alike {
        let (a, b) = places
            .first()
            .map_or((0, 0), |(a, b)| (self.owner(*a), self.owner(*b)));
        let (mut first, mut second): (Vec<usize>, Vec<usize>) = places.iter().copied().unzip();
        let mut way = way;
        if b < a {
            std::mem::swap(&mut first, &mut second);
            if let Way::Shifted(by, differ) = way {
                way = Way::Shifted(-by, differ);
            }
        }
        Alike {
            pairs: (a.min(b), a.max(b)),
            way,
            first,
            second,
            surprise,
            expected,
        }
    }

    /// The two members of two places, laid side by side as far as both reach.
    fn beside(&self, a: usize, b: usize) -> Option<Beside> {
        let (first, second) = (self.extent(a)?, self.extent(b)?);
        let (left, right) = (i64::try_from(a).ok()?, i64::try_from(b).ok()?);
        let back = (a - first.0).min(b - second.0);
        let ahead = (first.1 - a).min(second.1 - b);
        Some(Beside {
            members: if a < b {
                (first.0, second.0, right - left)
            } else {
                (second.0, first.0, left - right)
            },
            first: a - back,
            second: b - back,
            length: back + ahead,
        })
    }

    /// Where the member that a place belongs to begins and ends in the text.
    fn extent(&self, at: usize) -> Option<(usize, usize)> {
        let (session, _) = self.pool.trial(at)?;
        let sessions = self.pool.member(session)?.sessions.clone();
        let first = self.pool.sessions.get(sessions.start)?.start;
        let last = self.pool.sessions.get(sessions.end.checked_sub(1)?)?;
        Some((first, last.start + last.trace.scores.len()))
    }

    /// The most improbable stretch of trials side by side in which most of the second's are the first's plus `shift` millionths.
    /// None where chance gives as much.
    pub fn with_changes(&self, places: &[Two], shift: i64) -> Option<Alike> {
        let mut best = Stretch::default();
        let mut here = Stretch::default();
        let (matching, differing) = ((1.0 - CHANGED).ln(), CHANGED.ln());
        for (position, two) in places.iter().enumerate() {
            let matches = self.matches(*two, shift);
            let gain = match (matches, shift) {
                (true, 0) => self.surprise_of_equal(*two) + matching,
                (true, _) => self.surprise(*two) + matching,
                (false, _) => differing,
            };
            if here.surprise <= 0.0 {
                here = Stretch {
                    from: position,
                    ..Stretch::default()
                };
            }
            here.to = position + 1;
            here.surprise += gain;
            here.largest = here.largest.max(gain);
            here.differ += usize::from(!matches);
            if here.surprise > best.surprise {
                best = here;
            }
        }
        if shift == 0 && best.differ == 0 {
            return None;
        }
        // The first match of a shift sets it, and says nothing.
        let surprise = best.surprise - if shift == 0 { 0.0 } else { best.largest };
        let stretch = places.get(best.from..best.to).unwrap_or_default();
        let (a, b) = stretch.first().copied()?;
        let expected = self.expected(a, b, surprise);
        if expected > self.allowed {
            return None;
        }
        let way = if shift == 0 {
            Way::Changed(best.differ)
        } else {
            Way::Shifted(shift as f64 / 1e6, best.differ)
        };
        Some(self.alike(way, stretch, surprise, expected))
    }

    fn matches(&self, (a, b): Two, shift: i64) -> bool {
        if shift == 0 {
            return self.pool.text.get(a) == self.pool.text.get(b);
        }
        self.difference((a, b)) == Some(shift)
    }

    fn difference(&self, (a, b): Two) -> Option<i64> {
        let score = |at| self.pool.score(at).map(millionths);
        score(b)?.checked_sub(score(a)?)
    }
}

/// The smaller of two surprises: what can't be judged surprises nobody.
fn likelier(a: Option<f64>, b: Option<f64>) -> f64 {
    match (a, b) {
        (Some(a), Some(b)) => a.min(b),
        (Some(one), None) | (None, Some(one)) => one,
        (None, None) => 0.0,
    }
}

/// Two members laid side by side.
struct Beside {
    /// Where each begins in the text, the one of the earlier place first, and how far apart they are laid: equal for what is laid alike.
    members: (usize, usize, i64),
    first: usize,
    second: usize,
    length: usize,
}

impl Beside {
    fn places(&self) -> Vec<Two> {
        (0..self.length)
            .map(|i| (self.first + i, self.second + i))
            .collect()
    }
}

/// A stretch of trials side by side.
#[derive(Clone, Copy, Default)]
struct Stretch {
    from: usize,
    to: usize,
    surprise: f64,
    largest: f64,
    differ: usize,
}
