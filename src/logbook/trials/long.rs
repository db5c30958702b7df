//! The long layout: one row a trial.

use std::collections::HashMap;

use super::plan::ScoreColumn;
use super::reader::{MOST_TRIALS, RowsReader};
use super::row::RowAbout;
use super::{Average, Draft, SessionNaming};
use crate::logbook::aliases::Field;
use crate::logbook::cells::{cell_text, is_value, starts_as_number, whole};
use crate::logbook::columns::cell_at;
use crate::logbook::dates::looks_like_date;
use crate::logbook::grid::{Cell, Value};
use crate::logbook::labels::{Label, PhaseReading, read_phase};
use crate::logbook::spelling::{numbered, words};
use crate::phase::Phase;
use crate::statistic::Statistic;

/// With more score columns than any hand-in has measures, an empty cell is no trial.
const SCORE_COLUMNS: usize = 20;

impl<'g> RowsReader<'g, '_> {
    pub(super) fn long(&mut self) {
        let rows = self.region.rows.clone();
        self.restarts = self.numbers_restart(&rows);
        let start = self.out.drafts.len();
        let mut since = start;
        let mut after_summary = false;
        let mut computed: Vec<Computed<'g>> = Vec::new();
        for row in rows {
            if self.take_section(row) {
                since = self.out.drafts.len();
                continue;
            }
            if self.is_note(row) {
                continue;
            }
            let about = self.about(row);
            if let Some((statistic, label, cell)) = &about.summary {
                self.summary_of_long(row, *statistic, *label, cell, since);
                after_summary = true;
                continue;
            }
            if after_summary {
                since = self.out.drafts.len();
                after_summary = false;
            }
            let first = self.out.drafts.len();
            if first > MOST_TRIALS {
                self.report_too_many(row.first().map_or(0, |cell| cell.row));
                break;
            }
            self.long_row(row, about);
            for (index, column) in self.plan.computed.iter().enumerate() {
                if let Some(cell) = cell_at(row, column.column)
                    && self.out.drafts.len() > first
                {
                    computed.push(Computed {
                        column: index,
                        draft: first,
                        cell,
                    });
                }
            }
        }
        self.number_practice_by_restarts();
        self.computed_of_long(&computed, start);
    }

    /// Several words that stand alone in a row, and not where scores stand, are a note.
    fn is_note(&self, row: &[Cell]) -> bool {
        let [only] = row else {
            return false;
        };
        let Value::Text(text) = &only.value else {
            return false;
        };
        let aliases = self.context.aliases();
        self.score_column(only.column).is_none()
            && words(text).len() > 1
            && numbered(text).is_none()
            && !starts_as_number(text)
            && !looks_like_date(text, aliases)
            && read_phase(text, aliases) == PhaseReading::No
    }

    /// Whether trial numbers begin again in each block within a session.
    fn numbers_restart(&self, rows: &[&[Cell]]) -> bool {
        let block = super::plan::column_of(self.plan, Field::Block);
        block.is_some_and(|column| {
            rows.iter()
                .filter_map(|row| cell_at(row, column))
                .any(|cell| whole(cell).is_some_and(|number| number > 1))
        })
    }

    fn long_row(&mut self, row: &'g [Cell], about: RowAbout<'g>) {
        let Some(first) = row.first() else {
            return;
        };
        let has_landing = about.x.is_some() || about.y.is_some();
        let has_score = self
            .plan
            .scores
            .iter()
            .any(|score| cell_at(row, score.column).is_some());
        let recorded = about.number.is_some()
            && (about.names_block
                || self.section.names_block()
                || self.plan.fallback.names_block())
            || about.names_block
                && super::plan::column_of(self.plan, Field::Trial).is_none()
                && about.unknown_phase.is_none()
                && about.unknown_session.is_none();
        if !has_score && !has_landing && !recorded {
            // Words below or between the trials are notes.
            return;
        }
        self.report_unknown_names(&about);
        self.count_practice_by_restarts(&about);
        let line = first.row;
        if self.plan.scores.is_empty() {
            if has_landing {
                self.push(&about, &ScoreColumn::default(), about.number, None, line);
            }
        } else {
            let several = self.plan.scores.len() > 1;
            let many = self.plan.scores.len() > SCORE_COLUMNS;
            for score in &self.plan.scores {
                let cell = cell_at(row, score.column);
                // An empty second rating is no trial of its own.
                let second = several && has_score && score.rater.is_some();
                if cell.is_some() || !(second || many) {
                    self.push(&about, score, about.number, cell, line);
                }
            }
        }
        self.above = about;
    }

    /// The phase of a row: its own, else that of the heading above it, else that of the title or sheet where it speaks of no one session.
    fn phase_of(&self, about: &RowAbout<'g>) -> Option<Phase> {
        about.phase.or(self.section.phase).or(self.phase_of_all())
    }

    fn phase_of_all(&self) -> Option<Phase> {
        let label = self.plan.fallback;
        label
            .phase
            .filter(|_| label.session.is_none() && label.week.is_none())
    }

    /// Practice without sessions or dates, whose trial numbers begin again at 1: each beginning is a session.
    fn count_practice_by_restarts(&mut self, about: &RowAbout<'g>) {
        let untold = self.phase_of(about) == Some(Phase::PRACTICE)
            && about.session.is_none()
            && about.date.is_none()
            && about.week.is_none()
            && about.block.is_none()
            && self.section.session.is_none();
        let Some(number) = about.number.filter(|_| untold) else {
            return;
        };
        let before = &self.above;
        let follows = self.phase_of(before) == Some(Phase::PRACTICE)
            && before.rater == about.rater
            && before.measure == about.measure;
        let again = number == 1 && follows && before.number.is_some_and(|before| before > 1);
        if again || self.practice_starts.is_empty() {
            self.practice_starts.push(self.out.drafts.len());
        }
    }

    /// Numbers the sessions of practice that began again at 1, where they did.
    fn number_practice_by_restarts(&mut self) {
        if self.practice_starts.len() < 2 {
            return;
        }
        let starts = std::mem::take(&mut self.practice_starts);
        let first = starts.first().copied().unwrap_or(0);
        let of_all = self.phase_of_all();
        for (index, draft) in self.out.drafts.iter_mut().enumerate().skip(first) {
            let trial = &mut draft.trial;
            if trial.phase.or(of_all) == Some(Phase::PRACTICE)
                && trial.session.is_none()
                && trial.date.is_none()
                && draft.week.is_none()
            {
                let session = starts.partition_point(|start| *start <= index);
                trial.phase = Some(Phase::PRACTICE);
                trial.session = u32::try_from(session).ok();
                draft.naming = SessionNaming::CountOfPractice;
            }
        }
    }

    fn summary_of_long(
        &mut self,
        row: &'g [Cell],
        statistic: Option<Statistic>,
        label: Label,
        name: &'g Cell,
        since: usize,
    ) {
        let drafts = self.out.drafts.len();
        let scored: Vec<&'g Cell> = self
            .plan
            .scores
            .iter()
            .filter_map(|score| cell_at(row, score.column))
            .filter(|cell| cell.column != name.column)
            .collect();
        let cells = if scored.is_empty() {
            // The number stands beside its name.
            row.iter()
                .filter(|cell| cell.column > name.column && is_value(cell))
                .take(1)
                .collect()
        } else {
            scored
        };
        for cell in cells {
            let of = (since..drafts)
                .filter(|index| {
                    self.plan.scores.len() < 2
                        || self
                            .out
                            .drafts
                            .get(*index)
                            .is_some_and(|draft| draft.cell.2 == cell.column)
                })
                .collect();
            self.out.averages.push(Average {
                marks: self.marks.marks,
                statistic,
                text: cell_text(name),
                cell,
                grid: self.grid,
                of,
                named: label,
            });
        }
    }

    /// A computed column beside the long layout states one number a block; a number in every row is about the trial and no claim.
    fn computed_of_long(&mut self, computed: &[Computed<'g>], start: usize) {
        let mut by_block: HashMap<BlockKey, Vec<usize>> = HashMap::new();
        let mut by_phase: HashMap<Option<Phase>, Vec<usize>> = HashMap::new();
        for (index, draft) in self.out.drafts.iter().enumerate().skip(start) {
            by_block.entry(block_key(draft)).or_default().push(index);
            by_phase.entry(draft.trial.phase).or_default().push(index);
        }
        for (index, column) in self.plan.computed.iter().enumerate() {
            let mut stated: Vec<(BlockKey, &'g Cell)> = Vec::new();
            let mut first_of: HashMap<BlockKey, &'g Cell> = HashMap::new();
            let mut phases: HashMap<Option<Phase>, usize> = HashMap::new();
            let mut differs = 0;
            for cell in computed.iter().filter(|cell| cell.column == index) {
                let Some(block) = self.out.drafts.get(cell.draft).map(block_key) else {
                    continue;
                };
                match first_of.get(&block) {
                    None => {
                        first_of.insert(block, cell.cell);
                        stated.push((block, cell.cell));
                        *phases.entry(block.0).or_insert(0) += 1;
                    }
                    // The same number repeated down the block is stated once.
                    Some(first) => differs += usize::from(first.value != cell.cell.value),
                }
            }
            if differs > 0 {
                self.report_computed_rows(column.column, &column.text, differs + stated.len());
                continue;
            }
            for (block, cell) in stated {
                let alone = phases.get(&block.0) == Some(&1);
                let of = if alone {
                    by_phase.get(&block.0)
                } else {
                    by_block.get(&block)
                };
                self.out.averages.push(Average {
                    marks: self.marks.marks,
                    statistic: column.statistic,
                    text: column.text.clone(),
                    cell,
                    grid: self.grid,
                    of: of.cloned().unwrap_or_default(),
                    named: column.label,
                });
            }
        }
    }
}

/// A cell in a computed column, with the row's first trial.
struct Computed<'g> {
    column: usize,
    draft: usize,
    cell: &'g Cell,
}

type BlockKey = (Option<Phase>, Option<u32>);

fn block_key(draft: &Draft) -> BlockKey {
    (draft.trial.phase, draft.trial.session)
}
