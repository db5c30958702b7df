//! Members that share windows of trials at the same places of their programmes are laid side by side, whatever lies between.

use std::collections::{HashMap, HashSet};
use std::hash::{DefaultHasher, Hash, Hasher};

use super::pool::{Session, millionths};
use super::search::{Search, Two};
use super::trace::Scale;

/// Trials in a window that two pairs must share, twice, before their trials are laid side by side.
const WINDOW: usize = 8;
/// The same where differences from trial to trial are shared.
const WINDOW_OF_STEPS: usize = 7;
/// The same for both where scores are fine: a few equal ones are rare enough, and a copy with every fifth trial changed has no more in a row.
const FINE_WINDOW: usize = 4;
/// Different scores from which on a measure is fine.
const FINE: usize = 50;
/// More pairs than this that share a window share something usual.
pub(super) const USUAL_WINDOW: usize = 40;

/// A window of one member: where it stands, a digest of what it holds, whose it is, and its first score.
type Window = (u32, u64, usize, i64);

impl Search<'_> {
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
            let same =
                |b: &&Session| (b.trace.phase, b.trace.ordinal) == (a.trace.phase, a.trace.ordinal);
            if let Some(b) = sessions(second).iter().find(same) {
                let n = a.trace.scores.len().min(b.trace.scores.len());
                places.extend((0..n).map(|i| (a.start + i, b.start + i)));
            }
        }
        places
    }

    /// Members whose scores are equal at the same places, but for some.
    pub fn side_by_side(&mut self) {
        let windows = self.windows(WINDOW, |codes, _| Some(codes.to_vec()));
        for ((first, second, _), times) in windows {
            if times >= 2 {
                let places = self.place_by_place(first, second);
                self.with_changes(&places, 0);
            }
        }
    }

    /// Members whose scores go up and down alike at the same places, at another level.
    pub fn shifted(&mut self) {
        let windows = self.windows(WINDOW_OF_STEPS, |_, scores| {
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

    /// The scales on which many different scores occur.
    fn fine_scales(&self) -> HashSet<Scale> {
        let mut scores: HashMap<Scale, HashSet<u32>> = HashMap::new();
        for session in &self.pool.sessions {
            if let Some(member) = self.pool.members.get(session.member) {
                let seen = scores.entry(member.scale).or_default();
                if seen.len() < FINE {
                    seen.extend(self.pool.codes(session));
                }
            }
        }
        scores.retain(|_, seen| seen.len() >= FINE);
        scores.into_keys().collect()
    }

    /// How often each two members share what `key` makes of windows at the same place, by the difference of their scores there. Windows that
    /// many share are usual, and say nothing.
    fn windows<K: Hash>(
        &self,
        length: usize,
        key: impl Fn(&[u32], &[i64]) -> Option<K>,
    ) -> Vec<((usize, usize, i64), usize)> {
        let mut windows: Vec<Window> = Vec::new();
        let fine = self.fine_scales();
        for session in &self.pool.sessions {
            let member = self.pool.members.get(session.member);
            let is_fine = member.is_some_and(|member| fine.contains(&member.scale));
            let length = if is_fine { FINE_WINDOW } else { length };
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
                    // What shares a digest is compared score by score afterwards.
                    let mut hasher = DefaultHasher::new();
                    key.hash(&mut hasher);
                    windows.push((*place, hasher.finish(), session.member, *level));
                }
            }
        }
        windows.sort_unstable();
        let mut times: HashMap<(usize, usize, i64), usize> = HashMap::new();
        let same = |a: &Window, b: &Window| (a.0, a.1) == (b.0, b.1);
        for members in windows
            .chunk_by(same)
            .filter(|members| members.len() <= USUAL_WINDOW)
        {
            for (position, (_, _, first, level)) in members.iter().enumerate() {
                for (_, _, second, other) in members.iter().skip(position + 1) {
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
}
