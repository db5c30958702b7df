//! The wide layouts: one row a block and one column a trial, or one column a block and one row a trial.

use std::ops::Range;

use super::Average;
use super::plan::ScoreColumn;
use super::reader::RowsReader;
use super::row::RowAbout;
use crate::logbook::cells::{cell_text, is_value};
use crate::logbook::columns::cell_at;
use crate::logbook::grid::Cell;
use crate::logbook::labels::Label;
use crate::logbook::problem::{Problem, ProblemKind};
use crate::phase::PhaseKind;
use crate::statistic::Statistic;

/// Cells of one block of a wide layout, before it is known how many trials it has.
#[derive(Debug)]
pub(super) struct Group<'g> {
    pub(super) score: usize,
    pub(super) items: Vec<Item<'g>>,
    /// Tests, practice and familiarisation are compared among themselves.
    pub(super) class: u8,
    pub(super) drafts: Range<usize>,
}

#[derive(Debug)]
pub(super) struct Item<'g> {
    pub(super) about: usize,
    pub(super) score: usize,
    pub(super) number: Option<u32>,
    pub(super) cell: Option<&'g Cell>,
    pub(super) row: u32,
}

/// A cell in a computed column or a row of averages, and the groups that it may stand for.
pub(super) struct Computed<'g> {
    pub(super) statistic: Option<Statistic>,
    pub(super) text: String,
    pub(super) label: Label,
    pub(super) cell: &'g Cell,
    pub(super) groups: Vec<usize>,
}

/// How many cells at the end of a block may be trials without a score; more, and the block is shorter than the others.
const MISSING_AT_END: usize = 2;

