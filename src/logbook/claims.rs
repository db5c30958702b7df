//! The Claims table: one row for every number that the report states.

use std::collections::HashMap;
use std::sync::Arc;

use super::aliases::Field;
use super::cells::{cell_text, text_of};
use super::columns::{Columns, columns};
use super::formulas;
use super::grid::{Cell, Value};
use super::labels::{PhaseReading, read_phase, statistic_of_block};
use super::model::{Claim, ClaimMeasure, ClaimOrigin};
use super::numbers::{Marks, marks_of};
use super::problem::{Problem, ProblemKind, report};
use super::read::Context;
use super::regions::Region;
use super::spelling::key;
use super::stated::{stated, stored};
use super::trials::averages::range_against;
use super::trials::index::TrialIndex;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::statistic::{Shape, Statistic};

/// The blocks that a claim speaks of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Blocks {
    /// The block, or the later block of a comparison.
    pub phase: Option<BlockName>,
    /// The earlier block of a comparison.
    pub versus: Option<BlockName>,
}

/// The blocks of a claim with what it leaves open filled in: comparisons are of the post-test against the pre-test, gains of the retention
/// or transfer test, slope and correlation of practice.
pub(crate) fn defaults(
    statistic: Option<Statistic>,
    phase: Option<BlockName>,
    versus: Option<BlockName>,
) -> Blocks {
    let Some(statistic) = statistic else {
        return Blocks { phase, versus };
    };
    let or = |default: Phase| phase.or(Some(BlockName::Phase(default)));
    match statistic.shape() {
        Shape::OneBlock | Shape::Agreement => Blocks {
            phase,
            versus: None,
        },
        Shape::Comparison => Blocks {
            phase: or(Phase::POST),
            versus: versus.or(Some(BlockName::Phase(Phase::PRE))),
        },
        Shape::Gain => Blocks {
            phase: or(if statistic == Statistic::TransferredGain {
                Phase::TRANSFER
            } else {
                Phase::RETENTION
            }),
            versus: None,
        },
        Shape::PracticeLine => Blocks {
            phase: or(Phase::PRACTICE),
            versus: None,
        },
    }
}

/// What a claim needs of the rest of the logbook.
pub(crate) struct Claimed<'a> {
    pub context: &'a Context<'a>,
    pub index: &'a TrialIndex<'a>,
    /// All measures by the keys of their names, those that only the trials name included.
    pub measures: HashMap<String, usize>,
}

/// Reads one Claims table.
pub(crate) fn read(
    region: &Region,
    grid: usize,
    claimed: &Claimed,
    problems: &mut Vec<Problem>,
) -> Vec<Claim> {
    let columns = columns(region, claimed.context.aliases(), problems);
    let marks = marks(region, &columns);
    region
        .rows
        .iter()
        .filter_map(|row| read_row(region, grid, row, &columns, marks, claimed, problems))
        .collect()
}

fn marks(region: &Region, columns: &Columns) -> Marks {
    let texts = || {
        region
            .rows
            .iter()
            .filter_map(|row| columns.cell(row, Field::Value))
            .filter_map(|cell| match &cell.value {
                Value::Text(text) => Some(&**text),
                _ => None,
            })
    };
    if texts().any(|text| text.contains(',')) {
        marks_of(texts())
    } else {
        Marks::Open
    }
}

fn read_row(
    region: &Region,
    grid: usize,
    row: &[Cell],
    columns: &Columns,
    marks: Marks,
    claimed: &Claimed,
    problems: &mut Vec<Problem>,
) -> Option<Claim> {
    let context = claimed.context;
    let value_cell = columns.cell(row, Field::Value)?;
    if matches!(&value_cell.value, Value::Text(text) if states_nothing(text, context)) {
        return None;
    }
    let text = |field: Field| columns.cell(row, field).and_then(text_of);
    let statistic_text = text(Field::Statistic).unwrap_or_default();
    let (statistic, named) = statistic_named(&statistic_text, context);
    let place = region.grid.place(value_cell.row, value_cell.column);

    let mut phase_text = text(Field::Phase);
    let mut versus_text = text(Field::Versus);
    let comparison = statistic.is_some_and(|statistic| statistic.shape() == Shape::Comparison);
    if comparison
        && versus_text.is_none()
        && let Some((earlier, later)) = phase_text
            .as_deref()
            .and_then(|text| both_blocks(text, context))
    {
        versus_text = Some(earlier.into());
        phase_text = Some(later.into());
    }
    let mut block = |text: &Option<Arc<str>>, field: Field| {
        let reading = block_named(text.as_deref()?, claimed);
        if reading.is_none()
            && let Some(cell) = columns.cell(row, field)
            && !is_everything(&key(&cell_text(cell)))
        {
            report(problems, unreadable_block(region, cell));
        }
        reading
    };
    let phase = block(&phase_text, Field::Phase).or_else(|| named.filter(|_| phase_text.is_none()));
    let versus = block(&versus_text, Field::Versus);
    // What was typed but can't be read takes no default.
    let filled = defaults(statistic, phase, versus);
    let blocks = Blocks {
        phase: if phase_text.is_some() {
            phase
        } else {
            filled.phase
        },
        versus: if versus_text.is_some() && filled.versus.is_some() {
            versus
        } else {
            filled.versus
        },
    };

    let unit = text(Field::Unit);
    let value = match stated(value_cell, statistic, unit.as_deref(), marks, context, grid) {
        Ok(value) => Some(value),
        Err(doubt) => {
            report(problems, doubt.at(place.clone(), cell_text(value_cell)));
            None
        }
    };
    let measure = measure_named(text(Field::Measure), claimed);
    let formula = value_cell.formula.as_deref().and_then(|formula| {
        let summary = formulas::parse(formula)?;
        let ClaimMeasure::Known(index) = measure else {
            return None;
        };
        range_against(
            formula,
            &summary.ranges,
            grid,
            (index, blocks.phase?),
            claimed.index,
            context,
        )
    });
    Some(Claim {
        id: Arc::from(""),
        statistic,
        statistic_text,
        measure,
        phase: blocks.phase,
        phase_text,
        versus: blocks.versus,
        versus_text,
        value,
        value_text: match (&value_cell.value, value) {
            (Value::Text(text), _) => text.clone(),
            (_, Some(value)) => stored(value_cell).unwrap_or(value).to_string().into(),
            _ => cell_text(value_cell).into(),
        },
        unit,
        location: text(Field::Where),
        place,
        origin: ClaimOrigin::Table,
        formula,
    })
}

