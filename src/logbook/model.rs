//! The typed logbook: what a pair handed in, each value with the place where it stands.
//!
//! It is the record as handed in: duplicates, scores off the scale and familiarisation are all here. What enters a statistic is decided
//! in [`crate::facts::record`].

use std::sync::Arc;

use jiff::civil::Date;

use super::problem::{Problem, UnnamedColumn};
use crate::number::Stated;
use crate::phase::{BlockName, Phase};
use crate::place::Place;
use crate::statistic::Statistic;

/// A value with the place where it stands.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Sourced<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

/// One hand-in as read.
#[derive(Debug, Clone)]
pub struct Logbook {
    /// The hand-in's name: its file, or its folder, relative to the submissions.
    pub name: Arc<str>,
    /// The files that were read.
    pub files: Vec<Arc<str>>,
    /// The About table.
    pub about: About,
    /// The measures; the first is the primary one. Never empty.
    pub measures: Vec<Measure>,
    /// The Sessions table, in its order.
    pub sessions: Vec<Session>,
    /// Every recorded trial, in reading order.
    pub trials: Vec<Trial>,
    /// The technique checklist.
    pub technique: Vec<TechniqueRating>,
    /// Every claim, in reading order: the Claims table, then averages that stand beside trials.
    pub claims: Vec<Claim>,
    /// Which tables were found, and where they begin.
    pub tables: Tables,
    /// What reading could not settle.
    pub problems: Vec<Problem>,
}

impl Logbook {
    /// The columns that were not recognised, by their headers; rows of numbers without a header are none of these.
    pub fn unnamed_columns(&self) -> Vec<UnnamedColumn> {
        self.problems
            .iter()
            .filter(|problem| problem.names_column())
            .map(|problem| UnnamedColumn {
                header: problem.text.trim().into(),
                line: problem.line.clone(),
            })
            .collect()
    }

    /// The columns of the trials that were not recognised and look like scores or phases: what no trial counts without.
    pub fn columns_not_read(&self) -> impl Iterator<Item = &Problem> {
        self.problems
            .iter()
            .filter(|problem| problem.looks_like.is_some())
    }
}

/// Where each table begins; none where it is not there.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tables {
    /// The About table.
    pub about: Option<Place>,
    /// The Measures table.
    pub measures: Option<Place>,
    /// The Sessions table.
    pub sessions: Option<Place>,
    /// The Trials table, in any layout.
    pub trials: Option<Place>,
    /// The Technique table.
    pub technique: Option<Place>,
    /// The Claims table.
    pub claims: Option<Place>,
}

/// The About table. Absent keys and empty values are none.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct About {
    /// The pair's id as handed in.
    pub pair: Option<Sourced<Arc<str>>>,
    /// The coach's id or name.
    pub coach: Option<Sourced<Arc<str>>>,
    /// The learner's id or name.
    pub learner: Option<Sourced<Arc<str>>>,
    /// The target skill.
    pub skill: Option<Sourced<Arc<str>>>,
    /// First day of the programme.
    pub start: Option<Sourced<Date>>,
    /// Last day of the programme.
    pub end: Option<Sourced<Date>>,
    /// The learner's stage of learning as diagnosed at the start.
    pub stage_before: Option<Sourced<Arc<str>>>,
    /// The stage as diagnosed at the end.
    pub stage_after: Option<Sourced<Arc<str>>>,
    /// Why.
    pub stage_reason: Option<Sourced<Arc<str>>>,
    /// The theory that the report says its data support.
    pub theory: Option<Sourced<Arc<str>>>,
    /// Why.
    pub theory_reason: Option<Sourced<Arc<str>>>,
    /// Earlier experience, as typed.
    pub experience: Option<Sourced<Arc<str>>>,
    /// What the transfer test changed.
    pub novel_context: Option<Sourced<Arc<str>>>,
    /// The report says that a lasting change took place.
    pub learning_claimed: Option<Sourced<bool>>,
    /// Informed consent: yes, no or a date; nothing else is kept.
    pub consent: Option<Sourced<Recorded>>,
    /// Readiness-to-exercise screening: yes, no or a date; nothing else is kept.
    pub screening: Option<Sourced<Recorded>>,
}

/// Whether something took place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Recorded {
    /// Yes.
    Yes,
    /// No.
    No,
    /// Yes, on this day.
    On(Date),
}

/// What a measure measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum MeasureKind {
    /// A rating on a scale.
    Rating,
    /// A count of something.
    Count,
    /// Success or failure, 1 or 0.
    Success,
    /// Unsigned distance from the target.
    Error,
    /// Signed distance from, or position relative to, the target.
    SignedError,
    /// Any other quantity.
    Quantity,
}

