//! The trials by the cells in which they stand, and how many each block has.

use std::collections::HashMap;

use jiff::civil::Date;

use super::Draft;
use crate::logbook::model::Trial;
use crate::phase::{BlockName, Phase};

/// The trials of a hand-in, by cell and block.
pub(crate) struct TrialIndex<'a> {
    /// The trials.
    pub trials: &'a [Trial],
    by_cell: HashMap<(usize, u32, u32), usize>,
    by_phase: HashMap<(usize, Phase), usize>,
    by_session: HashMap<(usize, Phase, Option<u32>, Option<Date>), usize>,
    practice_has_numbers: bool,
    practice_days: Vec<Date>,
    phase_of_session: HashMap<u32, Phase>,
}

impl<'a> TrialIndex<'a> {
    /// `cells`: whether anything will be looked up by cell; only hand-ins with formulas need that.
    pub(crate) fn new(trials: &'a [Trial], drafts: &[Draft], cells: bool) -> Self {
        let mut index = Self {
            trials,
            by_cell: HashMap::new(),
            by_phase: HashMap::new(),
            by_session: HashMap::new(),
            practice_has_numbers: false,
            practice_days: Vec::new(),
            phase_of_session: HashMap::new(),
        };
        if cells {
            index.by_cell = drafts
                .iter()
                .enumerate()
                .map(|(at, draft)| (draft.cell, at))
                .collect();
        }
        for trial in trials {
            index.count(trial);
        }
        index.practice_days.sort_unstable();
        index.practice_days.dedup();
        index
    }

    fn count(&mut self, trial: &Trial) {
        let Some(phase) = trial.phase else {
            return;
        };
        *self.by_phase.entry((trial.measure, phase)).or_insert(0) += 1;
        let session = (trial.measure, phase, trial.session, trial.date);
        *self.by_session.entry(session).or_insert(0) += 1;
        if let Some(number) = trial.session {
            self.phase_of_session.entry(number).or_insert(phase);
        }
        if phase == Phase::PRACTICE {
            self.practice_has_numbers |= trial.session.is_some();
            self.practice_days.extend(trial.date);
        }
    }

    /// The trial that stands in a cell: grid, row, column.
    pub(crate) fn in_cell(&self, cell: (usize, u32, u32)) -> Option<usize> {
        self.by_cell.get(&cell).copied()
    }

    /// The block that a session's number names.
    pub(crate) fn block_of_session(&self, session: u32) -> Option<BlockName> {
        let phase = *self.phase_of_session.get(&session)?;
        Some(if phase == Phase::PRACTICE {
            BlockName::PracticeSession(session)
        } else {
            BlockName::Phase(phase)
        })
    }

    /// The number by which a practice session is named: its own, or where none has one, its place by date over practice alone.
    fn practice_number(&self, trial: &Trial) -> Option<u32> {
        if trial.session.is_some() || self.practice_has_numbers {
            return trial.session;
        }
        let day = self.practice_days.binary_search(&trial.date?).ok()?;
        u32::try_from(day + 1).ok()
    }

    /// Whether a trial is one of a measure's block.
    pub(crate) fn is_of(&self, trial: &Trial, measure: usize, block: BlockName) -> bool {
        trial.measure == measure
            && match block {
                BlockName::Phase(phase) => trial.phase == Some(phase),
                BlockName::PracticeSession(number) => {
                    trial.phase == Some(Phase::PRACTICE)
                        && self.practice_number(trial) == Some(number)
                }
            }
    }

    /// The block that these trials are, where they are one: all trials of a phase, or all of a practice session, of one measure.
    pub(crate) fn block_of(&self, of: &[usize]) -> Option<BlockName> {
        let first = self.trials.get(*of.first()?)?;
        let phase = first.phase?;
        let all_alike = |same: &dyn Fn(&Trial) -> bool| {
            of.iter()
                .all(|index| self.trials.get(*index).is_some_and(same))
        };
        if !all_alike(&|trial| trial.phase == Some(phase) && trial.measure == first.measure) {
            return None;
        }
        let in_phase = self.by_phase.get(&(first.measure, phase)).copied();
        if phase == Phase::PRACTICE
            && all_alike(&|trial| (trial.session, trial.date) == (first.session, first.date))
        {
            let session = (first.measure, phase, first.session, first.date);
            let in_session = self.by_session.get(&session).copied();
            let number = self
                .practice_number(first)
                .filter(|_| in_session != in_phase || first.session.is_some());
            if let Some(number) = number {
                return (in_session == Some(of.len()))
                    .then_some(BlockName::PracticeSession(number));
            }
        }
        (in_phase == Some(of.len())).then_some(BlockName::Phase(phase))
    }
}