fn states_nothing(text: &str, context: &Context) -> bool {
    let text = text.trim();
    text.chars().all(|c| matches!(c, '-' | '–' | '—' | ' '))
        || context.aliases().cell_word(&key(text)) == Some(super::aliases::CellWord::Missing)
}

/// The statistic that a text names, and the block where the text names one too ("Post mean").
pub(crate) fn statistic_named(
    text: &str,
    context: &Context,
) -> (Option<Statistic>, Option<BlockName>) {
    let aliases = context.aliases();
    // What stands in brackets may be part of the name: "d (paired)".
    let with_brackets = key(&text.replace(['(', ')', '[', ']'], " "));
    if let Some(statistic) = aliases
        .statistic(&with_brackets)
        .or_else(|| aliases.statistic(&key(text)))
    {
        return (Some(statistic), None);
    }
    match statistic_of_block(text, aliases) {
        Some((statistic, label)) => {
            let block = match (label.phase, label.session) {
                (Some(Phase::PRACTICE) | None, Some(session)) => {
                    Some(BlockName::PracticeSession(session))
                }
                (Some(phase), _) => Some(BlockName::Phase(phase)),
                (None, None) => None,
            };
            (Some(statistic), block)
        }
        None => (None, None),
    }
}

/// The block that a text names.
fn block_named(text: &str, claimed: &Claimed) -> Option<BlockName> {
    match read_phase(text, claimed.context.aliases()) {
        PhaseReading::One {
            phase: Some(Phase::PRACTICE),
            session: Some(session),
        } => Some(BlockName::PracticeSession(session)),
        PhaseReading::One {
            phase: Some(phase), ..
        } => Some(BlockName::Phase(phase)),
        PhaseReading::One {
            phase: None,
            session: Some(session),
        } => {
            let phase = claimed
                .context
                .phase_of_session
                .get(&session)
                .copied()
                .filter(|phase| phase.kind.is_test());
            Some(phase.map_or(BlockName::PracticeSession(session), BlockName::Phase))
        }
        PhaseReading::Several(kinds) => kinds
            .iter()
            .find(|kind| **kind == PhaseKind::Practice)
            .map(|kind| BlockName::Phase(Phase::first(*kind))),
        _ => None,
    }
}

/// Both blocks of a comparison in one text: `pre to post`, `post vs pre`, `Pre → Post`.
fn both_blocks<'t>(text: &'t str, context: &Context) -> Option<(&'t str, &'t str)> {
    let lower = text.to_lowercase();
    let phase = |text: &str| match read_phase(text, context.aliases()) {
        PhaseReading::One {
            phase: Some(phase), ..
        } => Some(phase),
        _ => None,
    };
    for separator in [
        " to ",
        "→",
        "->",
        " vs. ",
        " vs ",
        " versus ",
        " against ",
        " – ",
        " - ",
        "–",
        "/",
        "-",
    ] {
        if let Some(at) = lower.find(separator)
            && let (Some(first), Some(second)) = (text.get(..at), text.get(at + separator.len()..))
            && let (Some(one), Some(other)) = (phase(first), phase(second))
            && one != other
        {
            let (first, second) = (first.trim(), second.trim());
            return Some(if one < other {
                (first, second)
            } else {
                (second, first)
            });
        }
    }
    None
}

/// Words that name no single block.
fn is_everything(key: &str) -> bool {
    matches!(
        key,
        "all" | "overall" | "alltests" | "total" | "both" | "wholeprogramme" | "-"
    ) || key.is_empty()
        || key.chars().all(|c| matches!(c, '-' | '–' | '—'))
}

fn unreadable_block(region: &Region, cell: &Cell) -> Problem {
    let text = cell_text(cell);
    Problem::at(
        ProblemKind::AmbiguousValue,
        region.grid.place(cell.row, cell.column),
        &text,
        format!("“{text}” names no single block that could be read."),
        format!(
            "The claim can't be recomputed. To settle it, add to cohort.toml under [phases], for instance: practice = [\"{text}\"]."
        ),
    )
}

fn measure_named(text: Option<Arc<str>>, claimed: &Claimed) -> ClaimMeasure {
    let Some(text) = text else {
        return ClaimMeasure::Known(0);
    };
    let wanted = key(&text);
    match claimed.measures.get(&wanted) {
        Some(index) => ClaimMeasure::Known(*index),
        None if wanted == "technique" => ClaimMeasure::Technique,
        None => ClaimMeasure::Unknown(text),
    }
}