impl MeasureKind {
    /// All of them.
    pub const ALL: [Self; 6] = [
        Self::Rating,
        Self::Count,
        Self::Success,
        Self::Error,
        Self::SignedError,
        Self::Quantity,
    ];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Rating => "rating",
            Self::Count => "count",
            Self::Success => "success",
            Self::Error => "error",
            Self::SignedError => "signed error",
            Self::Quantity => "quantity",
        }
    }
}

/// Which way is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum Better {
    /// Higher scores.
    Higher,
    /// Lower scores.
    Lower,
    /// Scores nearest to the target.
    Target,
}

impl Better {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Higher, Self::Lower, Self::Target];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Higher => "higher",
            Self::Lower => "lower",
            Self::Target => "target",
        }
    }
}

/// A measure, with its defaults filled in.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Measure {
    /// Its name as the tables use it.
    pub name: Arc<str>,
    /// What it measures.
    pub kind: MeasureKind,
    /// Its unit, for display.
    pub unit: Option<Arc<str>>,
    /// Which way is better.
    pub better: Better,
    /// The lowest score of the scale.
    pub lowest: Option<f64>,
    /// The highest score of the scale.
    pub highest: Option<f64>,
    /// Smallest step between two scores.
    pub step: Option<f64>,
    /// The target.
    pub target: Option<f64>,
    /// Where its row in the Measures table is.
    pub place: Option<Place>,
}

impl Measure {
    /// The measure of a logbook that describes none: `score`, any quantity, higher is better.
    pub fn undescribed() -> Self {
        Self {
            name: "score".into(),
            kind: MeasureKind::Quantity,
            unit: None,
            better: Better::Higher,
            lowest: None,
            highest: None,
            step: None,
            target: None,
            place: None,
        }
    }

    /// The target from which errors are measured: for unsigned errors 0; for signed ones `target`, or 0 where it is empty.
    pub fn error_target(&self) -> Option<f64> {
        match self.kind {
            MeasureKind::Error => Some(0.0),
            MeasureKind::SignedError => Some(self.target.unwrap_or(0.0)),
            _ if self.better == Better::Target => Some(self.target.unwrap_or(0.0)),
            _ => self.target,
        }
    }

    /// A score as a quantity that is compared for better and worse, and whether higher is better: the distance from the target where
    /// nearest is best, else the score itself.
    pub fn comparable(&self, score: f64) -> f64 {
        match self.better {
            Better::Target => (score - self.target.unwrap_or(0.0)).abs(),
            Better::Higher | Better::Lower => score,
        }
    }

    /// Whether a higher value of [`Measure::comparable`] is better.
    pub fn higher_is_better(&self) -> bool {
        self.better == Better::Higher
    }

    /// The level of a score on the scale: 0 the worst end, 1 the best end. None for open scales and where nearest to a target is best.
    pub fn level(&self, score: f64) -> Option<f64> {
        let (low, high) = (self.lowest?, self.highest?);
        if high <= low {
            return None;
        }
        let share = (score - low) / (high - low);
        match self.better {
            Better::Higher => Some(share),
            Better::Lower => Some(1.0 - share),
            Better::Target => None,
        }
    }
}

/// One row of the Sessions table.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Its number.
    pub number: Option<u32>,
    /// Its date.
    pub date: Option<Date>,
    /// Its week.
    pub week: Option<u32>,
    /// Its phase.
    pub phase: Option<Phase>,
    /// How long it took.
    pub minutes: Option<f64>,
    /// Order of tasks.
    pub order: Option<Order>,
    /// Constant or variable practice.
    pub variety: Option<Variety>,
    /// Whole, part or simplified.
    pub part: Option<Arc<str>>,
    /// Which feedback was given.
    pub feedback: Option<Feedback>,
    /// Share of trials followed by feedback, 0–100.
    pub feedback_percent: Option<f64>,
    /// What was done.
    pub content: Option<Arc<str>>,
    /// Notes.
    pub notes: Option<Arc<str>>,
    /// The first cell of its row.
    pub place: Place,
    /// Where its date stands, where it has one.
    pub date_place: Option<Place>,
    /// Where its feedback stands, where it has one.
    pub feedback_place: Option<Place>,
}

/// Order of the tasks within practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Order {
    /// One task after the other.
    Blocked,
    /// The tasks in turn.
    Serial,
    /// In random order.
    Random,
}

impl Order {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Blocked, Self::Serial, Self::Random];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Blocked => "blocked",
            Self::Serial => "serial",
            Self::Random => "random",
        }
    }
}

/// Whether the task varied within practice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Variety {
    /// Always the same.
    Constant,
    /// Varied.
    Variable,
}

impl Variety {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Constant, Self::Variable];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Constant => "constant",
            Self::Variable => "variable",
        }
    }
}

