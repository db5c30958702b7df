//! `moderation.xlsx`: the whole cohort in one workbook, with the cells that the instructor fills in.

pub mod checks_sheet;
pub mod claims_sheet;
mod cohort_sheet;
mod curves_sheet;
mod facts_sheet;
pub mod findings_sheet;
pub mod marks_sheet;

use rust_xlsxwriter::{Workbook, XlsxError};

use super::style::Looks;
use super::written::{Written, WrittenValue, add_written};
use crate::checks::{Finding, Policy};
use crate::cohort::Roster;
use crate::examination::CohortResult;
use crate::ledger::{Entry, Held, State, Subject};
use crate::place::{Place, quoted};
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
    /// How the workbook looks.
    pub looks: &'a Looks,
}

impl Moderation<'_> {
    /// What is in force for a pair (or, with an empty id, for the cohort); `student` is the student's place in the pair.
    pub fn held(&self, pair: &str, subject: &Subject, student: Option<usize>) -> Option<&Held> {
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
        state.standing(subject, student)
    }

    /// What was decided about a finding: by itself, else for all of its check, else for all of the slip that explains it.
    pub fn decision(&self, pair: &str, finding: &Finding) -> Option<String> {
        let own = Subject::Decision(finding.id(pair));
        let for_all = |of: &str| self.held("", &Subject::DecisionForAll(of.to_owned()), None);
        let slip = || {
            let result = self.cohort.pair(pair)?;
            let claim = result.claims.get(finding.claim?)?;
            let first = claim.recomputed.explanations.first()?;
            first.slips.iter().find_map(|slip| for_all(slip.code))
        };
        self.held(pair, &own, None)
            .or_else(|| for_all(finding.check))
            .or_else(slip)
            .map(|held| held.value.clone())
    }

    /// A link from the workbook, which stands in `out`, to a place in a pair's file; none into a zip.
    pub fn link_to(&self, pair: &str, place: &Place) -> Option<String> {
        let hand_in = self.cohort.pair(pair)?.hand_in.as_ref()?;
        let folder = hand_in.link_base.as_ref()?;
        let file = format!("../{folder}{}", place.file)
            .replace('%', "%25")
            .replace(' ', "%20")
            .replace('#', "%23");
        Some(match (place.sheet(), place.cell_name()) {
            (Some(sheet), Some(cell)) => format!("file:///{file}#{}!{cell}", quoted(sheet)),
            _ => format!("file:///{file}"),
        })
    }
}

/// Makes the workbook; the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make(book: &Moderation<'_>) -> Result<Workbook, XlsxError> {
    let mut workbook = super::new_workbook("Moderation")?;
    cohort_sheet::write(workbook.add_worksheet(), book)?;
    marks_sheet::write(workbook.add_worksheet(), book)?;
    findings_sheet::write(workbook.add_worksheet(), book)?;
    claims_sheet::write(workbook.add_worksheet_with_constant_memory()?, book)?;
    curves_sheet::write(workbook.add_worksheet(), book)?;
    facts_sheet::write(&mut workbook, book)?;
    checks_sheet::write(workbook.add_worksheet(), book)?;
    add_written(&mut workbook, &written(book))?;
    Ok(workbook)
}

/// The cells to fill in that are not empty, as they are about to be written.
fn written(book: &Moderation<'_>) -> Written {
    let mut written = Written {
        kind: KIND.to_owned(),
        rubric: book.rubric_digest.to_owned(),
        ..Written::default()
    };
    let mut add = |sheet: &str, id: &str, key: String, held: Option<&Held>| {
        if let Some(held) = held {
            written.values.push(WrittenValue {
                sheet: sheet.to_owned(),
                id: id.to_owned(),
                key,
                value: held.value.clone(),
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
