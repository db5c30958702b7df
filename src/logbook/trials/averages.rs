//! What the pair computed beside or below its trials: each is a claim of that statistic for its block.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::Average;
use super::index::TrialIndex;
use crate::logbook::cells::cell_text;
use crate::logbook::claims::defaults;
use crate::logbook::formulas::{self, CellRange};
use crate::logbook::grid::{Cell, Value};
use crate::logbook::model::{Claim, ClaimMeasure, ClaimOrigin, FormulaRange, Score, Sourced};
use crate::logbook::numbers::{Marks, marks_of};
use crate::logbook::problem::{Problem, report};
use crate::logbook::read::Context;
use crate::logbook::stated::stated;
use crate::number::Stated;
use crate::phase::{BlockName, Phase};
use crate::statistic::Shape;

/// The averages beside and below the trials as claims.
pub(crate) fn claims(
    averages: &[Average],
    index: &TrialIndex,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Vec<Claim> {
    let marks = marks(averages, context);
    averages
        .iter()
        .filter_map(|average| {
            let grid = context.grids.get(average.grid)?;
            let of_file = marks.get(&*grid.file).copied().unwrap_or_default();
            let marks = match average.marks {
                Marks::Open => of_file,
                settled => settled,
            };
            claim(average, marks, index, context, problems)
        })
        .collect()
}

/// Which mark separates decimals in the averages of each file: whoever typed `0,58` in one means 3.667 by `3,667` in another.
fn marks<'g>(averages: &[Average<'g>], context: &Context<'g>) -> HashMap<&'g str, Marks> {
    let mut texts: HashMap<&'g str, Vec<&'g str>> = HashMap::new();
    for average in averages {
        if let (Value::Text(text), Some(grid)) =
            (&average.cell.value, context.grids.get(average.grid))
        {
            texts.entry(&*grid.file).or_default().push(text);
        }
    }
    texts
        .into_iter()
        .map(|(file, texts)| (file, marks_of(texts)))
        .collect()
}

