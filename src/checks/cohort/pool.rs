//! The scores of all pairs in one place: as one text for comparing runs, and by level for knowing what is usual.

use std::collections::HashMap;
use std::ops::Range;

use super::level::Levels;
use super::trace::{PairTrace, Scale, SessionTrace};
use crate::phase::Phase;
use crate::place::Place;

/// What stands where no session or place does: behind a member's last trial.
const NONE: u32 = u32::MAX;

/// The scores of all pairs.
pub(super) struct Pool<'a> {
    pub traces: &'a [PairTrace],
    /// One entry a measure of a pair.
    pub members: Vec<Member>,
    pub sessions: Vec<Session<'a>>,
    /// A code a score: equal for equal scores of like measures; after each member's scores a code of its own.
    pub text: Vec<u32>,
    /// Index of the pair that a code belongs to.
    pub owner: Vec<u32>,
    /// Where in its programme each code stands: equal for the same phase, session and trial of like measures.
    pub place_of: Vec<u32>,
    /// What is usual at a level.
    pub levels: Levels,
    /// Index of the session of each code.
    session_of: Vec<u32>,
}

/// One measure of one pair.
pub(super) struct Member {
    /// Index of the pair.
    pub pair: usize,
    pub scale: Scale,
    pub sessions: Range<usize>,
}

/// One session of one member.
pub(super) struct Session<'a> {
    pub member: usize,
    pub trace: &'a SessionTrace,
    /// Where its scores begin in the text.
    pub start: usize,
    pub mean: f64,
    /// Sum of squared deviations from its mean.
    pub squares: f64,
}

/// What makes two trials stand in the same place of a programme.
#[derive(PartialEq, Eq, Hash)]
struct PlaceKey {
    scale: Scale,
    phase: Phase,
    ordinal: u16,
    trial: usize,
}

/// A score as millionths: equal scores are equal, whatever their last bits.
pub(super) fn millionths(score: f64) -> i64 {
    // Scores beyond the range of millionths saturate, and then are equal: nothing else is right to say of them.
    #[expect(clippy::cast_possible_truncation, reason = "saturates")]
    let whole = (score * 1e6).round() as i64;
    whole
}

impl<'a> Pool<'a> {
    /// The pool of a cohort.
    pub fn new(traces: &'a [PairTrace]) -> Self {
        let mut pool = Self {
            traces,
            members: Vec::new(),
            sessions: Vec::new(),
            text: Vec::new(),
            owner: Vec::new(),
            session_of: Vec::new(),
            place_of: Vec::new(),
            levels: Levels::default(),
        };
        let mut codes: HashMap<(Scale, i64), u32> = HashMap::new();
        let mut places: HashMap<PlaceKey, u32> = HashMap::new();
        for (pair, trace) in traces.iter().enumerate() {
            for measure in &trace.measures {
                pool.add(
                    pair,
                    measure.scale,
                    &measure.sessions,
                    &mut codes,
                    &mut places,
                );
            }
        }
        // The ends are numbered behind every score, each its own.
        let mut end = u32::try_from(codes.len()).unwrap_or(u32::MAX);
        for (code, session) in pool.text.iter_mut().zip(&pool.session_of) {
            if *session == NONE {
                *code = end;
                end = end.saturating_add(1);
            }
        }
        let mut distinct: HashMap<Scale, usize> = HashMap::new();
        for (scale, _) in codes.keys() {
            *distinct.entry(*scale).or_insert(0) += 1;
        }
        pool.levels = Levels::of(&pool, &distinct);
        pool
    }

    fn add(
        &mut self,
        pair: usize,
        scale: Scale,
        sessions: &'a [SessionTrace],
        codes: &mut HashMap<(Scale, i64), u32>,
        places: &mut HashMap<PlaceKey, u32>,
    ) {
        let first = self.sessions.len();
        let member = self.members.len();
        let owner = u32::try_from(pair).unwrap_or(u32::MAX);
        for trace in sessions {
            let index = self.sessions.len();
            let start = self.text.len();
            for (trial, score) in trace.scores.iter().enumerate() {
                let next = u32::try_from(codes.len()).unwrap_or(u32::MAX);
                self.text
                    .push(*codes.entry((scale, millionths(*score))).or_insert(next));
                let key = PlaceKey {
                    scale,
                    phase: trace.phase,
                    ordinal: trace.ordinal,
                    trial,
                };
                let next = u32::try_from(places.len()).unwrap_or(u32::MAX);
                self.place_of.push(*places.entry(key).or_insert(next));
                self.owner.push(owner);
                self.session_of.push(u32::try_from(index).unwrap_or(NONE));
            }
            let n = trace.scores.len() as f64;
            let mean = trace.scores.iter().sum::<f64>() / n;
            let squares = trace
                .scores
                .iter()
                .map(|score| (score - mean).powi(2))
                .sum();
            self.sessions.push(Session {
                member,
                trace,
                start,
                mean,
                squares,
            });
        }
        self.text.push(0);
        self.owner.push(owner);
        self.session_of.push(NONE);
        self.place_of.push(NONE);
        self.members.push(Member {
            pair,
            scale,
            sessions: first..self.sessions.len(),
        });
    }

    /// The member that a session belongs to.
    pub fn member(&self, session: usize) -> Option<&Member> {
        self.members.get(self.sessions.get(session)?.member)
    }

    /// The id of a pair.
    pub fn pair(&self, index: usize) -> &'a str {
        self.traces
            .get(index)
            .map_or("", |trace| trace.pair.as_ref())
    }

    /// The codes of a session's scores.
    pub fn codes(&self, session: &Session) -> &[u32] {
        let end = session.start + session.trace.scores.len();
        self.text.get(session.start..end).unwrap_or_default()
    }

    /// −ln of the chance that a trial of this session shows this score, judged by sessions of like level of other pairs. A score that none
    /// of them has counts as one of the different scores seen, so that little knowledge never makes a match improbable.
    pub fn surprise(&self, session: usize, code: u32) -> f64 {
        self.levels.surprise(self, session, code)
    }

    /// Places that are in no programme are left out.
    pub fn programme_places(&self) -> impl Iterator<Item = u32> {
        self.place_of.iter().copied().filter(|place| *place != NONE)
    }

    /// The session of a place in the text, and the trial within it.
    pub fn trial(&self, at: usize) -> Option<(usize, usize)> {
        let index = *self.session_of.get(at)? as usize;
        Some((index, at.checked_sub(self.sessions.get(index)?.start)?))
    }

    /// The score at a place in the text.
    pub fn score(&self, at: usize) -> Option<f64> {
        let (session, trial) = self.trial(at)?;
        self.sessions.get(session)?.trace.scores.get(trial).copied()
    }

    /// The cells of places in the text.
    pub fn places(&self, at: impl IntoIterator<Item = usize>) -> Vec<Place> {
        at.into_iter()
            .filter_map(|at| {
                let (session, trial) = self.trial(at)?;
                self.sessions
                    .get(session)?
                    .trace
                    .places(trial..trial + 1)
                    .pop()
            })
            .collect()
    }
}
