//! The names of checks, and facts of one pair, for the tests of this module and of those that build on it.

use std::collections::BTreeMap;

use super::Catalogue;
use crate::facts::FactValue;

/// Every check of the registry's documentation of which a rubric may count findings.
pub const CHECKS: &[&str] = &[
    "data.out-of-scale",
    "data.date-order",
    "testing.no-pre-test",
    "testing.no-post-test",
    "testing.no-retention-test",
    "testing.no-transfer-test",
    "testing.few-trials",
    "testing.unequal-trials",
    "testing.conditions-changed",
    "testing.retention-too-soon",
    "testing.transfer-not-novel",
    "testing.feedback-in-test",
    "testing.one-rater",
    "testing.raters-disagree",
    "testing.ceiling",
    "testing.floor",
    "testing.no-technique-record",
    "testing.no-outcome-record",
    "programme.too-short",
    "programme.few-sessions",
    "programme.long-gap",
    "programme.no-practice-record",
    "programme.feedback-not-recorded",
    "programme.schedule-not-recorded",
    "programme.safety-not-recorded",
    "numbers.differs",
    "numbers.impossible",
    "numbers.inconsistent",
    "numbers.not-recomputable",
    "numbers.improvement-reversed",
    "numbers.improvement-within-noise",
    "numbers.learning-without-retention",
    "numbers.unsuited-test",
    "numbers.spurious-precision",
    "stage.not-diagnosed",
    "stage.unknown",
    "stage.start-not-supported",
    "stage.end-not-supported",
    "stage.went-backwards",
    "stage.no-evidence",
    "theory.not-named",
    "theory.unknown",
    "theory.not-testable",
    "theory.contradicted",
    "theory.weak",
];

/// The registry's facts, and findings of these checks.
pub fn catalogue() -> Catalogue {
    Catalogue::new(CHECKS.iter().copied())
}

/// Facts of one pair.
pub fn facts(known: &[(&str, FactValue)]) -> BTreeMap<String, FactValue> {
    known
        .iter()
        .map(|(name, value)| ((*name).to_owned(), value.clone()))
        .collect()
}
