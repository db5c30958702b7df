//! `marking/<marker>.xlsx`: one marker's pairs, with everything that marking them needs and nothing else.
//!
//! No names unless the course wants them and, unless it has second markers see them, no marks of anybody else's.

pub mod claims_sheet;
mod curves_sheet;
mod evidence_sheet;
pub mod marks_sheet;
mod pairs_sheet;
mod part;
mod progress;
mod words;

use rust_xlsxwriter::{Workbook, XlsxError};

use super::style::Looks;
use super::written::{Written, WrittenPair, WrittenValue, add_written};
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::examination::PairResult;
use crate::ledger::{Entry, Held, PairState, Role, Slot, State, Subject};
use crate::rubric::Rubric;

/// Which workbook this is, on its hidden sheet.
pub const KIND: &str = "marker";

/// In the column of roles: a pair that every marker marks, for one who is neither its first nor its second marker.
pub const COMMON: &str = "common";

/// As what the marker marks a pair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MarkingAs {
    /// Its first marker: the mark is the pair's.
    First,
    /// Its second marker.
    Second,
    /// One of all markers, to agree on a standard.
    Common,
}

impl MarkingAs {
    /// The word in the column of roles.
    pub fn word(self) -> &'static str {
        match self {
            Self::First => Role::Marker.name(),
            Self::Second => Role::SecondMarker.name(),
            Self::Common => COMMON,
        }
    }

    fn slot(self) -> Slot {
        match self {
            Self::First | Self::Common => Slot::First,
            Self::Second => Slot::Second,
        }
    }
}

/// One pair of a marker's.
#[derive(Clone, Copy)]
pub struct Assigned<'a> {
    /// The pair, examined.
    pub result: &'a PairResult,
    /// As what it is marked.
    pub marking_as: MarkingAs,
}

/// Everything that a marker's workbook shows.
pub struct MarkerBook<'a> {
    /// The marker.
    pub marker: &'a str,
    /// The marker's pairs: first marking before second marking.
    pub pairs: Vec<Assigned<'a>>,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// Digest of the rubric's file.
    pub rubric_digest: &'a str,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// The ledger's lines.
    pub entries: &'a [Entry],
    /// What is in force by the ledger.
    pub state: &'a State,
    /// How marks are moderated.
    pub moderation: &'a ModerationSettings,
    /// How the workbook looks.
    pub looks: &'a Looks,
}

impl MarkerBook<'_> {
    fn pair_state(&self, pair: &Assigned<'_>) -> Option<&PairState> {
        self.state.pair(&pair.result.pair)
    }

    /// What this marker entered. `student` is the student's place in the pair.
    fn held(
        &self,
        pair: &Assigned<'_>,
        subject: &Subject,
        student: Option<usize>,
    ) -> Option<&Held> {
        let student = match student {
            None => "",
            Some(index) => {
                let mut students = self.roster?.of_pair(&pair.result.pair);
                &*students.nth(index)?.id
            }
        };
        let slot = pair.marking_as.slot();
        let state = self.pair_state(pair)?;
        match pair.marking_as {
            MarkingAs::First | MarkingAs::Second => state.in_slot(subject, student, slot),
            MarkingAs::Common => state.in_slot(&self.as_common(subject), student, slot),
        }
    }

    /// Whether somebody marks pairs of this cohort, and is not this marker.
    fn is_another_marker(&self, who: &str) -> bool {
        let marks = |state: &PairState| {
            [Subject::FirstMarker, Subject::SecondMarker]
                .iter()
                .filter_map(|subject| state.standing(subject, ""))
                .any(|held| held.value == who)
        };
        who != self.marker && self.state.pairs().any(|(_, state)| marks(state))
    }

    /// The students' names, where markers are to see them.
    fn names(&self, pair: &str) -> Vec<String> {
        let roster = self.roster.filter(|_| self.moderation.names);
        let students = roster.into_iter().flat_map(|roster| roster.of_pair(pair));
        students
            .filter(|student| !student.name.is_empty())
            .map(|student| student.name.to_string())
            .collect()
    }

    fn as_common(&self, subject: &Subject) -> Subject {
        Subject::Common(self.marker.to_owned(), Box::new(subject.clone()))
    }

    /// The key under which the hidden sheet keeps a cell of a pair.
    fn written_key(&self, pair: &Assigned<'_>, key: String) -> String {
        match pair.marking_as {
            MarkingAs::First | MarkingAs::Second => key,
            MarkingAs::Common => format!("{COMMON} {key} by {}", self.marker),
        }
    }
}

/// Makes the workbook; the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make(book: &MarkerBook<'_>) -> Result<Workbook, XlsxError> {
    let mut workbook = super::new_workbook(&format!("Marking: {}", book.marker))?;
    let mut written = Written {
        kind: KIND.to_owned(),
        marker: book.marker.to_owned(),
        rubric: book.rubric_digest.to_owned(),
        ledger_lines: book.entries.len(),
        pairs: written_pairs(book),
        ..Written::default()
    };
    let curves = curves_sheet::curves(&book.pairs);
    for _ in 0..5 {
        workbook.add_worksheet();
    }
    let [pairs, marks, claims, evidence, blocks] = [0, 1, 2, 3, 4];
    let sheet = workbook.worksheet_from_index(marks)?;
    let parts = marks_sheet::write(sheet, book, &curves, &mut written)?;
    claims_sheet::write(workbook.worksheet_from_index(claims)?, book, &mut written)?;
    let pages = evidence_sheet::write(workbook.worksheet_from_index(evidence)?, book, &curves)?;
    pairs_sheet::write(workbook.worksheet_from_index(pairs)?, book, &parts, &pages)?;
    curves_sheet::write(workbook.worksheet_from_index(blocks)?, book, &curves)?;
    add_written(&mut workbook, &written)?;
    Ok(workbook)
}

/// Notes what a cell to fill in holds.
fn note(list: &mut Vec<WrittenValue>, sheet: &str, id: &str, key: String, value: &str) {
    list.push(WrittenValue {
        sheet: sheet.to_owned(),
        id: id.to_owned(),
        key,
        value: value.to_owned(),
    });
}

fn written_pairs(book: &MarkerBook<'_>) -> Vec<WrittenPair> {
    let pairs = book.pairs.iter();
    pairs
        .map(|pair| WrittenPair::of(pair.result, book.roster))
        .collect()
}
