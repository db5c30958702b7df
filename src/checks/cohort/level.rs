//! What is usual at a level: how often scores occur in sessions whose means lie near.

use std::collections::HashMap;

use rayon::prelude::*;

use super::pool::Pool;
use super::trace::Scale;

/// Trials that describe what is usual at a level: enough for a frequency, few enough to be near.
const TRIALS: usize = 200;
/// In a small cohort fewer, so that it still has several levels; below this many, frequencies mean nothing.
const LEAST_TRIALS: usize = 40;
/// Sessions of like level that are looked at for a usual spread.
const SESSIONS: usize = 40;

/// Sessions of like measures by level.
#[derive(Default)]
pub(super) struct Levels {
    /// Sessions by their means.
    by_mean: HashMap<Scale, Vec<(f64, usize)>>,
    /// The level of each session, by its index; none where its mean is not finite.
    of_session: Vec<Option<usize>>,
    each: Vec<Level>,
}

/// The scores of sessions of one level.
struct Level {
    /// Their codes, sorted.
    codes: Vec<u32>,
    /// Different scores seen at any level.
    distinct: usize,
}

impl Levels {
    /// The levels of a pool.
    pub fn of(pool: &Pool) -> Self {
        let mut by_mean: HashMap<Scale, Vec<(f64, usize)>> = HashMap::new();
        for (index, session) in pool.sessions.iter().enumerate() {
            if let Some(member) = pool.members.get(session.member)
                && session.mean.is_finite()
            {
                by_mean
                    .entry(member.scale)
                    .or_default()
                    .push((session.mean, index));
            }
        }
        let mut found = Self {
            by_mean: HashMap::new(),
            of_session: vec![None; pool.sessions.len()],
            each: Vec::new(),
        };
        for (scale, sessions) in &mut by_mean {
            sessions.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            // Measures of another scale begin with a level of their own.
            found.divide(pool, sessions, pool.distinct_scores(*scale));
        }
        found
            .each
            .par_iter_mut()
            .for_each(|level| level.codes.sort_unstable());
        found.by_mean = by_mean;
        found
    }

    /// Divides sessions in order of their means into levels of some hundred trials. Sessions with one and the same mean are of one level.
    fn divide(&mut self, pool: &Pool, sessions: &[(f64, usize)], distinct: usize) {
        let trials = |session: usize| {
            pool.sessions
                .get(session)
                .map_or(0, |session| session.trace.scores.len())
        };
        let all: usize = sessions.iter().map(|(_, session)| trials(*session)).sum();
        let wanted = (all / 8).clamp(LEAST_TRIALS, TRIALS);
        let mut left = all;
        let mut taken = 0;
        let mut first = true;
        for alike in sessions.chunk_by(|a, b| a.0.total_cmp(&b.0).is_eq()) {
            let here: usize = alike.iter().map(|(_, session)| trials(*session)).sum();
            // What is left at the end joins the last level; what is enough by itself, as at the end of a scale, is a level of its own.
            if here >= wanted || (taken >= wanted && left >= wanted) || first {
                self.each.push(Level {
                    codes: Vec::new(),
                    distinct: distinct.max(2),
                });
                taken = 0;
                first = false;
            }
            taken += here;
            left -= here;
            for (_, session) in alike {
                self.add(pool, *session);
            }
        }
    }

    /// Adds a session to the last level.
    fn add(&mut self, pool: &Pool, session: usize) {
        let index = self.each.len().checked_sub(1);
        if let (Some(level), Some(own)) = (self.each.last_mut(), pool.sessions.get(session)) {
            level.codes.extend(pool.codes(own));
        }
        if let Some(of) = self.of_session.get_mut(session) {
            *of = index;
        }
    }