/// Feedback given in a session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Feedback {
    /// Knowledge of results.
    Results,
    /// Knowledge of performance.
    Technique,
    /// Both.
    Both,
    /// None was given.
    None,
}

impl Feedback {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Results, Self::Technique, Self::Both, Self::None];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Results => "results",
            Self::Technique => "technique",
            Self::Both => "both",
            Self::None => "none",
        }
    }
}

/// What a score cell held.
#[derive(Debug, Clone, PartialEq)]
pub enum Score {
    /// A number.
    Number(f64),
    /// Nothing, or what stands for missing: not attempted or not recorded.
    Missing,
    /// A text that is no number and has no agreed meaning, as it stands; reading has reported it as a problem.
    Unreadable(Arc<str>),
}

/// One recorded trial: one row of the long layout, one cell of the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// Which of the logbook's measures.
    pub measure: usize,
    /// Its phase: its own, or its session's.
    pub phase: Option<Phase>,
    /// Its session's number.
    pub session: Option<u32>,
    /// Its date: its own, or its session's.
    pub date: Option<Date>,
    /// Its number as recorded. Trials without a number are numbered later, by their order in the block.
    pub number: Option<u32>,
    /// Its score.
    pub score: Score,
    /// Landing point relative to the target.
    pub landing: Option<(f64, f64)>,
    /// Equipment, distance, surface: whatever describes the task.
    pub condition: Option<Arc<str>>,
    /// Who rated it.
    pub rater: Option<Arc<str>>,
    /// The score that the learner guessed before being told.
    pub estimate: Option<f64>,
    /// It stands in a hidden row, column or sheet.
    pub hidden: bool,
    /// Where its score stands (where the score is computed from x and y: where x stands).
    pub place: Place,
}

/// One rating of one element of technique.
#[derive(Debug, Clone, PartialEq)]
pub struct TechniqueRating {
    /// The phase in which it was observed.
    pub phase: Option<Phase>,
    /// The element.
    pub element: Arc<str>,
    /// The rating; yes and ticks are 1, no is 0. None where missing.
    pub rating: Option<f64>,
    /// Who observed it.
    pub observer: Option<Arc<str>>,
    /// Where the rating stands.
    pub place: Place,
}

/// One number that the report states.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Claim {
    /// `c1`, `c2` … in reading order.
    pub id: Arc<str>,
    /// Which statistic; none where it is unknown.
    pub statistic: Option<Statistic>,
    /// The statistic as typed.
    pub statistic_text: Arc<str>,
    /// Which measure; none where the claim names one that the logbook does not have, or names technique.
    pub measure: ClaimMeasure,
    /// The block it speaks of, with its default filled in; none where it can't be read, and for statistics over all tests.
    pub phase: Option<BlockName>,
    /// The phase as typed, where something was typed.
    pub phase_text: Option<Arc<str>>,
    /// The earlier block of a comparison, with its default filled in; none where the statistic has none or it can't be read.
    pub versus: Option<BlockName>,
    /// The earlier block as typed, where something was typed.
    pub versus_text: Option<Arc<str>>,
    /// The number, in the statistic's own unit (percent or share); none where it can't be read.
    pub value: Option<Stated>,
    /// The value as typed.
    pub value_text: Arc<str>,
    /// Its unit, as typed.
    pub unit: Option<Arc<str>>,
    /// Page, slide or time in the report.
    pub location: Option<Arc<str>>,
    /// Where the value stands.
    pub place: Place,
    /// From which table.
    pub origin: ClaimOrigin,
    /// The range that its cell's formula sums up, where it has such a formula over cells of the trials.
    pub formula: Option<FormulaRange>,
}

/// The measure of which a claim speaks.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum ClaimMeasure {
    /// One of the logbook's measures, by index.
    Known(usize),
    /// The technique checklist.
    Technique,
    /// A name that is none of the logbook's measures, as typed.
    Unknown(Arc<str>),
}

/// Where a claim was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub enum ClaimOrigin {
    /// A row of the Claims table.
    Table,
    /// A number that the pair computed beside or below its trials.
    BesideTrials,
    /// Typed by a marker who read the number in the report.
    Marker,
}

/// The range that a formula sums up, against the block it stands for.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct FormulaRange {
    /// The formula as it stands, without the leading `=`.
    pub formula: Arc<str>,
    /// Trials of the block (indices into [`Logbook::trials`]) that the range leaves out.
    pub left_out: Vec<usize>,
    /// Cells in the range that are no trials of the block, with their numbers.
    pub extra: Vec<Sourced<f64>>,
    /// Trials of the block (indices into [`Logbook::trials`]) that the range takes in.
    pub taken: Vec<usize>,
}
