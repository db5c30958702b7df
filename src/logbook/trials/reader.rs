//! From the rows of a Trials table to trials: what the row says of a trial and what its column says, put together.

use std::collections::HashMap;
use std::sync::Arc;

use super::marks::{ColumnMarks, column_marks};
use super::plan::{Layout, Plan, Role, ScoreColumn, block_named, plan};
use super::row::RowAbout;
use super::table_labels::{MergedLabels, merged_labels, sessions_name_phases, times_from_zero};
use super::{Average, Draft, OpenPhase, SessionNaming, TrialsRead};
use crate::logbook::cells::cell_text;
use crate::logbook::dates::DateReading;
use crate::logbook::grid::{Cell, Value};
use crate::logbook::labels::{Label, PhaseReading};
use crate::logbook::model::{Measure, Score, Trial};
use crate::logbook::problem::{Problem, report};
use crate::logbook::read::Context;
use crate::logbook::regions::Region;
use crate::logbook::score_cell::{ScoreColumnContext, read_score};
use crate::logbook::spelling::key;
use crate::phase::{Phase, PhaseKind};
use crate::statistic::Statistic;

/// More trials than any programme has: a hand-in with more is no logbook, and the rest of it is not read.
pub(super) const MOST_TRIALS: usize = 50_000;

/// Reads one Trials table.
pub(crate) fn read<'g>(
    region: &Region<'g>,
    grid: usize,
    context: &Context,
    out: &mut TrialsRead<'g>,
    problems: &mut Vec<Problem>,
) {
    let plan = {
        let read_date = |cell: &Cell| match context.dates.read(&cell.value, context.aliases()) {
            DateReading::On(date) => Some(date),
            _ => None,
        };
        plan(
            region,
            context.measures,
            context.aliases(),
            &read_date,
            problems,
        )
    };
    let marks = column_marks(region, &plan);
    let mut measure_names = HashMap::new();
    for (index, measure) in context
        .measures
        .iter()
        .chain(&out.further_measures)
        .enumerate()
    {
        measure_names.entry(key(&measure.name)).or_insert(index);
    }
    let mut reader = RowsReader {
        region,
        grid,
        context,
        plan: &plan,
        marks,
        out,
        problems,
        section: Label::default(),
        above: RowAbout::default(),
        last_phase: None,
        last_date: None,
        last_measure: None,
        open_phases: HashMap::new(),
        last_open_phase: None,
        sessions_name_phases: sessions_name_phases(region, &plan, context.aliases()),
        measure_names,
        unknown: HashMap::new(),
        merged: merged_labels(region, &plan),
        times_from_zero: times_from_zero(region, &plan, context.aliases()),
        strays: Vec::new(),
        beside: Vec::new(),
        restarts: false,
        practice_starts: Vec::new(),
    };
    match plan.layout {
        Layout::Long => reader.long(),
        Layout::RowABlock => reader.wide(true),
        Layout::ColumnABlock => reader.wide(false),
    }
    reader.take_beside();
    reader.report_strays();
}

pub(super) struct RowsReader<'g, 'a> {
    pub(super) region: &'a Region<'g>,
    pub(super) grid: usize,
    pub(super) context: &'a Context<'a>,
    pub(super) plan: &'a Plan,
    pub(super) marks: ColumnMarks,
    pub(super) out: &'a mut TrialsRead<'g>,
    pub(super) problems: &'a mut Vec<Problem>,
    /// What the last section heading among the rows names.
    pub(super) section: Label,
    /// What the row above says: a block's name may stand in its first row only.
    pub(super) above: RowAbout<'g>,
    pub(super) last_phase: Option<(Arc<str>, PhaseReading)>,
    pub(super) last_date: Option<(Arc<str>, DateReading)>,
    pub(super) last_measure: Option<(Arc<str>, usize)>,
    /// Texts that could be several phases, with their place in the list.
    pub(super) open_phases: HashMap<String, usize>,
    pub(super) last_open_phase: Option<usize>,
    /// Some sessions are named for phases ("Pre, 1, 2, Post"): the numbered ones are practice.
    pub(super) sessions_name_phases: bool,
    /// Measures by the keys of the names that the rows use.
    pub(super) measure_names: HashMap<String, usize>,
    /// Words that can't be read as what their column holds, with the problem that lists their cells.
    pub(super) unknown: HashMap<(&'static str, String), usize>,
    /// Labels merged over several rows, by column.
    pub(super) merged: Vec<MergedLabels>,
    /// The points in time are T0, T1, T2: the first is the pre-test.
    pub(super) times_from_zero: bool,
    /// Cells with numbers in columns without a header.
    pub(super) strays: Vec<&'g Cell>,
    /// Numbers beside the table with the name of a statistic on their left.
    pub(super) beside: Vec<(Statistic, Label, &'g Cell, &'g Cell)>,
    /// Trial numbers begin again in each block of a session.
    pub(super) restarts: bool,
    /// Where trial numbers of practice without sessions begin again, as indices into the drafts.
    pub(super) practice_starts: Vec<usize>,
}

impl<'g> RowsReader<'g, '_> {
    /// A heading among the rows ("Post-test") names the block of the rows below it.
    pub(super) fn take_section(&mut self, row: &'g [Cell]) -> bool {
        let [only] = row else {
            return false;
        };
        let Value::Text(text) = &only.value else {
            return false;
        };
        if self.score_column(only.column).is_some() {
            return false;
        }
        match block_named(text, self.context.aliases()) {
            Some(label) => {
                self.section = label;
                self.above = RowAbout::default();
                true
            }
            None => false,
        }
    }

