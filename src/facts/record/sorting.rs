//! Sorts a logbook's rows into blocks, sessions and trials: ratings of one trial joined, second records set aside.

use std::collections::hash_map::Entry;
use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use jiff::civil::Date;

use super::usable::{is_off_step, usable};
use super::{Block, MeasureRecord, Rating, Record, ScoredTrial, SessionTrials, SetAside, Why};
use crate::logbook::model::{Logbook, Trial};
use crate::phase::{Phase, PhaseKind};

/// Sorts the logbook's trials into blocks and decides which count.
pub(super) fn sorted(logbook: &Logbook) -> Record {
    let mut sorter = Sorter {
        logbook,
        record: Record {
            measures: vec![MeasureRecord::default(); logbook.measures.len()],
            ..Record::default()
        },
        blocks: HashMap::new(),
        sessions: HashMap::new(),
        trials: HashMap::with_capacity(logbook.trials.len()),
        rated: HashMap::new(),
    };
    let numbers = trial_numbers(logbook);
    for (row, (trial, number)) in logbook.trials.iter().zip(numbers).enumerate() {
        match trial.phase {
            Some(phase) => sorter.take(row, trial, phase, number),
            None => sorter.record.without_phase.push(row),
        }
    }
    let mut record = sorter.record;
    put_in_order(&mut record);
    find_unread(logbook, &mut record);
    record
}

/// Whether trials are missing that a column which was not recognised may hide: all of them, where no trial outside familiarisation has a
/// score that counts.
fn find_unread(logbook: &Logbook, record: &mut Record) {
    let counts = record
        .measures
        .iter()
        .flat_map(|measure| &measure.blocks)
        .filter(|block| block.phase.kind != PhaseKind::Familiarisation)
        .any(|block| block.trials().any(|trial| trial.score.is_some()));
    record.unread = !counts && logbook.columns_not_read().next().is_some();
    // Where the phases came from elsewhere, a column of them is not missed.
    record.partly_unread = counts
        && logbook
            .columns_not_read()
            .any(|problem| !problem.may_be_phase() || !record.without_phase.is_empty());
}

