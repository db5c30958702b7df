//! Numbers that a marker read in a report and typed into the sheet of claims: a row each, known by its id once it has one.

use std::collections::BTreeMap;

use super::refusal::Refusal;
use super::values::{shown, tidy};
use crate::cohort::roster::compared;
use crate::ledger::{Entry, State, Subject};
use crate::logbook::grid::{Grid, Value};
use crate::logbook::typed::{TakenClaim, TypedClaim};
use crate::place::{Place, cell_named};
use crate::report::workbook::moderation::claims_sheet::TYPED;

/// One row of the sheet of claims that a marker may have typed.
#[derive(Debug, Clone)]
pub struct TypedRow {
    /// The pair as typed.
    pub pair: String,
    /// The claim's id, `m1` and on; empty for a row that was never taken back.
    pub id: String,
    /// What it says.
    pub claim: TypedClaim,
    /// Where its value stands.
    pub place: Place,
}

/// The columns of a sheet of claims: pair, claim, then those of [`TYPED`].
pub struct Columns {
    pair: u32,
    claim: u32,
    typed: [u32; 6],
}

/// The columns, where the sheet has them all.
pub fn columns(keys: &[(u32, String)]) -> Option<Columns> {
    let at = |wanted: &str| {
        keys.iter()
            .find(|(_, key)| key == wanted)
            .map(|(column, _)| *column)
    };
    let mut typed = [0; 6];
    for (slot, key) in typed.iter_mut().zip(TYPED) {
        *slot = at(key)?;
    }
    Some(Columns {
        pair: at("pair")?,
        claim: at("claim")?,
        typed,
    })
}

/// A row that a marker typed; none for the pair's own claims and for empty rows.
pub fn row(grid: &Grid, row: u32, columns: &Columns) -> Option<TypedRow> {
    let text = |column: u32| {
        grid.get(row, column)
            .map(|cell| match &cell.value {
                // A cell shown as a percentage holds the share.
                Value::Number(share) if cell.shown.percent => {
                    format!("{}%", super::values::canonical(share * 100.0))
                }
                value => tidy(&shown(value)),
            })
            .unwrap_or_default()
    };
    let [statistic, measure, phase, versus, value, location] = columns.typed.map(text);
    let id = text(columns.claim);
    let claim = TypedClaim {
        statistic,
        measure,
        phase,
        versus,
        value,
        location,
    };
    if number(&id).is_none() && (!id.is_empty() || claim.is_empty()) {
        return None;
    }
    Some(TypedRow {
        pair: text(columns.pair),
        id,
        claim,
        place: grid.place(row, columns.typed[4]),
    })
}

/// The number in the id of a typed claim: 3 in `m3`.
pub fn number(id: &str) -> Option<u32> {
    id.strip_prefix('m')?.parse().ok()
}

/// What a typed row must hold to be taken.
///
/// # Errors
/// The cell, and what is missing.
pub fn sound(row: &TypedRow) -> Result<(), Refusal> {
    let refuse = |why: &str| {
        Err(Refusal {
            place: row.place.clone(),
            of: String::from("a number read in the report"),
            stands: row.claim.value.clone(),
            why: why.to_owned(),
        })
    };
    if row.pair.is_empty() {
        return refuse("has no pair in its row; type the pair's id");
    }
    if row.claim.statistic.is_empty() {
        return refuse("has no statistic in its row; type which (mean, sd, percent change …)");
    }
    if !row.claim.value.chars().any(|c| c.is_ascii_digit()) {
        return refuse("is no number that a report could state; type the number as it is printed");
    }
    Ok(())
}

/// What the ledger holds of the numbers that a marker typed for a pair: id and value, in order of the ids.
pub fn on_ledger(entries: &[Entry], pair: &str) -> BTreeMap<u32, String> {
    let mut held = BTreeMap::new();
    for entry in entries.iter().filter(|entry| entry.pair == pair) {
        if let Subject::Claim(id) = Subject::from(entry.what.as_str())
            && let Some(number) = number(&id)
        {
            held.insert(number, entry.new.clone());
        }
    }
    held
}

/// The typed claims in force, by the pair's id as compared: what examining a cohort adds to the pairs' own.
pub fn taken(state: &State, entries: &[Entry]) -> BTreeMap<String, Vec<TakenClaim>> {
    let mut taken: BTreeMap<String, Vec<TakenClaim>> = BTreeMap::new();
    for (pair, state) in state.pairs() {
        let mut claims: BTreeMap<u32, TakenClaim> = BTreeMap::new();
        for (key, held) in state.all() {
            let Subject::Claim(id) = &key.subject else {
                continue;
            };
            if let (Some(number), Some(claim), Some(entry)) = (
                number(id),
                TypedClaim::from_joined(&held.value),
                entries.get(held.line),
            ) {
                claims.entry(number).or_insert_with(|| TakenClaim {
                    id: id.as_str().into(),
                    claim,
                    place: place_of(entry),
                });
            }
        }
        if !claims.is_empty() {
            taken.insert(compared(pair), claims.into_values().collect());
        }
    }
    taken
}

/// Where a ledger line's value was typed.
fn place_of(entry: &Entry) -> Place {
    let file = entry.file.as_str();
    let in_sheet = || {
        let (sheet, cell) = entry.cell.rsplit_once('!')?;
        let (row, column) = cell_named(cell)?;
        let sheet = match sheet.strip_prefix('\'').and_then(|s| s.strip_suffix('\'')) {
            Some(inner) => inner.replace("''", "'"),
            None => sheet.to_owned(),
        };
        Some(Place::cell(file.into(), sheet.into(), row, column))
    };
    in_sheet().unwrap_or_else(|| Place::file(file))
}
