//! The sheet of claims: every stated number beside the recomputed one; below them empty rows where a marker types numbers read in the report.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::examination::{ExaminedClaim, PairResult};
use crate::ledger::Subject;
use crate::logbook::model::{ClaimMeasure, ClaimOrigin};
use crate::logbook::typed::TypedClaim;
use crate::report::wording::id_in_words;
use crate::report::workbook::sheet::{CellContent, Column, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Claims";

/// Empty rows for numbers that a marker reads in a report.
const ROWS_TO_TYPE: usize = 60;

/// What of a typed row is filled in.
pub const TO_FILL_IN: [&str; 7] = [
    "pair",
    "statistic",
    "measure",
    "phase",
    "versus",
    "claimed",
    "location",
];

/// The keys that a typed row must have, in the order in which the ledger joins them.
pub const TYPED: [&str; 6] = [
    "statistic",
    "measure",
    "phase",
    "versus",
    "claimed",
    "location",
];

/// The columns.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("claim", "Claim", 8.0, Look::Text),
        Column::shown("statistic", "Statistic", 20.0, Look::Text),
        Column::shown("measure", "Measure", 16.0, Look::Text),
        Column::shown("phase", "Phase", 13.0, Look::Text),
        Column::shown("versus", "Against", 11.0, Look::Text),
        Column::shown("claimed", "Claimed", 11.0, Look::Text),
        Column::shown("recomputed", "Recomputed", 13.0, Look::Number),
        Column::shown("verdict", "Verdict", 16.0, Look::Text),
        Column::shown(
            "explained",
            "What the claimed number comes out of",
            44.0,
            Look::Wrapped,
        ),
        Column::shown("confidence", "How sure", 10.0, Look::Text),
        Column::shown("location", "Where in the report", 16.0, Look::Text),
        Column::shown("where", "Cell", 24.0, Look::Text),
    ]
}

/// The sheet being written.
pub(super) struct ClaimsSheet<'a> {
    book: &'a Moderation<'a>,
    table: TableSheet<'a, Worksheet>,
}

impl<'a> ClaimsSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let hint = "Read a number in the report that is not here? Type it in a green row at the end: pair, statistic, measure, phase, value and where. It is recomputed at the next check.";
        let table = TableSheet::begin(sheet, book.looks, NAME, "Claims", hint, columns())?;
        Ok(Self { book, table })
    }

    /// Adds a pair's claims, and the numbers that markers typed for it.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, result: &PairResult) -> Result<(), XlsxError> {
        let own = |claim: &&ExaminedClaim| claim.claim.origin != ClaimOrigin::Marker;
        for claim in result.claims.iter().filter(own) {
            if !self.table.is_full() {
                self.table.row(row_of(result, claim))?;
            }
        }
        for (id, typed) in typed(self.book, &result.pair) {
            self.row_to_fill_in(typed_row(result, &id, typed))?;
        }
        Ok(())
    }

    fn row_to_fill_in(&mut self, cells: Vec<CellContent>) -> Result<(), XlsxError> {
        if self.table.is_full() {
            return Ok(());
        }
        self.table.row_to_fill_in(&TO_FILL_IN, cells)
    }

    /// Finishes the sheet, with empty rows to type in.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(mut self) -> Result<Worksheet, XlsxError> {
        for _ in 0..ROWS_TO_TYPE {
            self.row_to_fill_in(Vec::new())?;
        }
        self.table.finish(2)
    }
}

/// The row of a claim.
pub fn row_of(result: &PairResult, examined: &ExaminedClaim) -> Vec<CellContent> {
    let claim = &examined.claim;
    let recomputed = &examined.recomputed;
    let measure = match &claim.measure {
        ClaimMeasure::Known(index) => result
            .measures
            .get(*index)
            .map(|measure| measure.name.to_string()),
        ClaimMeasure::Technique => Some(String::from("technique")),
        ClaimMeasure::Unknown(name) => Some(name.to_string()),
    };
    let explained = match &recomputed.value {
        Err(why) => why.to_string(),
        Ok(_) if examined.recomputed.unread > 0 => {
            String::from("it may be right: a score could not be read")
        }
        Ok(_) => explanations(examined),
    };
    vec![
        (&*result.pair).into(),
        (&*claim.id).into(),
        claim
            .statistic
            .map_or_else(
                || claim.statistic_text.to_string(),
                |statistic| statistic.name().to_owned(),
            )
            .into(),
        measure.into(),
        claim.phase.map(|phase| phase.to_string()).into(),
        claim.versus.map(|versus| versus.to_string()).into(),
        (&*claim.value_text).into(),
        recomputed.value.ok().into(),
        recomputed.verdict.name().into(),
        explained.into(),
        recomputed
            .confidence
            .map(crate::claims::Confidence::name)
            .into(),
        claim.location.as_deref().into(),
        claim.place.to_string().into(),
    ]
}

/// Every computation that gives the claimed number, most plausible first.
fn explanations(examined: &ExaminedClaim) -> String {
    let lines: Vec<String> = examined
        .recomputed
        .explanations
        .iter()
        .map(|explanation| format!("{}: {}", id_in_words(&explanation.code()), explanation.when))
        .collect();
    lines.join("\n")
}

/// The numbers that markers typed for a pair and that are in force, in order of their ids.
pub fn typed(book: &Moderation<'_>, pair: &str) -> Vec<(String, TypedClaim)> {
    let Some(state) = book.state.pair(pair) else {
        return Vec::new();
    };
    let mut typed: Vec<(String, TypedClaim)> = Vec::new();
    for (key, held) in state.all() {
        if let Subject::Claim(id) = &key.subject
            && typed.iter().all(|(known, _)| known != id)
            && let Some(claim) = TypedClaim::from_joined(&held.value)
        {
            typed.push((id.clone(), claim));
        }
    }
    typed.sort_by(|a, b| crate::natural_order::compare(&a.0, &b.0));
    typed
}

/// A typed row as it was typed, with what recomputing it came to.
pub fn typed_row(result: &PairResult, id: &str, typed: TypedClaim) -> Vec<CellContent> {
    let examined = result.claims.iter().find(|claim| &*claim.claim.id == id);
    let mut cells = match examined {
        Some(examined) => row_of(result, examined),
        None => vec![CellContent::Empty; columns().len()],
    };
    let texts = [
        result.pair.to_string(),
        id.to_owned(),
        typed.statistic,
        typed.measure,
        typed.phase,
        typed.versus,
        typed.value,
    ];
    for (cell, text) in cells.iter_mut().zip(texts) {
        *cell = text.into();
    }
    let location = columns().iter().position(|column| column.key == "location");
    if let Some(cell) = location.and_then(|index| cells.get_mut(index)) {
        *cell = typed.location.into();
    }
    cells
}