fn claim(
    average: &Average,
    marks: Marks,
    index: &TrialIndex,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Option<Claim> {
    let cell = average.cell;
    if matches!(&cell.value, Value::Text(text) if !text.contains(|c: char| c.is_ascii_digit())) {
        // A word or dash beside the trials states no number.
        return None;
    }
    let place = context
        .grids
        .get(average.grid)?
        .place(cell.row, cell.column);
    let value = match stated(cell, average.statistic, None, marks, context, average.grid) {
        Ok(value) => Some(value),
        Err(doubt) => {
            report(problems, doubt.at(place.clone(), cell_text(cell)));
            None
        }
    };
    let ranges = cell.formula.as_deref().and_then(formulas::parse);
    let taken = ranges
        .as_ref()
        .map(|summary| taken(&summary.ranges, average.grid, index, context))
        .unwrap_or_default();
    let block = named_block(average, index)
        .or_else(|| index.block_of(&average.of))
        .or_else(|| index.block_of(&taken));
    let one_block = average
        .statistic
        .is_none_or(|statistic| statistic.shape() == Shape::OneBlock);
    // A change that stands beside the pre-test is the change from it.
    let block = block.filter(|block| one_block || *block != BlockName::Phase(Phase::PRE));
    let filled = defaults(average.statistic, block, None);
    let measure = average
        .of
        .first()
        .or(taken.first())
        .and_then(|at| index.trials.get(*at))
        .map_or(0, |trial| trial.measure);
    let formula = ranges.zip(filled.phase).and_then(|(summary, block)| {
        let formula = cell.formula.as_deref()?;
        range_against(
            formula,
            &summary.ranges,
            average.grid,
            (measure, block),
            index,
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
        value_text: value_text(cell, value),
        value,
        unit: None,
        location: None,
        place,
        origin: ClaimOrigin::BesideTrials,
        formula,
    })
}

fn value_text(cell: &Cell, value: Option<Stated>) -> Arc<str> {
    match (&cell.value, value) {
        (Value::Text(text), _) => text.clone(),
        (_, Some(value)) => value.to_string().into(),
        _ => cell_text(cell).into(),
    }
}

/// The block that a label names ("Pre mean").
fn named_block(average: &Average, index: &TrialIndex) -> Option<BlockName> {
    match (average.named.phase, average.named.session) {
        (Some(Phase::PRACTICE), Some(session)) => Some(BlockName::PracticeSession(session)),
        (Some(phase), _) => Some(BlockName::Phase(phase)),
        (None, session) => index.block_of_session(session?),
    }
}

/// The cells of a formula's ranges that hold something; none once formulas have taken in more than any honest hand-in's.
fn cells_in<'g>(ranges: &[CellRange], own: usize, context: &Context<'g>) -> Vec<(usize, &'g Cell)> {
    let mut cells: Vec<(usize, &'g Cell)> = Vec::new();
    let Some(grid) = context.grids.get(own) else {
        return cells;
    };
    for range in ranges {
        let at = match &range.sheet {
            None => Some(own),
            Some(name) => context.grids.iter().position(|other| {
                other.file == grid.file && other.name().eq_ignore_ascii_case(name)
            }),
        };
        let Some((at, of)) = at.and_then(|at| Some((at, context.grids.get(at)?))) else {
            continue;
        };
        let start = of.cells.partition_point(|cell| cell.row < range.first.0);
        let end = of.cells.partition_point(|cell| cell.row <= range.last.0);
        if !context.may_take_in(end - start) {
            return Vec::new();
        }
        let within = of.cells.get(start..end).unwrap_or_default().iter();
        cells.extend(
            within
                .filter(|cell| range.holds(cell.row, cell.column))
                .map(|cell| (at, cell)),
        );
    }
    cells
}

fn taken(ranges: &[CellRange], own: usize, index: &TrialIndex, context: &Context) -> Vec<usize> {
    cells_in(ranges, own, context)
        .into_iter()
        .filter_map(|(grid, cell)| index.in_cell((grid, cell.row, cell.column)))
        .collect()
}

/// A formula's range against the block that it stands for; none where it takes in no trial at all.
pub(crate) fn range_against(
    formula: &str,
    ranges: &[CellRange],
    own: usize,
    (measure, block): (usize, BlockName),
    index: &TrialIndex,
    context: &Context,
) -> Option<FormulaRange> {
    let mut taken = Vec::new();
    let mut extra = Vec::new();
    let mut any_trial = false;
    for (grid, cell) in cells_in(ranges, own, context) {
        let trial = index.in_cell((grid, cell.row, cell.column));
        any_trial |= trial.is_some();
        let in_block = trial.filter(|at| {
            index
                .trials
                .get(*at)
                .is_some_and(|trial| index.is_of(trial, measure, block))
        });
        if let Some(trial) = in_block {
            taken.push(trial);
        } else if let (Value::Number(value), Some(of)) = (&cell.value, context.grids.get(grid)) {
            extra.push(Sourced {
                value: *value,
                place: of.place(cell.row, cell.column),
            });
        }
    }
    if !any_trial {
        return None;
    }
    let taken_in: HashSet<usize> = taken.iter().copied().collect();
    let left_out = index
        .trials
        .iter()
        .enumerate()
        .filter(|(at, trial)| {
            matches!(trial.score, Score::Number(_))
                && index.is_of(trial, measure, block)
                && !taken_in.contains(at)
        })
        .map(|(at, _)| at)
        .collect();
    Some(FormulaRange {
        formula: formula.into(),
        left_out,
        extra,
        taken,
    })
}

impl Context<'_> {
    /// What a formula that was never calculated gives, where it is one function over a range of numbers.
    pub(crate) fn calculate(&self, own: usize, cell: &Cell) -> Option<f64> {
        let summary = formulas::parse(cell.formula.as_deref()?)?;
        let mut numbers = Vec::new();
        for (_, cell) in cells_in(&summary.ranges, own, self) {
            match &cell.value {
                Value::Number(number) => numbers.push(*number),
                Value::NotCalculated | Value::Error(_) => return None,
                _ => {}
            }
        }
        summary.evaluate(&numbers).filter(|value| value.is_finite())
    }
}
