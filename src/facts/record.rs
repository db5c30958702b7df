//! The trials that count: the logbook's trials with ratings of one trial joined, duplicates and scores off the scale set aside.
//!
//! Everything after this works on the record; the checks report what was set aside and why.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::civil::Date;

use crate::logbook::model::{Logbook, Measure, Score, Trial};
use crate::number::EXACT;
use crate::phase::{BlockName, Phase, PhaseKind};

/// The trials that count, by measure and phase.
#[derive(Debug, Clone, Default)]
pub struct Record {
    /// The blocks of each measure, in the order of the logbook's measures.
    pub measures: Vec<MeasureRecord>,
    /// Ratings and trials that enter no statistic, with why, in reading order. Familiarisation is not listed.
    pub set_aside: Vec<SetAside>,
    /// Scores that lie between the scale's steps, as indices into the logbook's trials: they count, and are reported.
    pub off_step: Vec<usize>,
    /// Trials whose phase is not known: they belong to no block.
    pub without_phase: Vec<usize>,
}

/// The blocks of one measure.
#[derive(Debug, Clone, Default)]
pub struct MeasureRecord {
    /// The blocks in phase order; familiarisation is among them, though it enters no statistic.
    pub blocks: Vec<Block>,
}

/// All trials of one phase over all its sessions.
#[derive(Debug, Clone)]
pub struct Block {
    /// The phase.
    pub phase: Phase,
    /// Its sessions in the order of their numbers, else dates, else as first read.
    pub sessions: Vec<SessionTrials>,
}

/// The trials of one session of one phase.
#[derive(Debug, Clone)]
pub struct SessionTrials {
    /// The session's number as recorded.
    pub number: Option<u32>,
    /// For practice: the number by which claims and curves name it: as recorded, else its place by date over practice alone.
    pub practice_number: u32,
    /// The session's date.
    pub date: Option<Date>,
    /// Its trials in order of number, those without a usable score included.
    pub trials: Vec<ScoredTrial>,
}

/// One trial, all its ratings together.
#[derive(Debug, Clone)]
pub struct ScoredTrial {
    /// Its number as recorded, else its order in the block.
    pub number: u32,
    /// The mean of its usable ratings; none where it has no usable score.
    pub score: Option<f64>,
    /// Landing point relative to the target, where recorded.
    pub landing: Option<(f64, f64)>,
    /// Its usable ratings, one a rater, in reading order; one for a trial that one rater scored.
    pub ratings: Vec<Rating>,
    /// Index of its first row in the logbook's trials.
    pub row: usize,
}

/// One rater's score of one trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Rating {
    /// Who, where recorded.
    pub rater: Option<Arc<str>>,
    /// The score.
    pub score: f64,
    /// Index of the row in the logbook's trials.
    pub row: usize,
}

/// A recorded row that enters no statistic.
#[derive(Debug, Clone, PartialEq)]
pub struct SetAside {
    /// Index into the logbook's trials.
    pub row: usize,
    /// Why.
    pub why: Why,
}

/// Why a recorded row enters no statistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Why {
    /// The cell is empty or holds what stands for missing.
    Missing,
    /// The cell holds a text that is no number.
    Unreadable,
    /// The score lies outside the measure's scale.
    OutOfScale(f64),
    /// The same trial was recorded before, in this row.
    DuplicateOf(usize),
}

impl Block {
    /// The scores that count, over all sessions, in order.
    pub fn scores(&self) -> Vec<f64> {
        self.trials().filter_map(|trial| trial.score).collect()
    }

    /// All its trials, in order of sessions and numbers.
    pub fn trials(&self) -> impl Iterator<Item = &ScoredTrial> {
        self.sessions.iter().flat_map(|session| &session.trials)
    }

    /// Recorded trials without a usable score.
    pub fn missing(&self) -> usize {
        self.trials().filter(|trial| trial.score.is_none()).count()
    }
}

impl SessionTrials {
    /// The scores that count, in order.
    pub fn scores(&self) -> Vec<f64> {
        self.trials.iter().filter_map(|trial| trial.score).collect()
    }
}

impl MeasureRecord {
    /// The block of a phase.
    pub fn block(&self, phase: Phase) -> Option<&Block> {
        self.blocks.iter().find(|block| block.phase == phase)
    }

    /// The practice sessions in order.
    pub fn practice(&self) -> &[SessionTrials] {
        self.block(Phase::PRACTICE)
            .map_or(&[], |block| &block.sessions)
    }

    /// The sessions of which a name speaks: all of a phase's, or one practice session.
    pub fn sessions(&self, name: BlockName) -> Vec<&SessionTrials> {
        match name {
            BlockName::Phase(phase) => self
                .block(phase)
                .map(|block| block.sessions.iter().collect())
                .unwrap_or_default(),
            BlockName::PracticeSession(number) => self
                .practice()
                .iter()
                .filter(|session| session.practice_number == number)
                .collect(),
        }
    }
}

