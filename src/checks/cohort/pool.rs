//! The scores of all pairs in one place: as one text for comparing runs, and by level for knowing what is usual.

use std::collections::HashMap;
use std::ops::Range;

use super::trace::{PairTrace, Scale, SessionTrace};
use crate::place::Place;

/// Trials of like sessions that describe what is usual at a level: enough for a frequency, few enough to be near.
const USUAL_TRIALS: usize = 200;
/// Sessions looked at for them at most, so that short sessions don't make the search long.
const USUAL_SESSIONS: usize = 120;

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
    /// The session of each code; none for the ends of members.
    pub session_of: Vec<Option<usize>>,
    /// Where in its programme each code stands: equal for the same phase, session and trial of like measures.
    pub place_of: Vec<u32>,
    /// Sessions of like measures by their means: what is usual at a level.
    levels: HashMap<Scale, Vec<(f64, usize)>>,
    /// Different scores seen of like measures.
    distinct: HashMap<Scale, usize>,
    usual: HashMap<usize, Usual>,
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

/// How often scores occur in sessions of like level, of other pairs.
struct Usual {
    counts: HashMap<u32, u32>,
    n: u32,
}

/// What makes two trials stand in the same place of a programme.
#[derive(PartialEq, Eq, Hash)]
struct PlaceKey {
    scale: Scale,
    phase: crate::phase::Phase,
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
            levels: HashMap::new(),
            distinct: HashMap::new(),
            usual: HashMap::new(),
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
        for (scale, _) in codes.keys() {
            *pool.distinct.entry(*scale).or_insert(0) += 1;
        }
        // The ends are numbered behind every score, each its own.
        let mut end = u32::try_from(codes.len()).unwrap_or(u32::MAX);
        for (code, session) in pool.text.iter_mut().zip(&pool.session_of) {
            if session.is_none() {
                *code = end;
                end = end.saturating_add(1);
            }
        }
        for sessions in pool.levels.values_mut() {
            sessions.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        }
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
                self.session_of.push(Some(index));
            }
            let n = trace.scores.len() as f64;
            let mean = trace.scores.iter().sum::<f64>() / n;
            let squares = trace
                .scores
                .iter()
                .map(|score| (score - mean).powi(2))
                .sum();
            if mean.is_finite() {
                self.levels.entry(scale).or_default().push((mean, index));
            }
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
        self.session_of.push(None);
        self.place_of.push(u32::MAX);
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

    /// Sessions of other pairs whose means lie nearest to a session's, nearest first on either side, until they hold as many trials as say
    /// what is usual.
    pub fn like_sessions(&self, session: usize) -> Vec<usize> {
        let Some((own, member)) = self.sessions.get(session).zip(self.member(session)) else {
            return Vec::new();
        };
        let Some(level) = self.levels.get(&member.scale) else {
            return Vec::new();
        };
        let middle = level.partition_point(|(mean, _)| *mean < own.mean);
        let (mut below, mut above) = (middle, middle);
        let mut found = Vec::new();
        let mut trials = 0;
        while trials < USUAL_TRIALS && found.len() < USUAL_SESSIONS {
            let down = below.checked_sub(1).and_then(|at| level.get(at));
            let up = level.get(above);
            let nearer_below = match (down, up) {
                (None, None) => break,
                (Some(_), None) => true,
                (None, Some(_)) => false,
                (Some((down, _)), Some((up, _))) => own.mean - down < up - own.mean,
            };
            let next = if nearer_below {
                below -= 1;
                down
            } else {
                above += 1;
                up
            };
            let Some((_, like)) = next else { break };
            if self
                .member(*like)
                .is_some_and(|other| other.pair != member.pair)
            {
                found.push(*like);
                trials += self
                    .sessions
                    .get(*like)
                    .map_or(0, |like| like.trace.scores.len());
            }
        }
        found
    }

    /// −ln of the chance that a trial of this session shows this score, judged by sessions of like level of other pairs. A score that none
    /// of them has counts as one of the different scores seen, so that little knowledge never makes a match improbable.
    pub fn surprise(&mut self, session: usize, code: u32) -> f64 {
        if !self.usual.contains_key(&session) {
            let mut usual = Usual {
                counts: HashMap::new(),
                n: 0,
            };
            for like in self.like_sessions(session) {
                let Some(like) = self.sessions.get(like) else {
                    continue;
                };
                let end = like.start + like.trace.scores.len();
                for code in self.text.get(like.start..end).unwrap_or_default() {
                    *usual.counts.entry(*code).or_insert(0) += 1;
                    usual.n += 1;
                }
            }
            self.usual.insert(session, usual);
        }
        let distinct = self
            .member(session)
            .and_then(|member| self.distinct.get(&member.scale))
            .map_or(1.0, |distinct| (*distinct).max(2) as f64);
        let (count, n) = self.usual.get(&session).map_or((0, 0), |usual| {
            (usual.counts.get(&code).copied().unwrap_or(0), usual.n)
        });
        -((f64::from(count) + 1.0 / distinct) / (f64::from(n) + 1.0)).ln()
    }

    /// The session of a place in the text, and the trial within it.
    pub fn trial(&self, at: usize) -> Option<(usize, usize)> {
        let index = self.session_of.get(at).copied().flatten()?;
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
