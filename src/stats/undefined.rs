//! Why a statistic has no value: a missing number is a reason, never 0 or NaN.

use std::fmt;

/// Why a statistic is not defined for the numbers given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum Undefined {
    /// Fewer numbers than the statistic needs.
    TooFew {
        /// How many it needs.
        needed: usize,
        /// How many there were.
        given: usize,
    },
    /// The numbers don't differ, so that a spread in the denominator is zero.
    NoSpread,
    /// A denominator other than a spread is zero (percent of 0, a gain over no change).
    ZeroDenominator,
    /// Both series must have the same length.
    UnequalLengths,
    /// An input is infinite or not a number.
    NotFinite,
    /// A result exceeds the range of a double.
    Overflow,
    /// An argument lies outside the range for which the statistic is defined.
    OutOfRange,
    /// All numbers are of one category, so that agreement by chance is certain.
    OneCategory,
    /// Groups to be compared have nothing in common by which to compare them.
    NotLinked,
    /// An iterative fit did not settle.
    NotConverged,
}

impl fmt::Display for Undefined {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooFew { needed, given } => {
                let plural = if *needed == 1 { "" } else { "s" };
                write!(f, "needs at least {needed} number{plural}, has {given}")
            }
            Self::NoSpread => f.write_str("the scores don't differ"),
            Self::ZeroDenominator => f.write_str("would divide by zero"),
            Self::UnequalLengths => f.write_str("the two series differ in length"),
            Self::NotFinite => f.write_str("a value is not a finite number"),
            Self::Overflow => f.write_str("the numbers are too large to compute with"),
            Self::OutOfRange => {
                f.write_str("a value is outside the range for which this is defined")
            }
            Self::OneCategory => f.write_str("all ratings are of one category"),
            Self::NotLinked => f.write_str("nothing links the groups to be compared"),
            Self::NotConverged => f.write_str("the fit did not settle"),
        }
    }
}

impl std::error::Error for Undefined {}
