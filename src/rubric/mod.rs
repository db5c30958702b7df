//! Rubrics: what a course asks of a report, read from TOML, and what one pair's facts say to it.
//!
//! A rubric has criteria; a criterion has evidence points, which the data settle, and judged points, which a person alone gives. The
//! suggestion is the evidence points earned; nothing is guessed for the rest.

mod course_file;
mod criterion;
mod criterion_reading;
mod levels;
mod preview;
mod reading;
mod schema;
mod shipped;
mod suggestion;

pub use course_file::{Kind, Proof, proofread};
pub use criterion::{Criterion, Each, Evidence, Judged};
pub use levels::Level;
pub use preview::preview;
pub use reading::{Known, Switch};
pub use schema::schema;
pub use shipped::{SHIPPED, shipped_text};
pub use suggestion::{CriterionSuggestion, EvidenceOutcome, Settled, suggest};

use std::collections::BTreeMap;

use crate::configuration::Faults;
use crate::thresholds::Thresholds;

/// A rubric without a fault.
#[derive(Debug, Clone, PartialEq)]
pub struct Rubric {
    /// What it is called.
    pub title: String,
    /// The marks of all criteria together.
    pub out_of: f64,
    /// The mark from which on a report passes, where the course has one.
    pub pass: Option<f64>,
    /// Levels of the total, the highest first; may be empty.
    pub levels: Vec<Level>,
    /// What the course made of single checks, by their ids.
    pub checks: BTreeMap<String, Switch>,
    /// The thresholds in force: the defaults with the rubric's own over them.
    pub thresholds: Thresholds,
    /// Codes of slips that this course accepts as its own convention.
    pub accept: Vec<String>,
    /// The criteria, in the order of the file.
    pub criteria: Vec<Criterion>,
}

impl Rubric {
    /// Reads a rubric: `name` is the file's name in messages, `source` its text.
    ///
    /// # Errors
    /// Every fault of the file at once, each with line, column and, where it can be said, what to do.
    pub fn read(name: &str, source: &str, known: &Known<'_>) -> Result<Self, Faults> {
        reading::read(name, source, known).map(|(rubric, _)| rubric)
    }

    /// As [`Rubric::read`], with remarks on a rubric that can be used as it is.
    ///
    /// # Errors
    /// Every fault of the file at once, remarks included.
    pub fn read_with_remarks(
        name: &str,
        source: &str,
        known: &Known<'_>,
    ) -> Result<(Self, Faults), Faults> {
        reading::read(name, source, known)
    }

    /// A rubric that ships, `full` or `short`; none where no rubric of that name does.
    ///
    /// # Errors
    /// Its faults, where `known` lacks a fact, a check or a slip that it names.
    pub fn shipped(name: &str, known: &Known<'_>) -> Option<Result<Self, Faults>> {
        let text = shipped_text(name)?;
        Some(Self::read(&format!("rubrics/{name}.toml"), text, known))
    }

    /// The criterion of that id.
    pub fn criterion(&self, id: &str) -> Option<&Criterion> {
        self.criteria.iter().find(|criterion| criterion.id == id)
    }

    /// The level of a total.
    pub fn level(&self, total: f64) -> Option<&Level> {
        levels::level_of(&self.levels, total)
    }
}

#[cfg(test)]
pub(crate) mod tests_support;
