//! Sessions with the same scores in another order.

use std::collections::HashSet;

use rayon::prelude::*;

use super::alike::{Alike, Way};
use super::search::{SHORTEST, Search, Two};
use super::windows::USUAL_WINDOW;

/// Two sessions with the same scores in another order.
struct SameScores {
    /// The members that they belong to.
    members: (usize, usize),
    /// ln of the chance of it.
    log_chance: f64,
    first: usize,
    second: usize,
}

impl Search<'_> {
    /// Sessions with the same scores in another order.
    pub fn reordered(&mut self) {
        // In one text, as they stand in the pool's: a list of its own for each session would take four times the room.
        let mut sorted = self.pool.text.clone();
        let mut sessions: Vec<usize> = Vec::new();
        for (index, session) in self.pool.sessions.iter().enumerate() {
            if session.trace.scores.len() >= SHORTEST
                && let Some(codes) = sorted.get_mut(session.range())
            {
                codes.sort_unstable();
                sessions.push(index);
            }
        }
        let sorted_codes = |session: usize| {
            let range = self.pool.sessions.get(session)?.range();
            sorted.get(range)
        };
        sessions.par_sort_unstable_by_key(|session| (sorted_codes(*session), *session));
        let mut found: Vec<SameScores> = sessions
            .par_chunk_by(|a, b| sorted_codes(*a) == sorted_codes(*b))
            .filter(|alike| (2..=USUAL_WINDOW).contains(&alike.len()))
            .flat_map_iter(|alike| {
                let two = |(position, first): (usize, &usize)| {
                    let others = alike.get(position + 1..).unwrap_or_default();
                    let first = *first;
                    others.iter().map(move |second| (first, *second))
                };
                alike.iter().enumerate().flat_map(two)
            })
            .filter_map(|(first, second)| self.same_scores(sorted_codes(first)?, first, second))
            .collect();
        found.sort_by(|a, b| {
            let by_chance = a.log_chance.total_cmp(&b.log_chance);
            a.members
                .cmp(&b.members)
                .then(by_chance)
                .then((a.first, a.second).cmp(&(b.first, b.second)))
        });
        let by_members: Vec<&[SameScores]> =
            found.chunk_by(|a, b| a.members == b.members).collect();
        self.keep_near_of(&by_members, |search, found| search.together(found));
    }

    /// What there is to say of two sessions with the same scores (here sorted) in another order; none where the order is the same too.
    fn same_scores(&self, sorted: &[u32], first: usize, second: usize) -> Option<SameScores> {
        let (a, b) = (
            self.pool.sessions.get(first)?,
            self.pool.sessions.get(second)?,
        );
        let members = (a.member, b.member);
        let in_order = self.pool.codes(a) == self.pool.codes(b);
        if in_order || self.pool.member(first)?.pair == self.pool.member(second)?.pair {
            return None;
        }
        let same_place = (a.trace.phase, a.trace.ordinal) == (b.trace.phase, b.trace.ordinal);
        let factorial = |n: usize| libm::lgamma(n as f64 + 1.0);
        let mut log_chance = factorial(sorted.len());
        for same in sorted.chunk_by(|a, b| a == b) {
            let code = *same.first()?;
            let surprise = self
                .pool
                .surprise(first, code)
                .min(self.pool.surprise(second, code));
            log_chance -= factorial(same.len()) + same.len() as f64 * surprise;
        }
        if !same_place {
            // It could have been any of the other's sessions.
            log_chance += (self.pool.members.get(members.1)?.sessions.len() as f64).ln();
        }
        Some(SameScores {
            members,
            log_chance: log_chance.min(0.0),
            first,
            second,
        })
    }

    /// All the sessions that two members have alike, the most improbable first, taken together: the most improbable number of them.
    fn together(&self, found: &[SameScores]) -> Option<Alike> {
        let (mut seen_first, mut seen_second) = (HashSet::new(), HashSet::new());
        let each_once: Vec<&SameScores> = found
            .iter()
            .filter(|same| seen_first.insert(same.first) && seen_second.insert(same.second))
            .collect();
        let member = self.pool.members.get(found.first()?.members.0)?;
        let sessions = member.sessions.len();
        let choose = |n: usize, k: usize| {
            libm::lgamma(n as f64 + 1.0)
                - libm::lgamma(k as f64 + 1.0)
                - libm::lgamma((n.saturating_sub(k)) as f64 + 1.0)
        };
        let mut sum = 0.0;
        let mut best = (0.0, 0);
        for (taken, same) in (1..).zip(&each_once) {
            sum += same.log_chance;
            let surprise = -(sum + choose(sessions, taken));
            if surprise > best.0 {
                best = (surprise, taken);
            }
        }
        let expected = self.expected_of_members(best.0);
        if expected > self.allowed {
            return None;
        }
        let mut places: Vec<Two> = Vec::new();
        for same in each_once.iter().take(best.1) {
            let (a, b) = (
                self.pool.sessions.get(same.first)?,
                self.pool.sessions.get(same.second)?,
            );
            places.extend((0..a.trace.scores.len()).map(|i| (a.start + i, b.start + i)));
        }
        Some(self.alike(Way::Reordered, &places, best.0, expected))
    }
}
