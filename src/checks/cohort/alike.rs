//! Runs of trials that two pairs have alike, each with the number of such runs that chance would give over all comparisons of the cohort.
//!
//! The chance of one trial is how often its score occurs in sessions of like level of other pairs. For a run that begins at one place the
//! product of these chances bounds the chance of any run as improbable from there (Ville 1939: a likelihood ratio with expectation 1 exceeds
//! 1/p with a chance of p at most); where some trials may differ, a mixture of matching and differing (9 in 10, 1 in 10) takes its place.
//! Times the number of places compared, that is the expected number of such runs.

use std::collections::{HashMap, HashSet};

use super::pool::{Pool, millionths};
use super::suffixes::shared_stretches;

/// How two pairs' trials are compared: each way has the same share of the chance that is allowed in all.
const WAYS: f64 = 4.0;
/// Trials in the shortest run that is looked at.
const SHORTEST: usize = 5;
/// Trials in a window that two pairs must share, twice, before their trials are laid side by side.
const WINDOW: usize = 8;
/// The same for differences from trial to trial.
const DIFFERENCES: usize = 6;
/// More pairs than this that share a window share something usual.
const USUAL_WINDOW: usize = 40;
/// Share of trials that may differ in a run with changes.
const CHANGED: f64 = 0.1;
/// How much more improbable a run with changes must be than the run without, as −ln of a chance: less is what chance adds at its ends.
const MORE: f64 = 5.0;

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
struct Comparisons {
    /// The same place of two programmes.
    same_place: f64,
    /// Any place with any other.
    any_place: f64,
    /// Two pairs' like measures.
    members: f64,
}

