//! What the pair states: every claim recomputed from the trials, and which slip explains a difference.
//!
//! A claim names a statistic of blocks. Its definition is a [`computation::Computation`], a description that [`evaluate`] works out; a slip
//! ([`slips`]) changes the description, and what gives exactly the claimed number is listed, most plausible first.

pub mod computation;
mod definition;
mod evaluate;
mod gather;
mod impossible;
mod inconsistency;
mod matching;
mod material;
mod plausibility;
mod ranking;
mod recompute;
mod roots;
mod rounding;
mod search;
mod sentences;
pub mod slips;
mod unread_scores;
mod verdict;

#[cfg(test)]
mod definition_tests;
#[cfg(test)]
mod slip_statistics_tests;
#[cfg(test)]
mod slip_tests;
#[cfg(test)]
mod testing;

pub use inconsistency::{Inconsistency, inconsistencies};
pub use plausibility::source;
pub use recompute::{ClaimSettings, recompute};
pub use sentences::{Said, beside, in_table, say, subject};
pub use verdict::{Confidence, Explanation, NoValue, RecomputedClaim, Verdict, with_article};
