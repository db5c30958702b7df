//! What reading a hand-in could not settle. A problem becomes a finding; it never ends the run.

use super::aliases::Field;
use super::cells::starts_as_number;
use crate::place::Place;

/// What kind of problem: each is one check of the `data` family.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ProblemKind {
    /// Encrypted, damaged, too large, not a spreadsheet or text.
    UnreadableFile,
    /// A readable file whose ending says something else: read by its content.
    WrongEnding,
    /// A header that no table has.
    UnrecognisedColumn,
    /// A header, phase or column that could be two things.
    AmbiguousColumn,
    /// A text where a number should stand.
    NotANumber,
    /// A date that can't be read, or could be two dates.
    UnreadableDate,
    /// A value that could be read in two ways.
    AmbiguousValue,
    /// Trials in hidden rows, columns or sheets, or a hidden sheet left out.
    HiddenData,
    /// An error cell, or a formula that was never calculated.
    FormulaError,
}

/// One thing that reading could not settle.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// What kind.
    pub kind: ProblemKind,
    /// The cells; the first is the one to look at.
    pub places: Vec<Place>,
    /// The text as it stands in the (first) cell, for the evidence.
    pub text: String,
    /// What was seen, in one sentence.
    pub says: String,
    /// How it was read, or what settles it, in one sentence; empty where there is nothing to add.
    pub settle: String,
    /// For what was not recognised among trials: what it looks like, where no trial counts without that and nothing else gives it.
    pub(crate) looks_like: Option<Field>,
    /// For a column that was not recognised: the line of `cohort.toml` by which it would be, where its cells tell what it is.
    pub(crate) line: Option<ColumnLine>,
}

/// A line under `[columns]` of `cohort.toml`: what a column is, and what its header says.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct ColumnLine {
    /// The column's canonical name.
    pub column: Box<str>,
    /// The header.
    pub header: Box<str>,
}

impl ColumnLine {
    /// A column of which several headers are to be read, as TOML.
    pub fn of_headers(column: &str, headers: &[&str]) -> String {
        let bare = column.chars().all(|c| c.is_ascii_alphanumeric());
        let quoted = |text: &str| toml::Value::from(text).to_string();
        let headers: Vec<String> = headers.iter().map(|header| quoted(header)).collect();
        format!(
            "{} = [{}]",
            if bare {
                column.to_owned()
            } else {
                quoted(column)
            },
            headers.join(", ")
        )
    }
}

/// A header that no table has.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct UnnamedColumn {
    /// The header.
    pub header: Box<str>,
    /// The line by which it would be read, where its cells tell what it is.
    pub line: Option<ColumnLine>,
}

impl std::fmt::Display for ColumnLine {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&Self::of_headers(&self.column, &[&self.header]))
    }
}

impl Problem {
    /// A problem with one cell.
    pub fn at(
        kind: ProblemKind,
        place: Place,
        text: impl Into<String>,
        says: impl Into<String>,
        settle: impl Into<String>,
    ) -> Self {
        Self {
            kind,
            places: vec![place],
            text: excerpt(text.into()),
            says: excerpt(says.into()),
            settle: excerpt(settle.into()),
            looks_like: None,
            line: None,
        }
    }

    /// Whether it may be what tells the phases of trials.
    pub(crate) fn may_be_phase(&self) -> bool {
        self.looks_like == Some(Field::Phase)
    }

    /// Whether the text is the header of a column that was not recognised, and not one of numbers that have no header.
    pub(crate) fn names_column(&self) -> bool {
        self.kind == ProblemKind::UnrecognisedColumn && !starts_as_number(&self.text)
    }
}

/// What reading one cell could not settle: a problem but for its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Doubt {
    /// What kind of problem.
    pub kind: ProblemKind,
    /// What was seen, in one sentence.
    pub says: String,
    /// How it was read, or what settles it.
    pub settle: String,
}

impl Doubt {
    /// A doubt about the cell that is being read.
    pub fn new(kind: ProblemKind, says: impl Into<String>, settle: impl Into<String>) -> Self {
        Self {
            kind,
            says: says.into(),
            settle: settle.into(),
        }
    }

    /// The problem that it is at a place, where this text stands.
    pub fn at(self, place: Place, text: impl Into<String>) -> Problem {
        Problem::at(self.kind, place, text, self.says, self.settle)
    }
}

/// More problems than this in one hand-in tell nobody anything: the rest are not listed.
const MOST: usize = 5_000;

/// Adds a problem to a hand-in's list, as long as anybody could read it.
pub(crate) fn report(problems: &mut Vec<Problem>, problem: Problem) {
    match problems.len().cmp(&MOST) {
        std::cmp::Ordering::Less => problems.push(problem),
        std::cmp::Ordering::Equal => problems.push(Problem {
            settle: format!("It is the last that is listed; there are more than {MOST}."),
            ..problem
        }),
        std::cmp::Ordering::Greater => {}
    }
}

/// How much of a cell is shown: nobody reads more in a finding.
const LONGEST: usize = 400;

/// A text cut where it is too long to show.
fn excerpt(text: String) -> String {
    match text.char_indices().nth(LONGEST) {
        None => text,
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or_default()),
    }
}
