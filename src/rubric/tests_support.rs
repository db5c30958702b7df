//! What the tests of this module share.

use super::{Known, Rubric};
use crate::configuration::Faults;
use crate::expression::fixture;

/// Slips of which the tests speak.
pub const SLIPS: &[&str] = &["best-trial", "population-sd", "rounded-early"];

/// Reads a rubric with the fixture's names.
pub fn read(source: &str) -> Result<Rubric, Faults> {
    let catalogue = fixture::catalogue();
    let known = Known {
        catalogue: &catalogue,
        slips: SLIPS,
    };
    Rubric::read("rubric.toml", source, &known)
}
