//! The long layout: one row a trial.

use super::Average;
use super::plan::ScoreColumn;
use super::reader::RowsReader;
use super::row::RowAbout;
use super::wide::Computed;
use crate::logbook::aliases::Field;
use crate::logbook::cells::{cell_text, is_value, whole};
use crate::logbook::columns::cell_at;
use crate::logbook::grid::Cell;
use crate::logbook::labels::Label;
use crate::phase::Phase;
use crate::statistic::Statistic;

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
            self.long_row(row, about);
            for (index, column) in self.plan.computed.iter().enumerate() {
                if let Some(cell) = cell_at(row, column.column)
                    && self.out.drafts.len() > first
                {
                    computed.push(Computed {
                        statistic: column.statistic,
                        text: column.text.clone(),
                        label: column.label,
                        cell,
                        groups: vec![index, first],
                    });
                }
            }
        }
        self.computed_of_long(&computed, start);
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
                && about.unknown_phase.is_none();
        if !has_score && !has_landing && !recorded {
            // Words below or between the trials are notes.
            return;
        }
        self.report_unknown_phase(&about);
        let line = first.row;
        if self.plan.scores.is_empty() {
            if has_landing {
                self.push(&about, &ScoreColumn::default(), about.number, None, line);
            }
        } else {
            for index in 0..self.plan.scores.len() {
                if let Some(score) = self.plan.scores.get(index).cloned() {
                    let cell = cell_at(row, score.column);
                    // With several score columns, an empty second rating or measure is no trial of its own.
                    if cell.is_none()
                        && self.plan.scores.len() > 1
                        && has_score
                        && score.rater.is_some()
                    {
                        continue;
                    }
                    self.push(&about, &score, about.number, cell, line);
                }
            }
        }
        self.above = about;
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
        let end = self.out.drafts.len();
        for (index, column) in self.plan.computed.iter().enumerate() {
            let cells: Vec<&Computed<'g>> = computed
                .iter()
                .filter(|cell| cell.groups.first() == Some(&index))
                .collect();
            let block_of = |cell: &Computed<'g>| {
                cell.groups
                    .get(1)
                    .and_then(|first| self.out.drafts.get(*first))
                    .map(|draft| (draft.trial.phase, draft.trial.session))
            };
            let mut blocks = Vec::new();
            let mut stated: Vec<&Computed<'g>> = Vec::new();
            for cell in &cells {
                let block = block_of(cell);
                let repeats = stated
                    .iter()
                    .any(|other| block_of(other) == block && other.cell.value == cell.cell.value);
                if !blocks.contains(&block) {
                    blocks.push(block);
                }
                if !repeats {
                    stated.push(cell);
                }
            }
            if stated.len() > blocks.len() {
                self.report_computed_rows(column.column, &column.text, stated.len());
                continue;
            }
            let phase_alone = |phase: Option<Phase>| {
                stated
                    .iter()
                    .filter(|cell| block_of(cell).is_some_and(|(of, _)| of == phase))
                    .count()
                    == 1
            };
            let averages: Vec<Average<'g>> = stated
                .iter()
                .map(|cell| {
                    let block = block_of(cell);
                    let alone = block.is_some_and(|(phase, _)| phase_alone(phase));
                    let of = (start..end)
                        .filter(|draft| {
                            self.out.drafts.get(*draft).zip(block).is_some_and(
                                |(draft, (phase, session))| {
                                    draft.trial.phase == phase
                                        && (alone || draft.trial.session == session)
                                },
                            )
                        })
                        .collect();
                    Average {
                        statistic: cell.statistic,
                        text: cell.text.clone(),
                        cell: cell.cell,
                        grid: self.grid,
                        of,
                        named: cell.label,
                    }
                })
                .collect();
            self.out.averages.extend(averages);
        }
    }
}
