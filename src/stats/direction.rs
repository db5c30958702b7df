//! Which way is better.

/// Which scores are the better ones.
///
/// A target value isn't a direction: take the distances from the target, of which lower ones are better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Direction {
    /// Higher scores are better (ratings, counts, successes).
    Higher,
    /// Lower scores are better (errors, times).
    Lower,
}

impl Direction {
    /// `value` with the sign that makes higher better.
    #[must_use]
    pub fn orient(self, value: f64) -> f64 {
        match self {
            Self::Higher => value,
            Self::Lower => -value,
        }
    }
}