impl<'g> RowsReader<'g, '_> {
    pub(super) fn wide(&mut self, row_a_block: bool) {
        let rows = self.region.rows.clone();
        let mut abouts: Vec<RowAbout<'g>> = Vec::new();
        let mut groups: Vec<Group<'g>> = Vec::new();
        let mut computed: Vec<Computed<'g>> = Vec::new();
        let mut ordinal = 0_u32;
        if !row_a_block {
            groups = (0..self.plan.scores.len())
                .map(|score| self.group(score, None))
                .collect();
        }
        let mut per_trial: Vec<(usize, usize)> = Vec::new();
        for row in rows {
            let Some(line) = row.first().map(|cell| cell.row) else {
                continue;
            };
            if !row_a_block && self.take_section(row) {
                continue;
            }
            let about = self.about(row);
            if let Some((statistic, label, name)) = about.summary {
                self.summary_of_wide(row, row_a_block, statistic, label, name, &mut computed);
                continue;
            }
            let any_score = self
                .plan
                .scores
                .iter()
                .any(|score| cell_at(row, score.column).is_some());
            let any_computed = self
                .plan
                .computed
                .iter()
                .any(|column| cell_at(row, column.column).is_some());
            if !any_score && !any_computed {
                if !row_a_block && about.number.is_some() {
                    ordinal = about.number.unwrap_or(ordinal + 1);
                }
                continue;
            }
            if any_score {
                self.report_unknown_phase(&about);
            }
            let index = abouts.len();
            if row_a_block {
                let first_group = groups.len();
                self.row_groups(row, index, &about, line, &mut groups);
                for column in &self.plan.computed {
                    if let Some(cell) = cell_at(row, column.column) {
                        computed.push(Computed {
                            statistic: column.statistic,
                            text: column.text.clone(),
                            label: column.label,
                            cell,
                            groups: self.groups_left_of(
                                column.column,
                                column.label,
                                first_group,
                                &groups,
                            ),
                        });
                    }
                }
            } else {
                ordinal = about.number.unwrap_or(ordinal.saturating_add(1));
                for (score, group) in groups.iter_mut().enumerate() {
                    let cell = self
                        .plan
                        .scores
                        .get(score)
                        .and_then(|column| cell_at(row, column.column));
                    group.items.push(Item {
                        about: index,
                        score,
                        number: Some(ordinal),
                        cell,
                        row: line,
                    });
                }
                for (at, column) in self.plan.computed.iter().enumerate() {
                    if cell_at(row, column.column).is_some() {
                        match per_trial.iter_mut().find(|(of, _)| *of == at) {
                            Some((_, n)) => *n += 1,
                            None => per_trial.push((at, 1)),
                        }
                    }
                }
            }
            self.above = about.clone();
            abouts.push(about);
        }
        for (at, n) in per_trial {
            if let Some(column) = self.plan.computed.get(at) {
                self.report_computed_rows(column.column, &column.text, n);
            }
        }
        self.push_groups(&mut groups, &abouts);
        self.push_computed(computed, &groups);
    }

    fn group(&self, score: usize, about: Option<&RowAbout>) -> Group<'g> {
        let label = self
            .plan
            .scores
            .get(score)
            .map(|column| column.label)
            .unwrap_or_default();
        let phase = label
            .phase
            .or(about.and_then(|about| about.phase))
            .or(self.section.phase);
        let session = label.session.or(about.and_then(|about| about.session));
        let class = match phase.map(|phase| phase.kind) {
            Some(PhaseKind::Familiarisation) => 1,
            Some(PhaseKind::Practice) => 2,
            Some(_) => 3,
            None if session.is_some() => 2,
            None => 0,
        };
        Group {
            score,
            items: Vec::new(),
            class,
            drafts: 0..0,
        }
    }

    /// The blocks of one row: one, or one for each phase that the headers name.
    fn row_groups(
        &self,
        row: &'g [Cell],
        index: usize,
        about: &RowAbout,
        line: u32,
        groups: &mut Vec<Group<'g>>,
    ) {
        let first = groups.len();
        for (score, column) in self.plan.scores.iter().enumerate() {
            let same = groups.iter().skip(first).position(|group| {
                self.plan
                    .scores
                    .get(group.score)
                    .is_some_and(|other| same_block(other, column))
            });
            let at = if let Some(at) = same {
                first + at
            } else {
                groups.push(self.group(score, Some(about)));
                groups.len() - 1
            };
            if let Some(group) = groups.get_mut(at) {
                group.items.push(Item {
                    about: index,
                    score,
                    number: column.label.trial,
                    cell: cell_at(row, column.column),
                    row: line,
                });
            }
        }
    }

    /// The groups of a row for which a computed column stands: those that it names, else the nearest on its left.
    fn groups_left_of(
        &self,
        column: u32,
        label: Label,
        first: usize,
        groups: &[Group<'g>],
    ) -> Vec<usize> {
        let score_of = |group: &Group| self.plan.scores.get(group.score);
        let named: Vec<usize> = (first..groups.len())
            .filter(|at| {
                label.names_block()
                    && groups.get(*at).and_then(score_of).is_some_and(|score| {
                        score.label.phase == label.phase && score.label.session == label.session
                    })
            })
            .collect();
        if !named.is_empty() {
            return named;
        }
        (first..groups.len())
            .rev()
            .find(|at| {
                groups
                    .get(*at)
                    .and_then(score_of)
                    .is_some_and(|score| score.column < column)
            })
            .or_else(|| (first < groups.len()).then_some(first))
            .into_iter()
            .collect()
    }

    fn summary_of_wide(
        &mut self,
        row: &'g [Cell],
        row_a_block: bool,
        statistic: Option<Statistic>,
        label: Label,
        name: &'g Cell,
        computed: &mut Vec<Computed<'g>>,
    ) {
        if row_a_block {
            let text = cell_text(name);
            if row.iter().any(is_value) {
                self.problems.push(Problem::at(
                    ProblemKind::UnrecognisedColumn,
                    self.region.grid.place(name.row, name.column),
                    &text,
                    format!("“{text}” sums up trials of different blocks."),
                    "Nothing was read from this row.",
                ));
            }
            return;
        }
        for (index, score) in self.plan.scores.iter().enumerate() {
            if let Some(cell) = cell_at(row, score.column)
                .filter(|cell| cell.column != name.column && is_value(cell))
            {
                computed.push(Computed {
                    statistic,
                    text: cell_text(name),
                    label,
                    cell,
                    groups: vec![index],
                });
            }
        }
        for column in &self.plan.computed {
            // A change beside the row of means is the change of the means; a mean beside it is a mean of means.
            if let Some(cell) = cell_at(row, column.column).filter(|cell| is_value(cell)) {
                computed.push(Computed {
                    statistic: column.statistic,
                    text: column.text.clone(),
                    label: column.label,
                    cell,
                    groups: Vec::new(),
                });
            }
        }
    }

    /// Decides how many trials each block has, and makes them.
    fn push_groups(&mut self, groups: &mut [Group<'g>], abouts: &[RowAbout<'g>]) {
        let filled = |group: &Group| {
            group
                .items
                .iter()
                .rposition(|item| item.cell.is_some())
                .map_or(0, |last| last + 1)
        };
        let mut longest = [0_usize; 4];
        for group in groups.iter() {
            if let Some(length) = longest.get_mut(usize::from(group.class)) {
                *length = (*length).max(filled(group));
            }
        }
        for group in groups {
            let length = filled(group);
            let most = longest
                .get(usize::from(group.class))
                .copied()
                .unwrap_or(length);
            let length = if length > 0 && most - length <= MISSING_AT_END {
                most
            } else {
                length
            };
            let first = self.out.drafts.len();
            for item in group.items.iter().take(length) {
                if let (Some(about), Some(score)) = (
                    abouts.get(item.about),
                    self.plan.scores.get(item.score).cloned(),
                ) {
                    self.push(about, &score, item.number, item.cell, item.row);
                }
            }
            group.drafts = first..self.out.drafts.len();
        }
    }

    fn push_computed(&mut self, computed: Vec<Computed<'g>>, groups: &[Group<'g>]) {
        for cell in computed {
            let of = cell
                .groups
                .iter()
                .filter_map(|at| groups.get(*at))
                .flat_map(|group| group.drafts.clone())
                .collect();
            self.out.averages.push(Average {
                statistic: cell.statistic,
                text: cell.text,
                cell: cell.cell,
                grid: self.grid,
                of,
                named: cell.label,
            });
        }
    }
}

fn same_block(a: &ScoreColumn, b: &ScoreColumn) -> bool {
    a.label.phase == b.label.phase
        && a.label.session == b.label.session
        && a.label.week == b.label.week
        && a.date == b.date
        && a.measure == b.measure
        && a.rater == b.rater
}
