//! Sessions with the same scores in another order.

use std::collections::{HashMap, HashSet};

use super::alike::Way;
use super::search::{SHORTEST, Search, Two};
use super::windows::USUAL_WINDOW;

/// ln of the chance that two sessions hold the same scores, and the two.
type SameScores = (f64, usize, usize);

impl Search<'_> {
    /// Sessions with the same scores in another order.
    pub fn reordered(&mut self) {
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
    fn same_scores(&self, first: usize, second: usize) -> Option<((usize, usize), f64)> {
        let (a, b) = (
            self.pool.sessions.get(first)?,
            self.pool.sessions.get(second)?,
        );
        let n = a.trace.scores.len();
        let members = (a.member, b.member);
        let in_order = self.pool.codes(a) == self.pool.codes(b);
        if in_order || self.pool.member(first)?.pair == self.pool.member(second)?.pair {
            return None;
        }
        let same_place = (a.trace.phase, a.trace.ordinal) == (b.trace.phase, b.trace.ordinal);
        let mut counts: HashMap<u32, usize> = HashMap::new();
        for code in self.pool.codes(a) {
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
        let expected = self.expected_of_members(best.0);
        let alike = self.alike(Way::Reordered, &places, best.0, expected);
        self.keep_near(alike);
    }
}
