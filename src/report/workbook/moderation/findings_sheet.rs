//! The sheet of findings: a row each, with what was found, where, and the cells for a decision and a note.

use std::fmt::Write as _;

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::checks::{self, Finding};
use crate::examination::PairResult;
use crate::ledger::{DECISIONS, Subject, markers_differed, ruled_for_all};
use crate::report::workbook::links::{LINK_LIMIT, link_to, place_in_short};
use crate::report::workbook::sheet::{CellContent, Column, EntryRule, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Findings";

/// The columns: as far as the note within the width of a small laptop's screen, and of a sheet of paper.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("pair", "Pair", 8.0, Look::Text),
        Column::shown("weight", "Weight", 9.0, Look::Text),
        Column::shown("title", "What", 20.0, Look::Wrapped),
        Column::shown("message", "What was found", 52.0, Look::Wrapped),
        Column::shown("where", "Where", 22.0, Look::Link),
        Column::shown("claimed", "Claimed", 10.0, Look::Text),
        Column::shown("recomputed", "Recomputed", 13.0, Look::Number),
        Column::entry("decision", "Decision", 13.0, EntryRule::Choice(DECISIONS)),
        Column::entry("note", "Note", 24.0, EntryRule::Text),
        Column::shown("comment", "Comment for the pair", 52.0, Look::Wrapped),
        Column::shown("check", "Check", 26.0, Look::Text),
        Column::shown("finding", "Finding", 14.0, Look::Text),
    ]
}

/// The sheet being written.
pub(super) struct FindingsSheet<'a> {
    book: &'a Moderation<'a>,
    table: TableSheet<'a, Worksheet>,
    /// Links so far.
    links: usize,
}

impl<'a> FindingsSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let hint = "A finding is a place to look, not an accusation. Uphold what stands, dismiss what doesn't: dismissed findings never reach the pair. One decision for all of a check: sheet Checks.";
        Ok(Self {
            book,
            table: TableSheet::begin(sheet, book.looks, NAME, "Findings", hint, columns())?,
            links: 0,
        })
    }

    /// Adds a pair's findings.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, result: &PairResult) -> Result<(), XlsxError> {
        result
            .findings
            .iter()
            .try_for_each(|finding| self.add_finding(Some(result), &result.pair, finding))
    }

    /// Adds a finding; it may belong to no pair.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add_finding(
        &mut self,
        result: Option<&PairResult>,
        pair: &str,
        finding: &Finding,
    ) -> Result<(), XlsxError> {
        if self.table.is_full() {
            return Ok(());
        }
        let place = self.where_it_is(result, finding);
        self.table
            .row(row_of(self.book, result, pair, finding, place))
    }

    fn where_it_is(&mut self, result: Option<&PairResult>, finding: &Finding) -> CellContent {
        let Some(first) = finding.places.first() else {
            return CellContent::Empty;
        };
        let text = place_in_short(first, finding.places.len());
        match result.and_then(|result| link_to(result, first)) {
            Some(target) if self.links < LINK_LIMIT => {
                self.links += 1;
                CellContent::Link { target, text }
            }
            _ => text.into(),
        }
    }

    /// Finishes the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(self) -> Result<Worksheet, XlsxError> {
        let last = self.table.next_row().saturating_sub(1);
        let printed = columns().iter().position(|column| column.key == "note");
        let printed = printed.and_then(|column| u16::try_from(column).ok());
        let mut sheet = self.table.finish(1)?;
        sheet.set_print_area(0, 0, last, printed.unwrap_or(0))?;
        // What is left of it fits on one page.
        sheet.set_print_fit_to_pages(1, 0);
        Ok(sheet)
    }
}

fn row_of(
    book: &Moderation<'_>,
    result: Option<&PairResult>,
    pair: &str,
    finding: &Finding,
    place: CellContent,
) -> Vec<CellContent> {
    let id = finding.id(pair);
    let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
    let mut message = finding.message.clone();
    if let Some((first, second)) = markers_differed(book.state, pair, finding) {
        let _ = write!(
            message,
            "\nTwo markers decided differently: {} by {}, {} by {}.",
            first.value, first.who, second.value, second.who
        );
        if let Some(for_all) = ruled_for_all(book.state, result, finding) {
            let _ = write!(
                message,
                " The decision for all settles it: {}. One here goes before it.",
                for_all.value
            );
        }
    }
    let held = |subject: Subject| book.held(pair, &subject, None).map(|held| held.value);
    vec![
        pair.into(),
        finding.weight.name().into(),
        title.into(),
        message.into(),
        place,
        finding.claimed.clone().into(),
        finding.recomputed.into(),
        held(Subject::Decision(id.clone())).into(),
        held(Subject::Note(id.clone())).into(),
        finding.comment.clone().into(),
        finding.check.into(),
        id.into(),
    ]
}
