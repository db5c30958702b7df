//! The wide layouts: one row a block and one column a trial, or one column a block and one row a trial.

use std::ops::Range;

use super::plan::ScoreColumn;
use super::reader::{MOST_TRIALS, RowsReader};
use super::row::RowAbout;
use super::{Average, SessionNaming};
use crate::logbook::cells::{cell_text, is_value};
use crate::logbook::grid::Cell;
use crate::logbook::labels::Label;
use crate::logbook::problem::{Problem, ProblemKind, report};
use crate::phase::{Phase, PhaseKind};
use crate::statistic::Statistic;

/// One block of a wide layout, before it is known how many trials it has: its trials stand in slots, of which some may be empty.
#[derive(Debug)]
pub(super) struct Group<'g> {
    /// The row, or its first row, as an index into what the rows say.
    row: usize,
    /// A score column of the block, for what its header says of the block.
    column: usize,
    /// The filled slots, in order.
    filled: Vec<(usize, &'g Cell)>,
    /// Tests, practice and familiarisation are compared among themselves.
    class: u8,
    /// Sessions of practice that nothing else tells apart are counted.
    counted: Option<u32>,
    /// The trials made of it.
    drafts: Range<usize>,
}

/// A cell in a computed column or a row of averages, and the groups that it may stand for.
struct Computed<'g> {
    statistic: Option<Statistic>,
    text: String,
    label: Label,
    cell: &'g Cell,
    groups: Vec<usize>,
}

/// How many empty cells at the end of a block may be a trial without a score; more, and the block is shorter than the others of its kind.
const MISSING_AT_END: usize = 1;
/// A block of which so few slots are filled is no block of trials with gaps: only what is there is read.
const SPARSE: usize = 20;

/// The blocks of a wide layout and what its rows say.
struct Wide<'g> {
    row_a_block: bool,
    /// Row a block: the score columns of each block in a row. Column a block: each column alone.
    columns: Vec<Vec<usize>>,
    /// Row a block: the block and slot of each score column.
    slots: Vec<(usize, usize)>,
    /// Row a block: the group of each block in the row being read.
    group_of: Vec<Option<usize>>,
    abouts: Vec<RowAbout<'g>>,
    lines: Vec<u32>,
    groups: Vec<Group<'g>>,
    computed: Vec<Computed<'g>>,
}