fn put_in_order(record: &mut Record) {
    for measure in &mut record.measures {
        measure.blocks.sort_by_key(|block| block.phase);
        for block in &mut measure.blocks {
            block.sessions.sort_by_key(session_key);
            for session in &mut block.sessions {
                for trial in &mut session.trials {
                    trial.score = mean_of_ratings(&trial.ratings);
                }
                session.trials.sort_by_key(|trial| trial.number);
            }
            number_practice(block);
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

/// One rater's rows of one session: rows without a trial number are numbered by their order among these.
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
    /// Where each block stands among its measure's.
    blocks: HashMap<(usize, Phase), usize>,
    /// Where each session stands: block, session.
    sessions: HashMap<(usize, Phase, SessionKey), (usize, usize)>,
    trials: HashMap<TrialKey, Position>,
    /// The first row of each rater for each trial, but for the rater of the trial's own first row.
    rated: HashMap<(TrialKey, Option<Arc<str>>), usize>,
}

impl Sorter<'_> {
    fn take(&mut self, row: usize, trial: &Trial, phase: Phase, number: u32) {
        let Some(measure) = self.logbook.measures.get(trial.measure) else {
            return;
        };
        let score = usable(&trial.score, measure);
        let familiarisation = phase.kind == PhaseKind::Familiarisation;
        if !familiarisation && score.is_ok_and(|value| is_off_step(value, measure)) {
            self.record.off_step.push(row);
        }
        let key = TrialKey {
            measure: trial.measure,
            phase,
            session: SessionKey::of(trial.session, trial.date),
            number,
        };
        let outcome = match self.trials.get(&key).copied() {
            Some(position) => self.take_again(key, position, row, trial, score),
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
        let (block, session) = self.session_of(key, trial);
        let Some(in_session) = self
            .record
            .measures
            .get_mut(key.measure)
            .and_then(|measure| measure.blocks.get_mut(block))
            .and_then(|block| block.sessions.get_mut(session))
        else {
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
            score: None,
            landing: trial.landing,
            ratings,
            row,
        });
        self.trials.insert(key, position);
        score.map(|_| ())
    }

    /// The block and session of a trial, begun where it is their first.
    fn session_of(&mut self, key: TrialKey, trial: &Trial) -> (usize, usize) {
        let Some(measure) = self.record.measures.get_mut(key.measure) else {
            return (0, 0);
        };
        let blocks = &mut measure.blocks;
        *self
            .sessions
            .entry((key.measure, key.phase, key.session))
            .or_insert_with(|| {
                let block = *self
                    .blocks
                    .entry((key.measure, key.phase))
                    .or_insert_with(|| {
                        blocks.push(Block {
                            phase: key.phase,
                            sessions: Vec::new(),
                        });
                        blocks.len() - 1
                    });
                let session = blocks.get_mut(block).map_or(0, |block| {
                    block.sessions.push(SessionTrials {
                        number: trial.session,
                        practice_number: 0,
                        date: trial.date,
                        trials: Vec::new(),
                    });
                    block.sessions.len() - 1
                });
                (block, session)
            })
    }

    /// A further row of a trial already seen: with another rater's name a second rating, else a duplicate.
    fn take_again(
        &mut self,
        key: TrialKey,
        at: Position,
        row: usize,
        trial: &Trial,
        score: Result<f64, Why>,
    ) -> Result<(), Why> {
        let Some(first) = self
            .record
            .measures
            .get_mut(key.measure)
            .and_then(|measure| measure.blocks.get_mut(at.block))
            .and_then(|block| block.sessions.get_mut(at.session))
            .and_then(|session| session.trials.get_mut(at.trial))
        else {
            return Ok(());
        };
        let first_rater = self
            .logbook
            .trials
            .get(first.row)
            .and_then(|trial| trial.rater.as_ref());
        if trial.rater.is_none() || trial.rater.as_ref() == first_rater {
            return Err(Why::DuplicateOf(first.row));
        }
        match self.rated.entry((key, trial.rater.clone())) {
            Entry::Occupied(earlier) => Err(Why::DuplicateOf(*earlier.get())),
            Entry::Vacant(new) => {
                new.insert(row);
                first.ratings.push(Rating {
                    rater: trial.rater.clone(),
                    score: score?,
                    row,
                });
                Ok(())
            }
        }
    }
}

/// The number of each row's trial: as recorded, else its order among its rater's rows of the session, or the next number that the
/// series leaves free. A row without a number is never a second record of another.
fn trial_numbers(logbook: &Logbook) -> Vec<u32> {
    #[derive(Default)]
    struct Series {
        taken: HashSet<u32>,
        rows: u32,
        /// No number below this one is free any more.
        free_from: u32,
    }
    fn key(trial: &Trial, phase: Phase) -> SeriesKey {
        SeriesKey {
            measure: trial.measure,
            phase,
            session: SessionKey::of(trial.session, trial.date),
            rater: trial.rater.clone(),
        }
    }
    let recorded = |trial: &Trial| trial.phase.map_or(Some(0), |_| trial.number);
    if let Some(numbers) = logbook.trials.iter().map(recorded).collect() {
        return numbers;
    }
    let mut series: HashMap<SeriesKey, Series> = HashMap::new();
    for trial in &logbook.trials {
        if let (Some(phase), Some(number)) = (trial.phase, trial.number) {
            series
                .entry(key(trial, phase))
                .or_default()
                .taken
                .insert(number);
        }
    }
    logbook
        .trials
        .iter()
        .map(|trial| {
            let Some(phase) = trial.phase else {
                return 0;
            };
            let series = series.entry(key(trial, phase)).or_default();
            series.rows = series.rows.saturating_add(1);
            trial.number.unwrap_or_else(|| {
                let mut number = series.rows.max(series.free_from);
                while !series.taken.insert(number) && number < u32::MAX {
                    number += 1;
                }
                series.free_from = number.saturating_add(1);
                number
            })
        })
        .collect()
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

fn mean_of_ratings(ratings: &[Rating]) -> Option<f64> {
    let n = ratings.len();
    (n > 0).then(|| ratings.iter().map(|rating| rating.score).sum::<f64>() / n as f64)
}
