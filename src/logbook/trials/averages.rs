//! What the pair computed beside or below its trials: each is a claim of that statistic for its block.

use std::collections::HashMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::{Average, Draft};
use crate::logbook::cells::cell_text;
use crate::logbook::claims::{defaults, stated_of};
use crate::logbook::formulas::{self, CellRange};
use crate::logbook::grid::{Cell, Grid, Value};
use crate::logbook::model::{
    Claim, ClaimMeasure, ClaimOrigin, FormulaRange, Score, Sourced, Trial,
};
use crate::logbook::problem::{Problem, ProblemKind};
use crate::logbook::read::Context;
use crate::phase::{BlockName, Phase};

/// The trials by the cells in which they stand.
pub(crate) struct TrialCells(HashMap<(usize, u32, u32), usize>);

impl TrialCells {
    /// Only hand-ins with formulas need this.
    pub(crate) fn of(drafts: &[Draft]) -> Self {
        Self(
            drafts
                .iter()
                .enumerate()
                .map(|(index, draft)| (draft.cell, index))
                .collect(),
        )
    }
}

/// The averages beside and below the trials as claims.
pub(crate) fn claims(
    averages: &[Average],
    trials: &[Trial],
    cells: &TrialCells,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Vec<Claim> {
    averages
        .iter()
        .filter_map(|average| claim(average, trials, cells, context, problems))
        .collect()
}

fn claim(
    average: &Average,
    trials: &[Trial],
    cells: &TrialCells,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Option<Claim> {
    let grid = context.grids.get(average.grid)?;
    let place = grid.place(average.cell.row, average.cell.column);
    if let Value::Text(text) = &average.cell.value
        && !text.contains(|c: char| c.is_ascii_digit())
    {
        // A word or dash beside the trials states no number.
        return None;
    }
    let ranges = average.cell.formula.as_deref().and_then(formulas::parse);
    let mut block = named_block(average, trials)
        .or_else(|| block_of(&average.of, trials))
        .or_else(|| {
            let taken = ranges
                .as_ref()
                .map(|summary| taken(&summary.ranges, average.grid, grid, cells, context.grids))?;
            block_of(&taken, trials)
        });
    let measure = average
        .of
        .first()
        .and_then(|index| trials.get(*index))
        .map_or(0, |trial| trial.measure);
    let value = stated_of(average.cell, average.statistic, context, average.grid);
    let value = match value {
        Ok(value) => Some(value),
        Err(doubt) => {
            problems.push(Problem::at(
                doubt.kind,
                place.clone(),
                cell_text(average.cell),
                doubt.says,
                doubt.settle,
            ));
            None
        }
    };
    if let Some(BlockName::Phase(_)) | None = block
        && average
            .statistic
            .is_some_and(|statistic| statistic.shape() != crate::statistic::Shape::OneBlock)
        && block == Some(BlockName::Phase(Phase::PRE))
    {
        // A change that stands beside the pre-test is the change from it.
        block = None;
    }
    let filled = defaults(average.statistic, block, None);
    let formula = ranges.and_then(|summary| {
        let block = filled.phase?;
        formula_range(
            average,
            &summary.ranges,
            (measure, block),
            trials,
            cells,
            context,
        )
    });
    Some(Claim {
        id: Arc::from(""),
        statistic: average.statistic,
        statistic_text: average.text.as_str().into(),
        measure: ClaimMeasure::Known(measure),
        phase: filled.phase,
        phase_text: None,
        versus: filled.versus,
        versus_text: None,
        value_text: value_text(average.cell, value),
        value,
        unit: None,
        location: None,
        place,
        origin: ClaimOrigin::BesideTrials,
        formula,
    })
}

fn value_text(cell: &Cell, value: Option<crate::number::Stated>) -> Arc<str> {
    match (&cell.value, value) {
        (Value::Text(text), _) => text.clone(),
        (_, Some(value)) => value.to_string().into(),
        _ => cell_text(cell).into(),
    }
}

/// The block that a label names ("Pre mean").
fn named_block(average: &Average, trials: &[Trial]) -> Option<BlockName> {
    let label = average.named;
    match (label.phase, label.session) {
        (Some(Phase::PRACTICE), Some(session)) => Some(BlockName::PracticeSession(session)),
        (Some(phase), _) => Some(BlockName::Phase(phase)),
        (None, Some(session)) => {
            let phase = trials
                .iter()
                .find(|trial| trial.session == Some(session))?
                .phase?;
            Some(if phase == Phase::PRACTICE {
                BlockName::PracticeSession(session)
            } else {
                BlockName::Phase(phase)
            })
        }
        (None, None) => None,
    }
}

/// The block that these trials are, where they are one: all trials of a phase, or all of a practice session, of one measure.
fn block_of(of: &[usize], trials: &[Trial]) -> Option<BlockName> {
    let first = trials.get(*of.first()?)?;
    let phase = first.phase?;
    let all_alike =
        |same: &dyn Fn(&Trial) -> bool| of.iter().all(|index| trials.get(*index).is_some_and(same));
    if !all_alike(&|trial| trial.phase == Some(phase) && trial.measure == first.measure) {
        return None;
    }
    let whole = |same: &dyn Fn(&Trial) -> bool| {
        trials.iter().filter(|trial| same(trial)).count() == of.len()
    };
    let of_session = |trial: &Trial| {
        trial.phase == Some(phase)
            && trial.measure == first.measure
            && (trial.session, trial.date) == (first.session, first.date)
    };
    let of_phase = |trial: &Trial| trial.phase == Some(phase) && trial.measure == first.measure;
    if phase == Phase::PRACTICE && all_alike(&of_session) {
        let sessions_differ = trials
            .iter()
            .any(|trial| of_phase(trial) && !of_session(trial));
        if let Some(number) =
            practice_number(first, trials).filter(|_| sessions_differ || first.session.is_some())
        {
            return whole(&of_session).then_some(BlockName::PracticeSession(number));
        }
    }
    whole(&of_phase).then_some(BlockName::Phase(phase))
}

/// The number by which a practice session is named: its own, or where none has one, its place by date over practice alone.
fn practice_number(trial: &Trial, trials: &[Trial]) -> Option<u32> {
    if trial.session.is_some() {
        return trial.session;
    }
    let practice = || {
        trials
            .iter()
            .filter(|other| other.phase == Some(Phase::PRACTICE))
    };
    if practice().any(|other| other.session.is_some()) {
        return None;
    }
    let date = trial.date?;
    let mut before: Vec<Date> = practice()
        .filter_map(|other| other.date)
        .filter(|other| *other < date)
        .collect();
    before.sort_unstable();
    before.dedup();
    u32::try_from(before.len() + 1).ok()
}

/// The grid that a range of a formula speaks of.
fn grid_of<'g>(
    range: &CellRange,
    own: usize,
    grid: &Grid,
    grids: &'g [Grid],
) -> Option<(usize, &'g Grid)> {
    match &range.sheet {
        None => grids.get(own).map(|grid| (own, grid)),
        Some(name) => grids
            .iter()
            .enumerate()
            .find(|(_, other)| other.file == grid.file && other.name().eq_ignore_ascii_case(name)),
    }
}

/// The cells of a formula's ranges that hold something, each once.
fn cells_in<'g>(
    ranges: &[CellRange],
    own: usize,
    grid: &Grid,
    grids: &'g [Grid],
) -> Vec<(usize, &'g Cell)> {
    let mut cells: Vec<(usize, &'g Cell)> = Vec::new();
    for range in ranges {
        let Some((index, of)) = grid_of(range, own, grid, grids) else {
            continue;
        };
        let start = of.cells.partition_point(|cell| cell.row < range.first.0);
        let within = of
            .cells
            .iter()
            .skip(start)
            .take_while(|cell| cell.row <= range.last.0)
            .filter(|cell| range.holds(cell.row, cell.column));
        cells.extend(within.map(|cell| (index, cell)));
    }
    cells
}

fn taken(
    ranges: &[CellRange],
    own: usize,
    grid: &Grid,
    cells: &TrialCells,
    grids: &[Grid],
) -> Vec<usize> {
    cells_in(ranges, own, grid, grids)
        .into_iter()
        .filter_map(|(index, cell)| cells.0.get(&(index, cell.row, cell.column)).copied())
        .collect()
}

/// A formula's range against the block that it stands for; none where it takes in no trial at all.
fn formula_range(
    average: &Average,
    ranges: &[CellRange],
    block: (usize, BlockName),
    trials: &[Trial],
    cells: &TrialCells,
    context: &Context,
) -> Option<FormulaRange> {
    let formula = average.cell.formula.as_deref()?;
    range_against(formula, ranges, average.grid, block, trials, cells, context)
}

/// The same for any cell with a formula, such as one of the Claims table.
pub(crate) fn range_against(
    formula: &str,
    ranges: &[CellRange],
    own: usize,
    (measure, block): (usize, BlockName),
    trials: &[Trial],
    cells: &TrialCells,
    context: &Context,
) -> Option<FormulaRange> {
    let grid = context.grids.get(own)?;
    let in_block = |trial: &Trial| {
        trial.measure == measure
            && match block {
                BlockName::Phase(phase) => trial.phase == Some(phase),
                BlockName::PracticeSession(number) => {
                    trial.phase == Some(Phase::PRACTICE)
                        && practice_number(trial, trials) == Some(number)
                }
            }
    };
    let mut taken_in = Vec::new();
    let mut extra = Vec::new();
    let mut any_trial = false;
    for (index, cell) in cells_in(ranges, own, grid, context.grids) {
        let trial = cells.0.get(&(index, cell.row, cell.column)).copied();
        any_trial |= trial.is_some();
        match trial.filter(|trial| trials.get(*trial).is_some_and(&in_block)) {
            Some(trial) => taken_in.push(trial),
            None => {
                if let (Value::Number(value), Some(of)) = (&cell.value, context.grids.get(index)) {
                    extra.push(Sourced {
                        value: *value,
                        place: of.place(cell.row, cell.column),
                    });
                }
            }
        }
    }
    let left_out = trials
        .iter()
        .enumerate()
        .filter(|(index, trial)| {
            matches!(trial.score, Score::Number(_)) && in_block(trial) && !taken_in.contains(index)
        })
        .map(|(index, _)| index)
        .collect();
    any_trial.then(|| FormulaRange {
        formula: formula.into(),
        left_out,
        extra,
        taken: taken_in,
    })
}

impl Context<'_> {
    /// What a formula that was never calculated gives, where it is one function over a range of numbers.
    pub(crate) fn calculate(&self, own: usize, cell: &Cell) -> Option<f64> {
        let summary = formulas::parse(cell.formula.as_deref()?)?;
        let grid = self.grids.get(own)?;
        let mut numbers = Vec::new();
        for (_, cell) in cells_in(&summary.ranges, own, grid, self.grids) {
            match &cell.value {
                Value::Number(number) => numbers.push(*number),
                Value::NotCalculated | Value::Error(_) => return None,
                _ => {}
            }
        }
        summary.evaluate(&numbers).filter(|value| value.is_finite())
    }
}

/// An error where a number should stand, or a formula that can't be calculated here.
pub(crate) fn formula_doubt(cell: &Cell) -> Option<(ProblemKind, String)> {
    match &cell.value {
        Value::Error(text) => Some((
            ProblemKind::FormulaError,
            format!("The cell shows the error {text}."),
        )),
        Value::NotCalculated => Some((
            ProblemKind::FormulaError,
            String::from(
                "The cell holds a formula that was never calculated: opening the file in a spreadsheet and saving it calculates it.",
            ),
        )),
        _ => None,
    }
}
