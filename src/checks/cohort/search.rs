//! Looks for what two pairs have alike, and keeps what chance does not give.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};

use super::alike::{Alike, Comparisons, Way};
use super::pool::{Pool, millionths};
use super::suffixes::shared_stretches;

/// How two pairs' trials are compared: each way has the same share of the chance that is allowed in all.
const WAYS: f64 = 4.0;
/// Trials in the shortest run, and the shortest session, that is looked at.
pub(super) const SHORTEST: usize = 5;
/// Share of trials that may differ in a run with changes.
const CHANGED: f64 = 0.1;
/// How much more improbable a run with changes must be than the run without, as −ln of a chance: less is what chance adds at its ends.
const MORE: f64 = 5.0;

pub(super) struct Search<'p> {
    pub pool: &'p Pool<'p>,
    comparisons: Comparisons,
    allowed: f64,
    equal: HashMap<(usize, usize), Vec<Alike>>,
    near: HashMap<(usize, usize), Alike>,
    /// What a session makes of a score: asked for again and again.
    surprises: RefCell<HashMap<(usize, u32), f64>>,
    /// Two members, and how far apart in the text, already laid side by side.
    beside: HashSet<(usize, usize, i64)>,
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
            surprises: RefCell::default(),
            beside: HashSet::new(),
        }
    }

    /// What was kept: equal runs and near copies.
    pub fn found(self) -> (Vec<Alike>, Vec<Alike>) {
        (
            self.equal.into_values().flatten().collect(),
            self.near.into_values().collect(),
        )
    }

    /// Runs that are equal, and what lies around them with some changes.
    pub fn runs(&mut self) {
        let shared = shared_stretches(&self.pool.text, &self.pool.owner, SHORTEST);
        let mut longer = Vec::new();
        for run in shared {
            let places: Vec<Two> = (0..run.length)
                .map(|i| (run.at + i, run.other + i))
                .collect();
            let surprise: f64 = places.iter().map(|two| self.surprise(*two)).sum();
            self.keep_equal(&places, surprise);
            // What chance gives now and then may be part of something longer.
            if self.expected(run.at, run.other, surprise) < 1e3 {
                longer.push((run.at, run.other));
            }
        }
        for (at, other) in longer {
            self.along(at, other);
        }
    }

    /// How many members as much alike chance would give.
    pub fn expected_of_members(&self, surprise: f64) -> f64 {
        WAYS * self.comparisons.members * (-surprise).exp()
    }

    fn owner(&self, at: usize) -> usize {
        self.pool
            .owner
            .get(at)
            .map_or(usize::MAX, |owner| *owner as usize)
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

    /// −ln of the chance that the second trial shows what it does: by whichever of the two sessions makes it likelier.
    fn surprise(&self, (a, b): Two) -> f64 {
        let code = self.pool.text.get(b).copied().unwrap_or(0);
        let mut least = f64::INFINITY;
        for at in [a, b] {
            if let Some((session, _)) = self.pool.trial(at) {
                let mut known = self.surprises.borrow_mut();
                let surprise = *known
                    .entry((session, code))
                    .or_insert_with(|| self.pool.surprise(session, code));
                least = least.min(surprise);
            }
        }
        if least.is_finite() { least } else { 0.0 }
    }

    fn keep_equal(&mut self, places: &[Two], surprise: f64) {
        let Some((a, b)) = places.first().copied() else {
            return;
        };
        let expected = self.expected(a, b, surprise);
        if expected > self.allowed {
            return;
        }
        let alike = self.alike(Way::Equal, places, surprise, expected);
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

    pub fn keep_near(&mut self, alike: Alike) {
        if alike.expected > self.allowed {
            return;
        }
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
    fn along(&mut self, a: usize, b: usize) {
        let (Some(first), Some(second)) = (self.extent(a), self.extent(b)) else {
            return;
        };
        let (Ok(left), Ok(right)) = (i64::try_from(a), i64::try_from(b)) else {
            return;
        };
        let key = if a < b {
            (first.0, second.0, right - left)
        } else {
            (second.0, first.0, left - right)
        };
        if !self.beside.insert(key) {
            return;
        }
        let back = (a - first.0).min(b - second.0);
        let ahead = (first.1 - a).min(second.1 - b);
        let places: Vec<Two> = (0..back + ahead)
            .map(|i| (a - back + i, b - back + i))
            .collect();
        self.with_changes(&places, 0);
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
    pub fn with_changes(&mut self, places: &[Two], shift: i64) {
        let mut best = Stretch::default();
        let mut here = Stretch::default();
        for (position, two) in places.iter().enumerate() {
            let matches = self.matches(*two, shift);
            let gain = if matches {
                self.surprise(*two) + (1.0 - CHANGED).ln()
            } else {
                CHANGED.ln()
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
            return;
        }
        // The first match of a shift sets it, and says nothing.
        let surprise = best.surprise - if shift == 0 { 0.0 } else { best.largest };
        let stretch = places.get(best.from..best.to).unwrap_or_default();
        let Some((a, b)) = stretch.first().copied() else {
            return;
        };
        let way = if shift == 0 {
            Way::Changed(best.differ)
        } else {
            Way::Shifted(shift as f64 / 1e6, best.differ)
        };
        let expected = self.expected(a, b, surprise);
        let alike = self.alike(way, stretch, surprise, expected);
        self.keep_near(alike);
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

/// A stretch of trials side by side.
#[derive(Clone, Copy, Default)]
struct Stretch {
    from: usize,
    to: usize,
    surprise: f64,
    largest: f64,
    differ: usize,
}
