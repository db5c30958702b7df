//! What a check is: one entry that holds its id, its explanation and what it runs.

use super::finding::{Finding, Findings, Weight};
use super::seen::{CohortSeen, MarksSeen, Seen};

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
    Cohort(fn(&CohortSeen, &mut Vec<Placed>)),
    /// What markers entered.
    Marks(fn(&MarksSeen, &mut Vec<Placed>)),
}

/// A finding of a check that sees more than one pair, with its pair's id; none for what belongs to no pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// The pair's id.
    pub pair: Option<String>,
    /// The finding.
    pub finding: Finding,
}
