//! The scores of all pairs in one place: as one text for comparing runs, and by level for knowing what is usual.

use std::collections::HashMap;
use std::ops::Range;

use rayon::prelude::*;

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
    /// Where in its programme each code stands: equal for the same phase, session and trial of like measures.
    pub place_of: Vec<u32>,
    /// What is usual at a level.
    pub levels: Levels,
    /// How many different scores the measures of each scale have.
    distinct: HashMap<Scale, usize>,
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

impl Session<'_> {
    /// Where its scores are in the text.
    pub fn range(&self) -> Range<usize> {
        self.start..self.start + self.trace.scores.len()
    }
}

/// What has a number already.
#[derive(Default)]
struct Numbered {
    /// The code of each score, in millionths.
    codes: HashMap<Scale, HashMap<i64, u32>>,
    scores: u32,
    /// The place of each trial of each session of a programme.
    places: HashMap<(Scale, Phase, u16), Vec<u32>>,
    trials: u32,
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
            session_of: Vec::new(),
            place_of: Vec::new(),
            levels: Levels::default(),
            distinct: HashMap::new(),
        };
        let mut numbered = Numbered::default();
        for (pair, trace) in traces.iter().enumerate() {
            for measure in &trace.measures {
                pool.add(pair, measure.scale, &measure.sessions, &mut numbered);
            }
        }
        // The ends are numbered behind every score, each its own.
        let mut end = numbered.scores;
        for (code, session) in pool.text.iter_mut().zip(&pool.session_of) {
            if *session == NONE {
                *code = end;
                end = end.saturating_add(1);
            }
        }
        let codes = numbered.codes.into_iter();
        pool.distinct = codes.map(|(scale, codes)| (scale, codes.len())).collect();
        pool.levels = Levels::of(&pool);
        pool
    }

    fn add(
        &mut self,
        pair: usize,
        scale: Scale,
        sessions: &'a [SessionTrace],
        numbered: &mut Numbered,
    ) {
        let codes = numbered.codes.entry(scale).or_default();
        let first = self.sessions.len();
        let member = self.members.len();
        for trace in sessions {
            let index = self.sessions.len();
            let start = self.text.len();
            for score in &trace.scores {
                let code = codes.entry(millionths(*score)).or_insert_with(|| {
                    numbered.scores = numbered.scores.saturating_add(1);
                    numbered.scores - 1
                });
                self.text.push(*code);
            }
            let n = trace.scores.len();
            let places = numbered.places.entry((scale, trace.phase, trace.ordinal));
            let places = places.or_default();
            while places.len() < n {
                places.push(numbered.trials);
                numbered.trials = numbered.trials.saturating_add(1);
            }
            self.place_of.extend(places.iter().take(n));
            let own = u32::try_from(index).unwrap_or(NONE);
            self.session_of.extend(std::iter::repeat_n(own, n));
            let n = n as f64;
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
        self.text.get(session.range()).unwrap_or_default()
    }

    /// Index of the pair that each code belongs to.
    pub fn owners(&self) -> Vec<u32> {
        let mut owners = Vec::with_capacity(self.text.len());
        for member in &self.members {
            let sessions = self.sessions.get(member.sessions.clone());
            let scores = sessions.unwrap_or_default().iter();
            let scores: usize = scores.map(|session| session.trace.scores.len()).sum();
            let owner = u32::try_from(member.pair).unwrap_or(u32::MAX);
            // And behind its last trial.
            owners.extend(std::iter::repeat_n(owner, scores + 1));
        }
        owners
    }

    /// −ln of the chance that a trial of this session shows this score, judged by sessions of like level of other pairs. A score that none
    /// of them has counts as one of the different scores seen, so that little knowledge never makes a match improbable.
    pub fn surprise(&self, session: usize, code: u32) -> f64 {
        self.levels.surprise(self, session, code)
    }

    /// [`Self::surprise`] of each place in the text by what it shows itself.
    pub fn own_surprises(&self) -> Vec<f64> {
        self.members
            .par_iter()
            .flat_map_iter(|member| {
                let own = move |session: usize| {
                    let codes = self.sessions.get(session).map(|own| self.codes(own));
                    let codes = codes.unwrap_or_default().iter();
                    codes.map(move |code| self.surprise(session, *code))
                };
                // Behind a member's last trial nothing is shown.
                let end = std::iter::once(0.0);
                member.sessions.clone().flat_map(own).chain(end)
            })
            .collect()
    }

    /// How many different scores the measures of a scale have.
    pub fn distinct_scores(&self, scale: Scale) -> usize {
        self.distinct.get(&scale).copied().unwrap_or(0)
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