impl Likenesses {
    /// What pairs have alike, at or below this expected number.
    pub fn of(pool: &mut Pool, allowed: f64) -> Self {
        let comparisons = Comparisons::of(pool);
        let mut search = Search {
            pool,
            comparisons,
            allowed,
            equal: HashMap::new(),
            near: HashMap::new(),
            beside: HashSet::new(),
        };
        search.runs();
        search.side_by_side();
        search.shifted();
        search.reordered();
        let comparisons = search.comparisons.same_place + search.comparisons.any_place;
        Self {
            equal: in_order(search.equal.into_values().flatten().collect()),
            near: in_order(search.near.into_values().collect()),
            comparisons,
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
        for place in pool.place_of.iter().filter(|place| **place != u32::MAX) {
            *at_place.entry(*place).or_insert(0.0) += 1.0;
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

struct Search<'p, 'a> {
    pool: &'p mut Pool<'a>,
    comparisons: Comparisons,
    allowed: f64,
    equal: HashMap<(usize, usize), Vec<Alike>>,
    near: HashMap<(usize, usize), Alike>,
    /// Two members, and how far apart in the text, already laid side by side.
    beside: HashSet<(usize, usize, i64)>,
}

/// ln of the chance that two sessions hold the same scores, and the two.
type SameScores = (f64, usize, usize);
/// One trial of each of two pairs.
type Two = (usize, usize);

impl Search<'_, '_> {
    /// Runs that are equal, and what lies around them with some changes.
    fn runs(&mut self) {
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
    fn surprise(&mut self, (a, b): Two) -> f64 {
        let code = self.pool.text.get(b).copied().unwrap_or(0);
        let mut least = f64::INFINITY;
        for at in [a, b] {
            if let Some((session, _)) = self.pool.trial(at) {
                least = least.min(self.pool.surprise(session, code));
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

    fn keep_near(&mut self, alike: Alike) {
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

    fn alike(&self, way: Way, places: &[Two], surprise: f64, expected: f64) -> Alike {
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
    fn with_changes(&mut self, places: &[Two], shift: i64) {
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

    /// Two members' trials, place by place.
    fn place_by_place(&self, first: usize, second: usize) -> Vec<Two> {
        let sessions = |member: usize| {
            let range = self
                .pool
                .members
                .get(member)
                .map_or(0..0, |member| member.sessions.clone());
            self.pool.sessions.get(range).unwrap_or_default()
        };
        let mut places = Vec::new();
        for a in sessions(first) {
            let same = |b: &&super::pool::Session| {
                (b.trace.phase, b.trace.ordinal) == (a.trace.phase, a.trace.ordinal)
            };
            if let Some(b) = sessions(second).iter().find(same) {
                let n = a.trace.scores.len().min(b.trace.scores.len());
                places.extend((0..n).map(|i| (a.start + i, b.start + i)));
            }
        }
        places
    }

    /// Members that share windows at the same places of their programmes, laid side by side.
    fn side_by_side(&mut self) {
        let windows = self.windows(WINDOW, |codes, _| Some(codes.to_vec()));
        for ((first, second, _), times) in windows {
            if times >= 2 {
                let places = self.place_by_place(first, second);
                self.with_changes(&places, 0);
            }
        }
    }

    /// Members whose scores go up and down alike at the same places, at another level.
    fn shifted(&mut self) {
        let windows = self.windows(DIFFERENCES + 1, |_, scores| {
            let steps: Option<Vec<i64>> = scores
                .windows(2)
                .map(|pair| match pair {
                    [a, b] => b.checked_sub(*a),
                    _ => None,
                })
                .collect();
            steps.filter(|steps| steps.iter().any(|step| *step != 0))
        });
        for ((first, second, shift), times) in windows {
            if times >= 2 && shift != 0 {
                let places = self.place_by_place(first, second);
                self.with_changes(&places, shift);
            }
        }
    }

    /// How often each two members share what `key` makes of windows at the same place, by the difference of their scores there. Windows that
    /// many share are usual, and say nothing.
    fn windows<K: std::hash::Hash + Eq>(
        &self,
        length: usize,
        key: impl Fn(&[u32], &[i64]) -> Option<K>,
    ) -> Vec<((usize, usize, i64), usize)> {
        let mut sharing: HashMap<(u32, K), Vec<(usize, i64)>> = HashMap::new();
        for session in &self.pool.sessions {
            let n = session.trace.scores.len();
            let scores: Vec<i64> = session
                .trace
                .scores
                .iter()
                .map(|score| millionths(*score))
                .collect();
            for from in 0..(n + 1).saturating_sub(length) {
                let at = session.start + from;
                let (Some(codes), Some(window), Some(place)) = (
                    self.pool.text.get(at..at + length),
                    scores.get(from..from + length),
                    self.pool.place_of.get(at),
                ) else {
                    continue;
                };
                if let (Some(key), Some(level)) = (key(codes, window), window.first()) {
                    sharing
                        .entry((*place, key))
                        .or_default()
                        .push((session.member, *level));
                }
            }
        }
        let mut times: HashMap<(usize, usize, i64), usize> = HashMap::new();
        for members in sharing
            .values()
            .filter(|members| (2..=USUAL_WINDOW).contains(&members.len()))
        {
            for (position, (first, level)) in members.iter().enumerate() {
                for (second, other) in members.iter().skip(position + 1) {
                    let owner =
                        |member: usize| self.pool.members.get(member).map(|member| member.pair);
                    if owner(*first) != owner(*second)
                        && let Some(shift) = other.checked_sub(*level)
                    {
                        *times.entry((*first, *second, shift)).or_insert(0) += 1;
                    }
                }
            }
        }
        let mut times: Vec<_> = times.into_iter().collect();
        times.sort_unstable();
        times
    }

    /// Sessions with the same scores in another order.
    fn reordered(&mut self) {
        let mut same: HashMap<Vec<u32>, Vec<usize>> = HashMap::new();
        for (index, session) in self.pool.sessions.iter().enumerate() {
            let n = session.trace.scores.len();
            if n >= SHORTEST {
                let mut codes = self
                    .pool
                    .text
                    .get(session.start..session.start + n)
                    .unwrap_or_default()
                    .to_vec();
                codes.sort_unstable();
                same.entry(codes).or_default().push(index);
            }
        }
        let mut by_members: HashMap<(usize, usize), Vec<SameScores>> = HashMap::new();
        for sessions in same
            .values()
            .filter(|sessions| (2..=USUAL_WINDOW).contains(&sessions.len()))
        {
            for (position, first) in sessions.iter().enumerate() {
                for second in sessions.iter().skip(position + 1) {
                    if let Some((members, log_chance)) = self.same_scores(*first, *second) {
                        by_members
                            .entry(members)
                            .or_default()
                            .push((log_chance, *first, *second));
                    }
                }
            }
        }
        let mut by_members: Vec<_> = by_members.into_iter().collect();
        by_members.sort_by_key(|(members, _)| *members);
        for (members, found) in by_members {
            self.keep_reordered(members, found);
        }
    }

    /// The members of two sessions with the same scores in another order, and ln of the chance of that.
    fn same_scores(&mut self, first: usize, second: usize) -> Option<((usize, usize), f64)> {
        let (a, b) = (
            self.pool.sessions.get(first)?,
            self.pool.sessions.get(second)?,
        );
        let n = a.trace.scores.len();
        let codes = |start: usize| self.pool.text.get(start..start + n);
        let members = (a.member, b.member);
        let in_order = codes(a.start) == codes(b.start);
        if in_order || self.pool.member(first)?.pair == self.pool.member(second)?.pair {
            return None;
        }
        let same_place = (a.trace.phase, a.trace.ordinal) == (b.trace.phase, b.trace.ordinal);
        let mut counts: HashMap<u32, usize> = HashMap::new();
        for code in codes(a.start)? {
            *counts.entry(*code).or_insert(0) += 1;
        }
        let factorial = |n: usize| libm::lgamma(n as f64 + 1.0);
        let mut log_chance = factorial(n);
        for (code, count) in counts {
            let surprise = self
                .pool
                .surprise(first, code)
                .min(self.pool.surprise(second, code));
            log_chance -= factorial(count) + count as f64 * surprise;
        }
        if !same_place {
            // It could have been any of the other's sessions.
            log_chance += (self.pool.members.get(members.1)?.sessions.len() as f64).ln();
        }
        Some((members, log_chance.min(0.0)))
    }

    /// All the sessions that two members have alike, taken together: the most improbable number of them.
    fn keep_reordered(&mut self, members: (usize, usize), mut found: Vec<SameScores>) {
        found.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
        let (mut seen_first, mut seen_second) = (HashSet::new(), HashSet::new());
        found.retain(|(_, first, second)| seen_first.insert(*first) && seen_second.insert(*second));
        let sessions = self
            .pool
            .members
            .get(members.0)
            .map_or(0, |member| member.sessions.len());
        let choose = |n: usize, k: usize| {
            libm::lgamma(n as f64 + 1.0)
                - libm::lgamma(k as f64 + 1.0)
                - libm::lgamma((n.saturating_sub(k)) as f64 + 1.0)
        };
        let mut sum = 0.0;
        let mut best = (0.0, 0);
        for (taken, (log_chance, ..)) in (1..).zip(&found) {
            sum += log_chance;
            let surprise = -(sum + choose(sessions, taken));
            if surprise > best.0 {
                best = (surprise, taken);
            }
        }
        let mut places: Vec<Two> = Vec::new();
        for (_, first, second) in found.iter().take(best.1) {
            if let (Some(a), Some(b)) = (
                self.pool.sessions.get(*first),
                self.pool.sessions.get(*second),
            ) {
                places.extend((0..a.trace.scores.len()).map(|i| (a.start + i, b.start + i)));
            }
        }
        let expected = WAYS * self.comparisons.members * (-best.0).exp();
        let alike = self.alike(Way::Reordered, &places, best.0, expected);
        self.keep_near(alike);
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
