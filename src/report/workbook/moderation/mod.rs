//! `moderation.xlsx`: the whole cohort in one workbook, with the cells that the instructor fills in.

pub mod checks_sheet;
pub mod claims_sheet;
mod cohort_sheet;
pub mod curves_sheet;
mod facts_sheet;
pub mod findings_sheet;
pub mod marks_sheet;

use rust_xlsxwriter::{Workbook, XlsxError};

use super::style::Looks;
use super::written::{Written, WrittenPair, WrittenValue, add_written};
use crate::checks::{Finding, Policy};
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Entry, Held, State, Subject, held_for, shown_value};
use crate::place::Place;
use crate::rubric::Rubric;
use crate::thresholds::Thresholds;

/// Which workbook this is, on its hidden sheet.
pub const KIND: &str = "moderation";

/// Everything that the workbook shows.
pub struct Moderation<'a> {
    /// The cohort's title.
    pub title: &'a str,
    /// Where the hand-ins were read from, from the cohort's folder.
    pub source: &'a str,
    /// The seed in force.
    pub seed: u64,
    /// The cohort, examined.
    pub cohort: &'a CohortResult,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// Digest of the rubric's file.
    pub rubric_digest: &'a str,
    /// What the course made of the checks.
    pub policy: &'a Policy,
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// The ledger's lines.
    pub entries: &'a [Entry],
    /// What is in force by the ledger.
    pub state: &'a State,
    /// How one mark comes out of two.
    pub moderation: &'a ModerationSettings,
    /// How the workbook looks.
    pub looks: &'a Looks,
}

impl Moderation<'_> {
    /// What a cell to fill in shows for a pair (or, with an empty id, for the cohort): what is in force, or nothing where that is still open.
    /// `student` is the student's place in the pair.
    pub fn held(&self, pair: &str, subject: &Subject, student: Option<usize>) -> Option<Held> {
        let state = if pair.is_empty() {
            &self.state.cohort
        } else {
            self.state.pair(pair)?
        };
        let student = match student {
            None => "",
            Some(index) => self
                .roster?
                .of_pair(pair)
                .nth(index)
                .map(|student| &*student.id)?,
        };
        let out_of = match subject {
            Subject::Mark(id) => self.rubric.criterion(id).map(|criterion| criterion.marks),
            _ => None,
        };
        shown_value(
            state,
            subject,
            student,
            out_of.unwrap_or(0.0),
            self.moderation,
        )
    }

    /// What was decided about a finding: by itself, else for all of its check, else for all of the slip that explains it.
    pub fn decision(&self, pair: &str, finding: &Finding) -> Option<String> {
        held_for(self.state, self.cohort.pair(pair), pair, finding).map(|held| held.value.clone())
    }

    /// A link from the workbook to a place in a pair's file; none into a zip.
    pub fn link_to(&self, pair: &str, place: &Place) -> Option<String> {
        super::links::link_to(self.cohort.pair(pair)?, place)
    }
}

/// Makes the workbook; the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make(book: &Moderation<'_>) -> Result<Workbook, XlsxError> {
    let mut workbook = super::new_workbook("Moderation")?;
    // It is written anew at every check: a quarter of the time of packing is worth a sixth more bytes.
    workbook.set_zip_compression_level(1);
    cohort_sheet::write(workbook.add_worksheet(), book)?;
    marks_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    findings_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    claims_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    curves_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    facts_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    checks_sheet::write(workbook.add_worksheet(), book)?;
    add_written(&mut workbook, &written(book))?;
    Ok(workbook)
}

/// The cells to fill in that are not empty, as they are about to be written.
fn written(book: &Moderation<'_>) -> Written {
    let mut written = Written {
        kind: KIND.to_owned(),
        rubric: book.rubric_digest.to_owned(),
        ledger_lines: book.entries.len(),
        pairs: pairs(book),
        ..Written::default()
    };
    let mut add = |sheet: &str, id: &str, key: String, held: Option<Held>| {
        if let Some(held) = held {
            written.values.push(WrittenValue {
                sheet: sheet.to_owned(),
                id: id.to_owned(),
                key,
                value: held.value,
            });
        }
    };
    for result in &book.cohort.pairs {
        for cell in book
            .rubric
            .criteria
            .iter()
            .flat_map(marks_sheet::mark_cells)
        {
            let subject = Subject::Mark(cell.criterion.clone());
            let held = book.held(&result.pair, &subject, cell.student);
            add(marks_sheet::NAME, &result.pair, cell.key(), held);
        }
        let comment = Subject::Comment(String::from("overall"));
        let held = book.held(&result.pair, &comment, None);
        add(marks_sheet::NAME, &result.pair, comment.to_string(), held);
        for (id, _) in claims_sheet::typed(book, &result.pair) {
            let subject = Subject::Claim(id);
            let held = book.held(&result.pair, &subject, None);
            add(claims_sheet::NAME, &result.pair, subject.to_string(), held);
        }
    }
    for (pair, finding) in book.cohort.findings() {
        let id = finding.id(pair);
        let decision = book.held(pair, &Subject::Decision(id.clone()), None);
        add(
            findings_sheet::NAME,
            &id,
            String::from("decision"),
            decision,
        );
        let note = book.held(pair, &Subject::Note(id.clone()), None);
        add(findings_sheet::NAME, &id, String::from("note"), note);
    }
    for of in checks_sheet::ids() {
        let held = book.held("", &Subject::DecisionForAll(of.to_owned()), None);
        add(
            checks_sheet::NAME,
            of,
            String::from("decision-for-all"),
            held,
        );
    }
    written
}

/// The pairs with the digests of their hand-ins, and their students as the columns number them.
fn pairs(book: &Moderation<'_>) -> Vec<WrittenPair> {
    let of = |result: &PairResult| WrittenPair {
        pair: result.pair.to_string(),
        hand_in: result
            .hand_in
            .as_ref()
            .map(|hand_in| hand_in.digest.clone())
            .unwrap_or_default(),
        students: book
            .roster
            .into_iter()
            .flat_map(|roster| roster.of_pair(&result.pair))
            .map(|student| student.id.to_string())
            .collect(),
    };
    book.cohort.pairs.iter().map(of).collect()
}
