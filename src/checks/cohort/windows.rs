//! Members that share windows of trials at the same places of their programmes are laid side by side, whatever lies between.

use std::hash::{DefaultHasher, Hash, Hasher};

use rayon::prelude::*;

use super::pool::{Session, millionths};
use super::search::{Search, Two};

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

/// A window of one member: a digest of what it holds, its place in the programme, and where in the text it begins. Sixteen bytes: there are
/// half as many as trials.
type Window = (u64, u32, u32);

/// Two members, and by how much the second's scores lie above the first's, in millionths.
type Members = (usize, usize, i64);

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
        let windows = self.windows(WINDOW, |codes, _, digest| {
            codes.hash(digest);
            true
        });
        self.keep_near_of(&windows, |search, (first, second, _)| {
            search.with_changes(&search.place_by_place(*first, *second), 0)
        });
    }

    /// Members whose scores go up and down alike at the same places, at another level.
    pub fn shifted(&mut self) {
        let mut windows = self.windows(WINDOW_OF_STEPS, |_, scores, digest| {
            let mut differ = false;
            for pair in scores.windows(2) {
                let [a, b] = pair else { return false };
                let Some(step) = b.checked_sub(*a) else {
                    return false;
                };
                differ |= step != 0;
                step.hash(digest);
            }
            differ
        });
        windows.retain(|(_, _, shift)| *shift != 0);
        self.keep_near_of(&windows, |search, (first, second, shift)| {
            search.with_changes(&search.place_by_place(*first, *second), *shift)
        });
    }

    /// Every window of a session, with what `key` makes of its codes and its scores in millionths.
    fn windows_of(
        &self,
        session: &Session,
        length: usize,
        key: impl Fn(&[u32], &[i64], &mut DefaultHasher) -> bool,
    ) -> Vec<Window> {
        let member = self.pool.members.get(session.member);
        let is_fine = member.is_some_and(|member| self.pool.distinct_scores(member.scale) >= FINE);
        let length = if is_fine { FINE_WINDOW } else { length };
        let scores: Vec<i64> = session
            .trace
            .scores
            .iter()
            .map(|score| millionths(*score))
            .collect();
        let codes = self.pool.codes(session).windows(length);
        let places = self.pool.place_of.get(session.start..).unwrap_or_default();
        codes
            .zip(scores.windows(length))
            .zip(places)
            .zip(session.start..)
            .filter_map(|(((codes, scores), place), at)| {
                let mut digest = DefaultHasher::new();
                let at = u32::try_from(at).ok()?;
                key(codes, scores, &mut digest).then_some((digest.finish(), *place, at))
            })
            .collect()
    }

    /// The member that a window belongs to, and its first score in millionths.
    fn begin(&self, (_, _, at): Window) -> Option<(usize, i64)> {
        let (session, _) = self.pool.trial(at as usize)?;
        let member = self.pool.sessions.get(session)?.member;
        Some((member, millionths(self.pool.score(at as usize)?)))
    }

    /// Each two members that share at least two windows of one digest at the same place, with the difference of their scores there. What
    /// goes into the digest is up to `key`, which may leave a window out. Windows that many share are usual, and say nothing; what shares a
    /// digest is compared score by score afterwards.
    fn windows(
        &self,
        length: usize,
        key: impl Fn(&[u32], &[i64], &mut DefaultHasher) -> bool + Sync,
    ) -> Vec<Members> {
        let mut windows: Vec<Window> = self
            .pool
            .sessions
            .par_iter()
            .flat_map_iter(|session| self.windows_of(session, length, &key))
            .collect();
        windows.par_sort_unstable();
        let mut shared: Vec<Members> = Vec::new();
        let same = |a: &Window, b: &Window| (a.0, a.1) == (b.0, b.1);
        for members in windows
            .chunk_by(same)
            .filter(|members| members.len() <= USUAL_WINDOW)
        {
            let begins: Vec<_> = members.iter().filter_map(|own| self.begin(*own)).collect();
            for (position, (first, level)) in begins.iter().enumerate() {
                for (second, other) in begins.iter().skip(position + 1) {
                    let owner =
                        |member: usize| self.pool.members.get(member).map(|member| member.pair);
                    if owner(*first) != owner(*second)
                        && let Some(shift) = other.checked_sub(*level)
                    {
                        shared.push((*first, *second, shift));
                    }
                }
            }
        }
        shared.par_sort_unstable();
        shared
            .chunk_by(|a, b| a == b)
            .filter(|times| times.len() >= 2)
            .filter_map(|times| times.first().copied())
            .collect()
    }
}
