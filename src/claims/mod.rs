//! What the pair states: every claim recomputed from the trials, and which slip explains a difference.
//!
//! A claim names a statistic of blocks. Its definition is a [`computation::Computation`], a description that [`evaluate`] works out; a slip
//! ([`slips`]) changes the description, and what gives exactly the claimed number is listed, most plausible first.

pub mod computation;
mod definition;
mod evaluate;
mod gather;
mod material;
mod recompute;
mod rounding;
pub mod slips;
mod verdict;

pub use recompute::{ClaimSettings, recompute};
pub use verdict::{Confidence, Explanation, NoValue, RecomputedClaim, Verdict, with_article};