impl<'g> RowsReader<'g, '_> {
    pub(super) fn wide(&mut self, row_a_block: bool) {
        let mut wide = self.blocks_of_columns(row_a_block);
        if !row_a_block {
            wide.groups = (0..self.plan.scores.len())
                .map(|column| Group::new(0, column))
                .collect();
        }
        let rows = self.region.rows.clone();
        let mut ordinal = 0_u32;
        let mut read = 0;
        let mut per_trial = vec![0_usize; self.plan.computed.len()];
        for row in rows {
            let Some(line) = row.first().map(|cell| cell.row) else {
                continue;
            };
            if !row_a_block && self.take_section(row) {
                continue;
            }
            let mut about = self.about(row);
            if let Some(summary) = about.summary {
                self.summary_of_wide(row, summary, &mut wide);
                continue;
            }
            let scores = self.scores_in(row);
            let computed = self.computed_in(row);
            let n = scores.len();
            if scores.is_empty() && computed.is_empty() && (row_a_block || about.number.is_none()) {
                continue;
            }
            if !scores.is_empty() {
                self.report_unknown_names(&about);
            }
            if row_a_block {
                if wide.columns.len() > 1 && self.headers_name_blocks() {
                    // One row holds several tests: its date is the day on which a form was filled in.
                    about.date = None;
                }
                self.take_block_row(&scores, &computed, &mut wide);
            } else {
                ordinal = about.number.unwrap_or(ordinal.saturating_add(1));
                about.number = Some(ordinal);
                for (column, _) in computed {
                    if let Some(n) = per_trial.get_mut(column) {
                        *n += 1;
                    }
                }
                for (column, cell) in scores {
                    if let Some(group) = wide.groups.get_mut(column) {
                        group.filled.push((wide.abouts.len(), cell));
                    }
                }
            }
            self.above = about.clone();
            wide.abouts.push(about);
            wide.lines.push(line);
            read += n;
            if self.out.drafts.len() + read > MOST_TRIALS {
                self.report_too_many(line);
                break;
            }
        }
        for (column, n) in self.plan.computed.iter().zip(per_trial) {
            if n > 0 {
                self.report_computed_rows(column.column, &column.text, n);
            }
        }
        self.classify(&mut wide);
        self.count_practice(&mut wide);
        self.push_groups(&mut wide);
        self.push_computed(wide);
    }

    /// Which score columns make up the blocks of a row: one, or one for each phase that the headers name.
    fn blocks_of_columns(&self, row_a_block: bool) -> Wide<'g> {
        let mut columns: Vec<Vec<usize>> = Vec::new();
        let mut slots = Vec::new();
        for (index, score) in self.plan.scores.iter().enumerate() {
            let same = columns.iter().position(|block| {
                block
                    .first()
                    .and_then(|first| self.plan.scores.get(*first))
                    .is_some_and(|first| row_a_block && same_block(first, score))
            });
            let at = same.unwrap_or_else(|| {
                columns.push(Vec::new());
                columns.len() - 1
            });
            if let Some(block) = columns.get_mut(at) {
                slots.push((at, block.len()));
                block.push(index);
            }
        }
        Wide {
            row_a_block,
            group_of: vec![None; columns.len()],
            columns,
            slots,
            abouts: Vec::new(),
            lines: Vec::new(),
            groups: Vec::new(),
            computed: Vec::new(),
        }
    }

    fn headers_name_blocks(&self) -> bool {
        self.plan
            .scores
            .iter()
            .any(|score| score.label.names_block())
    }

    /// The score cells of a row, each with its score column.
    fn scores_in(&self, row: &'g [Cell]) -> Vec<(usize, &'g Cell)> {
        row.iter()
            .filter_map(|cell| Some((self.score_column(cell.column)?, cell)))
            .collect()
    }

    fn computed_in(&self, row: &'g [Cell]) -> Vec<(usize, &'g Cell)> {
        if self.plan.computed.is_empty() {
            return Vec::new();
        }
        row.iter()
            .filter_map(|cell| Some((self.computed_column(cell.column)?, cell)))
            .collect()
    }

    /// The blocks of one row, and what is computed beside them.
    fn take_block_row(
        &self,
        scores: &[(usize, &'g Cell)],
        computed: &[(usize, &'g Cell)],
        wide: &mut Wide<'g>,
    ) {
        let first = wide.groups.len();
        let row = wide.abouts.len();
        // Blocks are begun by their first score: a row need not have them all.
        for (column, cell) in scores {
            let Some((block, slot)) = wide.slots.get(*column).copied() else {
                continue;
            };
            let Some(at) = wide.group_of.get_mut(block) else {
                continue;
            };
            let at = *at.get_or_insert_with(|| {
                let head = wide.columns.get(block).and_then(|block| block.first());
                wide.groups
                    .push(Group::new(row, head.copied().unwrap_or(0)));
                wide.groups.len() - 1
            });
            if let Some(group) = wide.groups.get_mut(at) {
                group.filled.push((slot, cell));
            }
        }
        for (column, _) in scores {
            let block = wide.slots.get(*column).map_or(0, |(block, _)| *block);
            if let Some(at) = wide.group_of.get_mut(block) {
                *at = None;
            }
        }
        for (index, cell) in computed {
            let Some(column) = self.plan.computed.get(*index) else {
                continue;
            };
            let groups = self.groups_left_of(column.column, column.label, first, wide);
            wide.computed.push(Computed {
                statistic: column.statistic,
                text: column.text.clone(),
                label: column.label,
                cell,
                groups,
            });
        }
    }

    /// The groups of a row for which a computed column stands: those that it names, else the nearest on its left.
    fn groups_left_of(
        &self,
        column: u32,
        label: Label,
        first: usize,
        wide: &Wide<'g>,
    ) -> Vec<usize> {
        let score_of = |at: usize| {
            wide.groups
                .get(at)
                .and_then(|group| self.plan.scores.get(group.column))
        };
        let all = first..wide.groups.len();
        let named: Vec<usize> = all
            .clone()
            .filter(|at| {
                label.names_block()
                    && score_of(*at).is_some_and(|score| {
                        score.label.phase == label.phase && score.label.session == label.session
                    })
            })
            .collect();
        if !named.is_empty() {
            return named;
        }
        all.clone()
            .rev()
            .find(|at| score_of(*at).is_some_and(|score| score.column < column))
            .or_else(|| (!all.is_empty()).then_some(first))
            .into_iter()
            .collect()
    }

    fn summary_of_wide(
        &mut self,
        row: &'g [Cell],
        (statistic, label, name): (Option<Statistic>, Label, &'g Cell),
        wide: &mut Wide<'g>,
    ) {
        let text = cell_text(name);
        if wide.row_a_block {
            if row.iter().any(is_value) {
                report(
                    self.problems,
                    Problem::at(
                        ProblemKind::UnrecognisedColumn,
                        self.region.grid.place(name.row, name.column),
                        &text,
                        format!("“{text}” sums up trials of different blocks."),
                        "Nothing was read from this row.",
                    ),
                );
            }
            return;
        }
        for (column, cell) in self.scores_in(row) {
            if cell.column != name.column && is_value(cell) {
                wide.computed.push(Computed {
                    statistic,
                    text: text.clone(),
                    label,
                    cell,
                    groups: vec![column],
                });
            }
        }
        for (index, cell) in self.computed_in(row) {
            // A change beside the row of means is the change of the means.
            if let Some(column) = self.plan.computed.get(index).filter(|_| is_value(cell)) {
                wide.computed.push(Computed {
                    statistic: column.statistic,
                    text: column.text.clone(),
                    label: column.label,
                    cell,
                    groups: Vec::new(),
                });
            }
        }
    }

    /// The phase and session that a group's trials will have, as far as row and header name them.
    fn named(&self, group: &Group, wide: &Wide<'g>) -> (Option<Phase>, Option<u32>) {
        let label = self
            .plan
            .scores
            .get(group.column)
            .map(|column| column.label)
            .unwrap_or_default();
        let about = wide.abouts.get(group.row).filter(|_| wide.row_a_block);
        let phase = label
            .phase
            .or(about.and_then(|about| about.phase))
            .or(self.section.phase);
        let session = label.session.or(about.and_then(|about| about.session));
        (phase, session)
    }

    fn phase_in_sessions(&self, session: Option<u32>) -> Option<Phase> {
        self.context.phase_of_session.get(&session?).copied()
    }

    fn classify(&self, wide: &mut Wide<'g>) {
        let classes: Vec<u8> = wide
            .groups
            .iter()
            .map(|group| {
                let (phase, session) = self.named(group, wide);
                let phase = phase.or_else(|| self.phase_in_sessions(session));
                match phase.map(|phase| phase.kind) {
                    Some(PhaseKind::Familiarisation) => 1,
                    Some(PhaseKind::Practice) => 2,
                    Some(_) => 3,
                    None if session.is_some() => 2,
                    None => 0,
                }
            })
            .collect();
        for (group, class) in wide.groups.iter_mut().zip(classes) {
            group.class = class;
        }
    }

    /// Several blocks of practice that no session, date or week tells apart are its sessions, one after the other.
    fn count_practice(&self, wide: &mut Wide<'g>) {
        let untold: Vec<usize> = (0..wide.groups.len())
            .filter(|at| {
                let Some(group) = wide.groups.get(*at) else {
                    return false;
                };
                let column = self.plan.scores.get(group.column);
                let about = wide.abouts.get(group.row).filter(|_| wide.row_a_block);
                let told = column.is_some_and(|column| {
                    column.date.is_some()
                        || column.label.week.is_some()
                        || column.measure.is_some()
                        || column.rater.is_some()
                }) || about.is_some_and(|about| {
                    about.date.is_some()
                        || about.week.is_some()
                        || about.measure.is_some()
                        || about.rater.is_some()
                        || about.block.is_some()
                });
                !told
                    && !group.filled.is_empty()
                    && self.named(group, wide) == (Some(Phase::PRACTICE), None)
            })
            .collect();
        if untold.len() < 2 {
            return;
        }
        for (number, at) in (1..).zip(untold) {
            if let Some(group) = wide.groups.get_mut(at) {
                group.counted = Some(number);
            }
        }
    }

    /// Decides how many trials each block has, and makes them.
    fn push_groups(&mut self, wide: &mut Wide<'g>) {
        let length = |group: &Group| group.filled.last().map_or(0, |(slot, _)| slot + 1);
        let mut longest = [0_usize; 4];
        for group in &wide.groups {
            if let Some(most) = longest.get_mut(usize::from(group.class)) {
                *most = (*most).max(length(group));
            }
        }
        for at in 0..wide.groups.len() {
            let Some(group) = wide.groups.get(at) else {
                continue;
            };
            let own = length(group);
            let most = longest
                .get(usize::from(group.class))
                .copied()
                .unwrap_or(own);
            let length = if own > 0 && most - own <= MISSING_AT_END {
                most
            } else {
                own
            };
            let sparse = length > SPARSE * (group.filled.len() + 2);
            let first = self.out.drafts.len();
            let mut filled = group.filled.iter().peekable();
            if sparse {
                for (slot, cell) in filled {
                    self.push_slot(group, *slot, Some(cell), wide);
                }
            } else {
                for slot in 0..length {
                    let cell = filled.next_if(|(of, _)| *of == slot).map(|(_, cell)| *cell);
                    self.push_slot(group, slot, cell, wide);
                }
            }
            let drafts = first..self.out.drafts.len();
            if let Some(group) = wide.groups.get_mut(at) {
                group.drafts = drafts;
            }
        }
    }

    fn push_slot(
        &mut self,
        group: &Group<'g>,
        slot: usize,
        cell: Option<&'g Cell>,
        wide: &Wide<'g>,
    ) {
        let (row, column) = if wide.row_a_block {
            let (block, _) = wide.slots.get(group.column).copied().unwrap_or_default();
            let column = wide.columns.get(block).and_then(|block| block.get(slot));
            (group.row, column.copied())
        } else {
            (slot, Some(group.column))
        };
        let (Some(about), Some(line), Some(score)) = (
            wide.abouts.get(row),
            wide.lines.get(row).copied(),
            column.and_then(|column| self.plan.scores.get(column)),
        ) else {
            return;
        };
        let number = if wide.row_a_block {
            score.label.trial
        } else {
            about.number
        };
        self.push(about, score, number, cell, line);
        if let Some(counted) = group.counted
            && let Some(draft) = self.out.drafts.last_mut()
        {
            draft.trial.session = Some(counted);
            draft.naming = SessionNaming::CountOfPractice;
        }
    }

    fn push_computed(&mut self, wide: Wide<'g>) {
        for cell in wide.computed {
            let of = cell
                .groups
                .iter()
                .filter_map(|at| wide.groups.get(*at))
                .flat_map(|group| group.drafts.clone())
                .collect();
            self.out.averages.push(Average {
                marks: self.marks.marks,
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

impl Group<'_> {
    fn new(row: usize, column: usize) -> Self {
        Self {
            row,
            column,
            filled: Vec::new(),
            class: 0,
            counted: None,
            drafts: 0..0,
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
