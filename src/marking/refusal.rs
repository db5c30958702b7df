//! What was not taken back, and why.

use std::fmt;

use crate::place::Place;

/// A cell whose content was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cell.
    pub place: Place,
    /// What it is of, in the words of the course: `P09, Testing design`; empty where that isn't known.
    pub of: String,
    /// What stands in it.
    pub stands: String,
    /// Why it was not taken, and what to do.
    pub why: String,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.place)?;
        if !self.of.is_empty() {
            write!(f, " ({})", self.of)?;
        }
        if self.stands.is_empty() {
            write!(f, ": {}", self.why)
        } else {
            write!(f, ": `{}` {}", self.stands, self.why)
        }
    }
}
