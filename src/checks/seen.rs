//! What the checks look at: read-only, gathered once.

use crate::facts::{Facts, Record};
use crate::logbook::Logbook;
use crate::thresholds::Thresholds;

/// One pair, as every check of a pair sees it.
pub struct Seen<'a> {
    /// The pair's id.
    pub pair: &'a str,
    /// What it handed in.
    pub logbook: &'a Logbook,
    /// Which trials count.
    pub record: &'a Record,
    /// The named facts.
    pub facts: &'a Facts,
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
}

/// All pairs together.
pub struct CohortSeen<'a> {
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
}

/// What markers entered.
pub struct MarksSeen<'a> {
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
}