    /// See [`Pool::surprise`].
    pub fn surprise(&self, pool: &Pool, session: usize, code: u32) -> f64 {
        let of = |session: usize| self.of_session.get(session).copied().flatten();
        let Some(level) = of(session).and_then(|level| self.each.get(level)) else {
            return 0.0;
        };
        let mut count = level.count(code);
        let mut n = level.codes.len();
        // What the pair itself shows at that level says nothing of others.
        let own = pool
            .member(session)
            .map_or(0..0, |member| member.sessions.clone());
        for other in own.filter(|other| of(*other) == of(session)) {
            if let Some(other) = pool.sessions.get(other) {
                let codes = pool.codes(other);
                n -= codes.len();
                count -= codes.iter().filter(|other| **other == code).count();
            }
        }
        -((count as f64 + 1.0 / level.distinct as f64) / (n as f64 + 1.0)).ln()
    }

    /// Sessions of other pairs whose means lie nearest to a session's.
    pub fn like_sessions(&self, pool: &Pool, session: usize) -> Vec<usize> {
        let Some((own, member)) = pool.sessions.get(session).zip(pool.member(session)) else {
            return Vec::new();
        };
        let Some(sessions) = self.by_mean.get(&member.scale) else {
            return Vec::new();
        };
        let middle = sessions.partition_point(|(mean, _)| *mean < own.mean);
        let mut below = sessions
            .get(..middle)
            .unwrap_or_default()
            .iter()
            .rev()
            .peekable();
        let mut above = sessions.get(middle..).unwrap_or_default().iter().peekable();
        let mut found = Vec::new();
        while found.len() < SESSIONS {
            let away = |next: Option<&&(f64, usize)>| {
                next.map_or(f64::INFINITY, |(mean, _)| (mean - own.mean).abs())
            };
            let next = if away(below.peek()) < away(above.peek()) {
                below.next()
            } else {
                above.next().or_else(|| below.next())
            };
            let Some((_, like)) = next else { break };
            if pool
                .member(*like)
                .is_some_and(|other| other.pair != member.pair)
            {
                found.push(*like);
            }
        }
        found
    }
}

impl Level {
    /// How often a code occurs.
    fn count(&self, code: u32) -> usize {
        let first = self.codes.partition_point(|other| *other < code);
        let from_first = self.codes.get(first..).unwrap_or_default();
        from_first.partition_point(|other| *other == code)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::testing::Cohort;

    #[test]
    fn a_score_surprises_by_its_share_at_that_level_among_others() {
        let mut cohort = Cohort::of_ratings(40);
        // At the top of the scale: the last thirty trials of half of the pairs.
        for pair in 0..20 {
            cohort.fill(pair, 60..90, 4.0);
        }
        let traces = cohort.traces();
        let pool = Pool::new(&traces);
        let four = pool.text[60];
        let top = pool.surprise(8, four);
        assert!(top < 0.1, "fours are the rule there: {top}");
        let low = pool
            .sessions
            .iter()
            .position(|session| session.mean < 1.6)
            .unwrap();
        assert!(pool.surprise(low, four) > 2.0, "and rare near the bottom");
    }

    #[test]
    fn what_nobody_else_has_is_one_of_the_scores_seen() {
        let mut cohort = Cohort::of_distances(8);
        cohort.fill(3, 5..6, 77.7);
        let traces = cohort.traces();
        let pool = Pool::new(&traces);
        let at = pool
            .sessions
            .iter()
            .find(|session| pool.members[session.member].pair == 3)
            .unwrap();
        let (session, code) = (pool.trial(at.start + 5).unwrap().0, pool.text[at.start + 5]);
        let distinct = pool
            .text
            .iter()
            .filter(|code| **code < 5_000)
            .collect::<std::collections::HashSet<_>>()
            .len();
        // ln(distinct · (n + 1)) for n trials of others at that level, some tens to hundreds.
        let surprise = pool.surprise(session, code) - (distinct as f64).ln();
        assert!((3.0..7.0).contains(&surprise), "{surprise}");
    }
}