/// What makes two rows the same trial: measure, phase, session or else date, trial number.
#[derive(PartialEq, Eq, Hash, Clone, Copy)]
struct TrialKey {
    measure: usize,
    phase: Phase,
    session: SessionKey,
    number: u32,
}

/// Rows without a trial number are counted within one rater's rows of a session.
#[derive(PartialEq, Eq, Hash, Clone)]
struct SeriesKey {
    measure: usize,
    phase: Phase,
    session: SessionKey,
    rater: Option<Arc<str>>,
}

#[derive(PartialEq, Eq, Hash, Clone, Copy, PartialOrd, Ord, Debug)]
enum SessionKey {
    Number(u32),
    Date(Date),
    Unknown,
}

impl SessionKey {
    fn of(number: Option<u32>, date: Option<Date>) -> Self {
        match (number, date) {
            (Some(number), _) => Self::Number(number),
            (None, Some(date)) => Self::Date(date),
            (None, None) => Self::Unknown,
        }
    }
}

/// Where a trial stands in the record: block, session, trial.
#[derive(Clone, Copy)]
struct Position {
    block: usize,
    session: usize,
    trial: usize,
}

/// Sorts rows into blocks, one after the other.
struct Sorter<'a> {
    logbook: &'a Logbook,
    record: Record,
    seen: HashMap<TrialKey, Position>,
    counted: HashMap<SeriesKey, u32>,
}

impl Sorter<'_> {
    fn take(&mut self, row: usize, trial: &Trial) {
        let Some(phase) = trial.phase else {
            self.record.without_phase.push(row);
            return;
        };
        let Some(measure) = self.logbook.measures.get(trial.measure) else {
            return;
        };
        let session = SessionKey::of(trial.session, trial.date);
        let number = trial.number.unwrap_or_else(|| {
            let series = SeriesKey {
                measure: trial.measure,
                phase,
                session,
                rater: trial.rater.clone(),
            };
            let counted = self.counted.entry(series).or_insert(0);
            *counted = counted.saturating_add(1);
            *counted
        });
        let score = usable(&trial.score, measure);
        let familiarisation = phase.kind == PhaseKind::Familiarisation;
        if !familiarisation && score.is_ok_and(|value| is_off_step(value, measure)) {
            self.record.off_step.push(row);
        }
        let key = TrialKey {
            measure: trial.measure,
            phase,
            session,
            number,
        };
        let outcome = match self.seen.get(&key) {
            Some(&position) => self.take_again(trial.measure, position, row, score),
            None => self.take_first(key, row, trial, score),
        };
        if let Err(why) = outcome
            && !familiarisation
        {
            self.record.set_aside.push(SetAside { row, why });
        }
    }

    /// A trial that has not been seen before.
    fn take_first(
        &mut self,
        key: TrialKey,
        row: usize,
        trial: &Trial,
        score: Result<f64, Why>,
    ) -> Result<(), Why> {
        let Some(measure) = self.record.measures.get_mut(key.measure) else {
            return Ok(());
        };
        let block = index_or_push(
            &mut measure.blocks,
            |block| block.phase == key.phase,
            || Block {
                phase: key.phase,
                sessions: Vec::new(),
            },
        );
        let Some(sessions) = measure
            .blocks
            .get_mut(block)
            .map(|block| &mut block.sessions)
        else {
            return Ok(());
        };
        let session = index_or_push(
            sessions,
            |session| session_key(session) == key.session,
            || SessionTrials {
                number: trial.session,
                practice_number: 0,
                date: trial.date,
                trials: Vec::new(),
            },
        );
        let Some(in_session) = sessions.get_mut(session) else {
            return Ok(());
        };
        if in_session.date.is_none() {
            in_session.date = trial.date;
        }
        let position = Position {
            block,
            session,
            trial: in_session.trials.len(),
        };
        self.seen.insert(key, position);
        let ratings: Vec<Rating> = score
            .ok()
            .map(|score| Rating {
                rater: trial.rater.clone(),
                score,
                row,
            })
            .into_iter()
            .collect();
        in_session.trials.push(ScoredTrial {
            number: key.number,
            score: mean_of_ratings(&ratings),
            landing: trial.landing,
            ratings,
            row,
        });
        score.map(|_| ())
    }

    /// A further row of a trial already seen: another rater's rating, or a duplicate.
    fn take_again(
        &mut self,
        measure: usize,
        at: Position,
        row: usize,
        score: Result<f64, Why>,
    ) -> Result<(), Why> {
        let first = self
            .record
            .measures
            .get_mut(measure)
            .and_then(|measure| measure.blocks.get_mut(at.block))
            .and_then(|block| block.sessions.get_mut(at.session))
            .and_then(|session| session.trials.get_mut(at.trial));
        if let Some(first) = first {
            let rating = second_record(first, self.logbook, row, score)?;
            first.ratings.push(rating);
            first.score = mean_of_ratings(&first.ratings);
        }
        Ok(())
    }
}

