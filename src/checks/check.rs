//! What a check is: one entry that holds its id, its explanation and what it runs.

use super::finding::{Finding, Findings, Weight};
use super::marks::MarksSeen;
use super::seen::{CohortSeen, Seen};

/// A check's id.
pub type CheckId = &'static str;

/// Reads a check's id back; an error where there is no such check.
pub(super) fn id<'de, D: serde::Deserializer<'de>>(from: D) -> Result<CheckId, D::Error> {
    let text: std::borrow::Cow<'de, str> = serde::Deserialize::deserialize(from)?;
    super::find(&text)
        .map(|check| check.id)
        .ok_or_else(|| serde::de::Error::custom(text))
}

/// A check. One file a check; its id, explanation, comment and tests stand together there.
pub struct Check {
    /// The id, for ever: scripts, ledgers and rubrics name it.
    pub id: &'static str,
    /// The heaviest weight that its findings have.
    pub weight: Weight,
    /// What it finds, in a few words, named for the fault.
    pub title: &'static str,
    /// What is served by `explain`, the workbook's legend and the documentation.
    pub explanation: Explanation,
    /// The keys of the thresholds that it uses.
    pub thresholds: &'static [&'static str],
    /// What it looks at.
    pub run: Run,
}

/// The fixed sections of an explanation.
pub struct Explanation {
    /// What it looks at.
    pub looks_at: &'static str,
    /// Why it matters in motor learning, or for fair marking.
    pub matters: &'static str,
    /// An example that it finds.
    pub example: &'static str,
    /// What the pair (for `marks` checks: the marker) can do.
    pub remedy: &'static str,
    /// A publication, or `common practice`.
    pub source: &'static str,
}

/// What a check needs to see.
pub enum Run {
    /// One pair's logbook, facts and claims.
    Pair(fn(&Seen, &mut Findings)),
    /// All pairs together.
    Cohort(fn(&CohortSeen, &mut PlacedFindings)),
    /// One pair's logbook, and what there is to say of hand-ins that never became one.
    PairAndCohort(
        fn(&Seen, &mut Findings),
        fn(&CohortSeen, &mut PlacedFindings),
    ),
    /// What markers entered.
    Marks(fn(&MarksSeen, &mut PlacedFindings)),
}

/// A finding of a check that sees more than one pair, with its pair's id; none for what belongs to no pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The pair's id.
    pub pair: Option<String>,
    /// The finding.
    pub finding: Finding,
}

/// What checks that see more than one pair found.
#[derive(Debug, Clone, Default)]
pub struct PlacedFindings {
    /// The findings, in the order of the checks.
    pub found: Vec<Placed>,
    /// What could not be checked.
    pub not_checked: Vec<super::finding::NotChecked>,
}

impl PlacedFindings {
    /// Adds a finding of a pair; of none where it belongs to no pair.
    pub fn add(&mut self, pair: Option<&str>, finding: Finding) {
        self.found.push(Placed {
            pair: pair.map(str::to_owned),
            finding,
        });
    }

    /// Says that a check's inputs are absent.
    pub fn could_not(&mut self, check: &'static str, why: impl Into<String>) {
        self.not_checked.push(super::finding::NotChecked {
            check,
            why: why.into(),
        });
    }
}

impl Check {
    /// The family before the point: `testing`.
    pub fn family(&self) -> &'static str {
        self.id
            .split_once('.')
            .map_or(self.id, |(family, _)| family)
    }

    /// A finding of this check, at its listed weight.
    pub fn finding(&self, message: impl Into<String>, comment: impl Into<String>) -> Finding {
        Finding::new(self.id, self.weight, message, comment)
    }
}
