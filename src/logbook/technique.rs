//! The technique checklist: one row a rating, or one row an element with a column a phase.

use std::sync::Arc;

use super::aliases::{CellWord, Field, TableKind};
use super::cells::cell_text;
use super::cells::text_of;
use super::columns::{Choice, cell_at, fields_of, read_header};
use super::grid::{Cell, Value};
use super::labels::{Label, PhaseReading, read_phase};
use super::model::TechniqueRating;
use super::numbers::{Marks, NumberText, plain, read_number};
use super::problem::{Problem, ProblemKind, report};
use super::read::Context;
use super::regions::Region;
use super::spelling::key;
use super::trials::plan::block_named;
use crate::phase::Phase;

/// Reads one Technique table.
pub(crate) fn read(
    region: &Region,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Vec<TechniqueRating> {
    let aliases = context.aliases();
    let mut rated: Vec<(u32, Label)> = Vec::new();
    let mut choice = Choice::new(region, aliases);
    for header in &region.headers {
        let read = read_header(header, TableKind::Technique, aliases);
        if read.label.phase.is_some() {
            rated.push((header.column, read.label));
        } else {
            choice.offer(header, fields_of(&read, TableKind::Technique));
        }
    }
    let columns = choice.settle(problems);
    if let Some(column) = columns.of(Field::Rating).filter(|_| rated.is_empty()) {
        rated.push((column, Label::default()));
    }
    let title = region
        .titles
        .iter()
        .rev()
        .find_map(|cell| block_named(&cell_text(cell), aliases));
    let fallback = title
        .or_else(|| block_named(region.grid.name(), aliases))
        .and_then(|label| label.phase);

    let mut ratings = Vec::new();
    let mut above: (Option<Phase>, Option<Arc<str>>) = (None, None);
    for row in &region.rows {
        if row.len() < 2 {
            continue;
        }
        let phase = match columns.cell(row, Field::Phase) {
            Some(cell) => phase_of(region, cell, context, problems),
            None => above.0,
        };
        let Some(element) = columns
            .cell(row, Field::Element)
            .and_then(text_of)
            .or_else(|| above.1.clone())
        else {
            continue;
        };
        if aliases.statistic(&key(&element)).is_some() {
            // A row of totals below the checklist rates nothing.
            continue;
        }
        above = (phase, Some(element.clone()));
        let observer = columns.cell(row, Field::Observer).and_then(text_of);
        for (column, label) in &rated {
            let cell = cell_at(row, *column);
            if cell.is_none() && rated.len() > 1 {
                continue;
            }
            let rating = cell.and_then(|cell| rating_of(region, cell, context, problems));
            ratings.push(TechniqueRating {
                phase: label.phase.or(phase).or(fallback),
                element: element.clone(),
                rating,
                observer: observer.clone(),
                place: region
                    .grid
                    .place(row.first().map_or(0, |cell| cell.row), *column),
            });
        }
    }
    ratings
}

fn phase_of(
    region: &Region,
    cell: &Cell,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Option<Phase> {
    let text = cell_text(cell);
    match read_phase(&text, context.aliases()) {
        PhaseReading::One { phase, .. } => phase.or(Some(Phase::PRACTICE)),
        PhaseReading::Several(_) | PhaseReading::No => {
            if plain(&text).chars().any(|c| c != '-') {
                report(
                    problems,
                    Problem::at(
                        ProblemKind::AmbiguousValue,
                        region.grid.place(cell.row, cell.column),
                        &text,
                        format!("“{text}” is no phase that could be read."),
                        "To settle it, add it to cohort.toml under [phases].",
                    ),
                );
            }
            None
        }
    }
}

/// A number, or yes and no and ticks as 1 and 0.
fn rating_of(
    region: &Region,
    cell: &Cell,
    context: &Context,
    problems: &mut Vec<Problem>,
) -> Option<f64> {
    let aliases = context.aliases();
    match &cell.value {
        Value::Number(number) if number.is_finite() => return Some(*number),
        Value::Truth(truth) => return Some(f64::from(u8::from(*truth))),
        Value::Text(text) => {
            let key = key(text);
            if plain(text).chars().all(|c| c == '-') {
                return None;
            }
            if let NumberText::Number(typed) = read_number(text, Marks::Open)
                && !typed.after.contains(|c: char| c.is_ascii_digit())
            {
                return Some(typed.stated.value);
            }
            if let NumberText::Fraction { numerator, .. } = read_number(text, Marks::Open) {
                return Some(numerator);
            }
            if let Some(answer) = aliases.answer(&key) {
                return Some(f64::from(u8::from(answer)));
            }
            if key == "x" {
                // A cross in a checklist marks what was not seen, or what was: not ours to say.
                report(
                    problems,
                    doubt(
                        region,
                        cell,
                        ProblemKind::AmbiguousValue,
                        "may mark an element that was seen or one that was not",
                    ),
                );
                return None;
            }
            if aliases.cell_word(&key) == Some(CellWord::Missing) {
                return None;
            }
        }
        _ => {}
    }
    report(
        problems,
        doubt(
            region,
            cell,
            ProblemKind::NotANumber,
            "is no rating that could be read",
        ),
    );
    None
}

fn doubt(region: &Region, cell: &Cell, kind: ProblemKind, what: &str) -> Problem {
    let text = cell_text(cell);
    Problem::at(
        kind,
        region.grid.place(cell.row, cell.column),
        &text,
        format!("“{text}” {what}."),
        "It is not counted.",
    )
}
