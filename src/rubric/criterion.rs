//! A criterion: evidence points that the data settle, judged points that a person gives, and levels.

use super::levels::{Level, level_of};
use crate::expression::{Condition, Sentence};

/// One criterion of a rubric. Its points sum to its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Criterion {
    /// Its name in files.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// The marks out of which it is marked.
    pub marks: f64,
    /// Whether the two students of a pair share its mark.
    pub each: Each,
    /// What the data settle.
    pub evidence: Vec<Evidence>,
    /// What a person judges.
    pub judged: Vec<Judged>,
    /// Levels of its mark, the highest first; may be empty.
    pub levels: Vec<Level>,
}

/// To whom a criterion's mark belongs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Each {
    /// One mark for the pair.
    Pair,
    /// A mark for each student.
    Student,
}

/// Points that the data settle.
#[derive(Debug, Clone, PartialEq)]
pub struct Evidence {
    /// Its name in files, unique within the criterion.
    pub id: String,
    /// What it is about, for people; none where its id says it.
    pub title: Option<String>,
    /// What it is worth.
    pub points: f64,
    /// Checks whose findings say what it says where it is not met.
    pub findings: Vec<String>,
    /// Where this holds, the points are earned.
    pub when: Condition,
    /// Where `when` doesn't hold and this does, half of them are.
    pub partly: Option<Condition>,
    /// Where this doesn't hold, the points are neither earned nor lost: they are the marker's.
    pub testable: Option<Condition>,
    /// What the pair reads where the points are earned.
    pub met: Option<Sentence>,
    /// What the pair reads where half of them are; `unmet` where there is none.
    pub partly_met: Option<Sentence>,
    /// What the pair reads where none is: what is missing, and the next step.
    pub unmet: Option<Sentence>,
    /// What the marker reads where the data settle nothing.
    pub unsure: Option<Sentence>,
}

/// Points that a person alone gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    /// Its name in files, unique within the criterion.
    pub id: String,
    /// What it is worth.
    pub points: f64,
    /// The question that the marker answers.
    pub asks: String,
}

impl Evidence {
    /// What it is about, in words for people.
    pub fn name(&self) -> String {
        self.title
            .clone()
            .unwrap_or_else(|| self.id.replace(['-', '_'], " "))
    }

    /// The checks whose findings say what it says where it is not met: those that it lists, and those that its conditions ask about.
    pub fn is_said_by(&self, check: &str) -> bool {
        let counted = format!("findings[\"{check}\"]");
        self.findings.iter().any(|listed| listed == check)
            || [
                Some(&self.when),
                self.partly.as_ref(),
                self.testable.as_ref(),
            ]
            .into_iter()
            .flatten()
            .any(|condition| condition.facts().contains(&counted))
    }
}

impl Criterion {
    /// All evidence points together.
    pub fn evidence_points(&self) -> f64 {
        self.evidence.iter().map(|evidence| evidence.points).sum()
    }

    /// All judged points together.
    pub fn judged_points(&self) -> f64 {
        self.judged.iter().map(|judged| judged.points).sum()
    }

    /// The level of a mark.
    pub fn level(&self, mark: f64) -> Option<&Level> {
        level_of(&self.levels, mark)
    }
}
