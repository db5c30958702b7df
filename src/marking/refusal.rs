//! What was not taken back, and why.

use std::fmt;

use crate::place::Place;

/// A cell whose content was not taken.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The cell.
    pub place: Place,
    /// What stands in it.
    pub stands: String,
    /// Why it was not taken, and what to do.
    pub why: String,
}

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.stands.is_empty() {
            write!(f, "{}: {}", self.place, self.why)
        } else {
            write!(f, "{}: `{}` {}", self.place, self.stands, self.why)
        }
    }
}