/// The index of the item that fits, pushed where there is none yet.
fn index_or_push<T>(
    items: &mut Vec<T>,
    fits: impl FnMut(&T) -> bool,
    new: impl FnOnce() -> T,
) -> usize {
    items.iter().position(fits).unwrap_or_else(|| {
        items.push(new());
        items.len() - 1
    })
}

impl Record {
    /// Sorts the logbook's trials into blocks and decides which count.
    pub fn new(logbook: &Logbook) -> Self {
        let mut sorter = Sorter {
            logbook,
            record: Self {
                measures: vec![MeasureRecord::default(); logbook.measures.len()],
                ..Self::default()
            },
            seen: HashMap::new(),
            counted: HashMap::new(),
        };
        for (row, trial) in logbook.trials.iter().enumerate() {
            sorter.take(row, trial);
        }
        let mut record = sorter.record;
        record.put_in_order();
        record
    }

    fn put_in_order(&mut self) {
        for measure in &mut self.measures {
            measure.blocks.sort_by_key(|block| block.phase);
            for block in &mut measure.blocks {
                block.sessions.sort_by_key(session_key);
                for session in &mut block.sessions {
                    session.trials.sort_by_key(|trial| trial.number);
                }
                number_practice(block);
            }
        }
    }
}

/// Gives the practice sessions the numbers by which they are named: as recorded; without numbers, by date over practice alone.
fn number_practice(block: &mut Block) {
    let numbered = block
        .sessions
        .iter()
        .any(|session| session.number.is_some());
    for (index, session) in block.sessions.iter_mut().enumerate() {
        let order = u32::try_from(index + 1).unwrap_or(u32::MAX);
        // Where some sessions have numbers, one without has none by which it could be named.
        session.practice_number = match session.number {
            Some(number) => number,
            None if numbered => 0,
            None => order,
        };
    }
}

fn session_key(session: &SessionTrials) -> SessionKey {
    SessionKey::of(session.number, session.date)
}

/// A score that counts, or why it doesn't.
fn usable(score: &Score, measure: &Measure) -> Result<f64, Why> {
    match score {
        Score::Number(value) if !value.is_finite() => Err(Why::Unreadable),
        Score::Number(value) => {
            let below = measure
                .lowest
                .is_some_and(|lowest| *value < lowest - tolerance(lowest));
            let above = measure
                .highest
                .is_some_and(|highest| *value > highest + tolerance(highest));
            if below || above {
                Err(Why::OutOfScale(*value))
            } else {
                Ok(*value)
            }
        }
        Score::Missing => Err(Why::Missing),
        Score::Unreadable(_) => Err(Why::Unreadable),
    }
}

/// Ends of scales and steps are decimals that a double may miss by its last bit.
fn tolerance(end: f64) -> f64 {
    EXACT * end.abs().max(1.0)
}

/// Whether a score lies between the scale's steps, counted from its lowest end (else from 0).
fn is_off_step(value: f64, measure: &Measure) -> bool {
    let Some(step) = measure.step.filter(|step| *step > 0.0) else {
        return false;
    };
    let steps = (value - measure.lowest.unwrap_or(0.0)) / step;
    (steps - steps.round()).abs() > 1e-6 * steps.abs().max(1.0)
}

/// A further row of a trial already seen: another rater's rating, or a duplicate. The same trial with another non-empty rater is a
/// second rating; otherwise a duplicate.
fn second_record(
    first: &ScoredTrial,
    logbook: &Logbook,
    row: usize,
    score: Result<f64, Why>,
) -> Result<Rating, Why> {
    let rater_of = |row: usize| {
        logbook
            .trials
            .get(row)
            .and_then(|trial| trial.rater.clone())
    };
    let rater = rater_of(row);
    let same_rater = std::iter::once(first.row)
        .chain(first.ratings.iter().map(|rating| rating.row))
        .find(|earlier| rater.is_none() || rater_of(*earlier) == rater);
    match same_rater {
        Some(earlier) => Err(Why::DuplicateOf(earlier)),
        None => score.map(|score| Rating { rater, score, row }),
    }
}

fn mean_of_ratings(ratings: &[Rating]) -> Option<f64> {
    let n = ratings.len();
    (n > 0).then(|| ratings.iter().map(|rating| rating.score).sum::<f64>() / n as f64)
}