    /// The score column that a column is.
    pub(super) fn score_column(&self, column: u32) -> Option<usize> {
        match self.plan.role(column) {
            Some(Role::Score(index)) => Some(index),
            _ => None,
        }
    }

    /// The computed column that a column is.
    pub(super) fn computed_column(&self, column: u32) -> Option<usize> {
        match self.plan.role(column) {
            Some(Role::Computed(index)) => Some(index),
            _ => None,
        }
    }

    /// Averages that stand beside the table, each with its name on its left.
    fn take_beside(&mut self) {
        for (statistic, label, name, cell) in std::mem::take(&mut self.beside) {
            self.out.averages.push(Average {
                marks: self.marks.marks,
                statistic: Some(statistic),
                text: cell_text(name),
                cell,
                grid: self.grid,
                of: Vec::new(),
                named: label,
            });
        }
    }

    pub(super) fn push(
        &mut self,
        about: &RowAbout<'g>,
        column: &ScoreColumn,
        number: Option<u32>,
        cell: Option<&'g Cell>,
        line: u32,
    ) {
        // A column headed `score` is not the measure of that name where each row names its own.
        let measure = about.measure.or(column.measure).unwrap_or(0);
        let mut score = match cell {
            None => Score::Missing,
            Some(cell) => self.score(cell, measure),
        };
        let landing = about.x.zip(about.y).map(|((x, _), (y, _))| (x, y));
        let grid = self.region.grid;
        let mut at = (line, cell.map_or(column.column, |cell| cell.column));
        if let (Score::Missing, Some((x, y)), Some((_, x_cell))) = (&score, landing, about.x) {
            score = Score::Number(x.hypot(y));
            at = (x_cell.row, x_cell.column);
        } else if cell.is_none() && self.plan.scores.is_empty() {
            at.1 = about.x.or(about.y).map_or(0, |(_, cell)| cell.column);
        }
        let label = column.label.or(Label {
            phase: self.section.phase.filter(|_| about.phase.is_none()),
            session: self.section.session.filter(|_| about.session.is_none()),
            ..Label::default()
        });
        let phase = label.phase.or(about.phase);
        let session = label.session.or(about.session);
        let hidden_column = grid.hidden_columns.binary_search(&at.1).is_ok();
        if label.phase.is_none()
            && let Some((kinds, phase_cell)) = &about.open_phase
        {
            self.open_phase(kinds, phase_cell);
        }
        self.out.drafts.push(Draft {
            trial: Trial {
                measure,
                phase,
                session,
                date: column.date.or(about.date),
                number: if self.restarts { None } else { number },
                score,
                landing,
                condition: about.condition.clone(),
                rater: column.rater.clone().or_else(|| about.rater.clone()),
                estimate: about.estimate,
                hidden: grid.hidden || about.hidden || hidden_column,
                place: grid.place(at.0, at.1),
            },
            cell: (self.grid, at.0, at.1),
            naming: match label.session {
                None => about.naming,
                Some(_) if label.phase == Some(Phase::PRACTICE) => SessionNaming::CountOfPractice,
                Some(_) => SessionNaming::SessionAlone,
            },
            week: label.week.or(about.week),
            nth_of_week: column.nth_of_week,
            fallback: self.plan.fallback,
        });
    }

    pub(super) fn open_phase(&mut self, kinds: &[PhaseKind], cell: &'g Cell) {
        let draft = self.out.drafts.len();
        let grid = self.grid;
        if let Some(open) = self
            .last_open_phase
            .and_then(|at| self.out.open_phases.get_mut(at))
            .filter(|open| open.kinds == kinds && open.cell.value == cell.value)
        {
            open.drafts.push(draft);
            return;
        }
        let text = cell_text(cell);
        let at = *self.open_phases.entry(text).or_insert_with(|| {
            self.out.open_phases.push(OpenPhase {
                kinds: kinds.to_vec(),
                cell,
                grid,
                drafts: Vec::new(),
            });
            self.out.open_phases.len() - 1
        });
        self.last_open_phase = Some(at);
        if let Some(open) = self.out.open_phases.get_mut(at) {
            open.drafts.push(draft);
        }
    }

    pub(super) fn score(&mut self, cell: &'g Cell, measure: usize) -> Score {
        // Nearly every score is a plain number.
        if let Value::Number(number) = cell.value
            && number.is_finite()
            && !cell.shown.percent
        {
            return Score::Number(number);
        }
        let undescribed;
        let measure = if let Some(measure) = self.measure(measure) {
            measure
        } else {
            undescribed = Measure::undescribed();
            &undescribed
        };
        if matches!(cell.value, Value::NotCalculated)
            && let Some(value) = self.context.calculate(self.grid, cell)
        {
            return Score::Number(value);
        }
        let context = ScoreColumnContext {
            measure,
            marks: self.marks.marks,
            settings: self.context.settings,
            footnotes: &self.marks.footnotes,
            span: self.marks.span,
        };
        let (score, doubt) = read_score(cell, &context);
        if let Some(doubt) = doubt {
            let place = self.region.grid.place(cell.row, cell.column);
            report(self.problems, doubt.at(place, cell_text(cell)));
        }
        score
    }

    pub(super) fn measure(&self, index: usize) -> Option<&Measure> {
        let described = self.context.measures.len();
        self.context
            .measures
            .get(index)
            .or_else(|| self.out.further_measures.get(index.checked_sub(described)?))
    }
}
