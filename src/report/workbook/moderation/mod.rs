//! `moderation.xlsx`: the whole cohort in one workbook, with the cells that the instructor fills in.

pub mod checks_sheet;
pub mod claims_sheet;
mod cohort_sheet;
pub mod curves_sheet;
mod facts_sheet;
mod filled_in;
pub mod findings_sheet;
pub mod marks_sheet;

use rust_xlsxwriter::{Workbook, XlsxError};

use super::style::Looks;
use super::written::add_written;
use checks_sheet::Tallies;
use claims_sheet::ClaimsSheet;
use cohort_sheet::EarnedShares;
use curves_sheet::CurvesSheet;
use facts_sheet::FactsSheet;
use filled_in::FilledIn;
use findings_sheet::FindingsSheet;
use marks_sheet::MarksSheet;

use crate::checks::Policy;
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Entry, Held, State, Subject, shown_value};
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
}

/// The workbook under way: begun with what is known of the cohort, filled pair by pair, then finished.
pub struct Sheets<'a> {
    book: &'a Moderation<'a>,
    workbook: Workbook,
    marks: MarksSheet<'a>,
    findings: FindingsSheet<'a>,
    claims: ClaimsSheet<'a>,
    curves: CurvesSheet<'a>,
    facts: FactsSheet<'a>,
    tallies: Tallies,
    shares: EarnedShares,
    filled_in: FilledIn<'a>,
}

impl<'a> Sheets<'a> {
    /// Begins the workbook.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let mut workbook = super::new_workbook("Moderation")?;
        // It is written anew at every check: a quarter of the time of packing is worth a sixth more bytes.
        workbook.set_zip_compression_level(1);
        // Sheets are filled beside each other: were formats numbered as they are met, two runs would number them differently.
        book.looks.register(&mut workbook);
        let mut sheet = || workbook.new_worksheet_with_constant_memory();
        Ok(Self {
            book,
            marks: MarksSheet::begin(sheet()?, book)?,
            findings: FindingsSheet::begin(sheet()?, book)?,
            claims: ClaimsSheet::begin(sheet()?, book)?,
            curves: CurvesSheet::begin(sheet()?, book)?,
            facts: FactsSheet::begin(sheet()?, book)?,
            workbook,
            tallies: Tallies::default(),
            shares: EarnedShares::default(),
            filled_in: FilledIn::new(book),
        })
    }

    /// Adds the next pairs, to several sheets at the same time.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, some: &[PairResult]) -> Result<(), XlsxError> {
        let Self {
            book,
            marks,
            findings,
            claims,
            curves,
            facts,
            tallies,
            shares,
            filled_in,
            ..
        } = self;
        let ((marks, claims), (others, facts)) = rayon::join(
            || {
                rayon::join(
                    || some.iter().try_for_each(|result| marks.add(result)),
                    || some.iter().try_for_each(|result| claims.add(result)),
                )
            },
            || {
                rayon::join(
                    || {
                        some.iter().try_for_each(|result| {
                            tallies.add(result, book.state);
                            shares.add(result);
                            filled_in.add(result);
                            findings.add(result)?;
                            curves.add(result)
                        })
                    },
                    || some.iter().try_for_each(|result| facts.add(result)),
                )
            },
        );
        marks.and(claims).and(others).and(facts)
    }

    /// Finishes the workbook; the same input gives the same bytes.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(mut self) -> Result<Workbook, XlsxError> {
        let book = self.book;
        let without_pair = &book.cohort.without_pair;
        self.tallies.add_findings(without_pair, None, book.state);
        for finding in without_pair {
            self.filled_in.add_finding("", finding);
            self.findings.add_finding(None, "", finding)?;
        }
        for not in &book.cohort.not_checked {
            self.tallies.add_not_checked(not);
        }
        let mut workbook = self.workbook;
        let cohort = workbook.add_worksheet();
        cohort_sheet::write(cohort, book, &self.tallies, &self.shares)?;
        workbook.push_worksheet(self.marks.finish()?);
        workbook.push_worksheet(self.findings.finish()?);
        workbook.push_worksheet(self.claims.finish()?);
        workbook.push_worksheet(self.curves.finish()?);
        workbook.push_worksheet(self.facts.finish()?);
        checks_sheet::write(workbook.add_worksheet(), book, &self.tallies)?;
        add_written(&mut workbook, &self.filled_in.written())?;
        Ok(workbook)
    }
}
