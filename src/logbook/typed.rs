//! Claims that a marker read in the report and typed: read exactly as a row of the pair's own Claims table would be.

use std::sync::Arc;

use super::Logbook;
use super::grid::{Cell, Grid, Shown, Source, Value};
use super::model::{Claim, ClaimOrigin};
use super::problem::Problem;
use super::settings::ReadingSettings;
use crate::place::Place;

/// A number as a marker typed it, in texts.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct TypedClaim {
    /// Which statistic.
    pub statistic: String,
    /// Of which measure; empty for the primary one.
    pub measure: String,
    /// Of which block.
    pub phase: String,
    /// Against which block.
    pub versus: String,
    /// The number as printed in the report.
    pub value: String,
    /// Where in the report it stands.
    pub location: String,
}

/// A typed claim that is on the ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakenClaim {
    /// Its id, `m1` and on.
    pub id: Arc<str>,
    /// What was typed.
    pub claim: TypedClaim,
    /// Where it was typed.
    pub place: Place,
}

/// What separates the texts of a typed claim in one text; within a text a comma takes its place.
const SEPARATOR: &str = "; ";

impl TypedClaim {
    /// Whether nothing was typed.
    pub fn is_empty(&self) -> bool {
        self.texts().iter().all(|text| text.is_empty())
    }

    fn texts(&self) -> [&str; 6] {
        [
            &self.statistic,
            &self.measure,
            &self.phase,
            &self.versus,
            &self.value,
            &self.location,
        ]
    }

    /// All of it in one text, `statistic; measure; phase; versus; value; where`.
    pub fn joined(&self) -> String {
        self.texts()
            .map(|text| text.replace(';', ","))
            .join(SEPARATOR)
    }

    /// A text that [`TypedClaim::joined`] made.
    pub fn from_joined(text: &str) -> Option<Self> {
        let mut parts = text.split(';').map(|part| part.trim().to_owned());
        Some(Self {
            statistic: parts.next()?,
            measure: parts.next()?,
            phase: parts.next()?,
            versus: parts.next()?,
            value: parts.next()?,
            location: parts.next()?,
        })
    }
}

/// The file under which the typed rows are read beside the hand-in's own; no hand-in has a name like it.
const FILE: &str = "\u{0}typed";

const HEADER: [&str; 6] = ["statistic", "measure", "phase", "versus", "value", "where"];

/// Adds the claims that a marker typed to a pair's logbook, after its own; `grids` are those that the logbook was read from.
pub fn add_typed(
    logbook: &mut Logbook,
    grids: &[Grid],
    typed: &[TakenClaim],
    settings: &ReadingSettings,
) {
    if typed.is_empty() {
        return;
    }
    // Read once more with one more table: measures, phases and dates are then those of the whole hand-in, and nothing is read in two ways.
    let mut all = grids.to_vec();
    all.push(table(typed));
    let read = super::read(&logbook.name, &all, settings);
    let mine = |place: &Place| &*place.file == FILE;
    for mut claim in read.claims.into_iter().filter(|claim| mine(&claim.place)) {
        let Some(taken) = taken(typed, &claim) else {
            continue;
        };
        claim.id = taken.id.clone();
        claim.place = taken.place.clone();
        claim.origin = ClaimOrigin::Marker;
        claim.formula = None;
        logbook.claims.push(claim);
    }
    let problems = read
        .problems
        .into_iter()
        .filter(|problem| !problem.places.is_empty() && problem.places.iter().all(mine))
        .filter_map(|problem| moved(problem, typed));
    logbook.problems.extend(problems);
}

fn table(typed: &[TakenClaim]) -> Grid {
    let header: [&str; 6] = HEADER;
    let rows = typed.iter().map(|taken| taken.claim.texts());
    let mut cells = Vec::new();
    for (row, texts) in (0..).zip(std::iter::once(header).chain(rows)) {
        for (column, text) in (0..).zip(texts) {
            if !text.is_empty() {
                cells.push(Cell {
                    row,
                    column,
                    value: Value::Text(text.into()),
                    shown: Shown::default(),
                    formula: None,
                });
            }
        }
    }
    Grid {
        file: FILE.into(),
        source: Source::Sheet("Claims".into()),
        cells,
        merged: Vec::new(),
        hidden: false,
        hidden_rows: Vec::new(),
        hidden_columns: Vec::new(),
    }
}

fn row_of(place: &Place) -> Option<usize> {
    match &place.spot {
        crate::place::Spot::Cell { row, .. } => usize::try_from(*row).ok()?.checked_sub(1),
        _ => None,
    }
}

fn taken<'t>(typed: &'t [TakenClaim], claim: &Claim) -> Option<&'t TakenClaim> {
    typed.get(row_of(&claim.place)?)
}

/// A problem of a typed row at the cell in which it was typed.
fn moved(mut problem: Problem, typed: &[TakenClaim]) -> Option<Problem> {
    problem.places = problem
        .places
        .iter()
        .map(|place| typed.get(row_of(place)?).map(|taken| taken.place.clone()))
        .collect::<Option<Vec<Place>>>()?;
    Some(problem)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_typed_reads_back_from_one_text() {
        let typed = TypedClaim {
            statistic: "percent change".into(),
            phase: "post".into(),
            versus: "pre".into(),
            value: "<35%".into(),
            location: "p. 4, line 2".into(),
            ..TypedClaim::default()
        };
        assert_eq!(
            typed.joined(),
            "percent change; ; post; pre; <35%; p. 4, line 2"
        );
        assert_eq!(TypedClaim::from_joined(&typed.joined()), Some(typed));
        assert!(TypedClaim::from_joined("mean; x").is_none());
    }
}
