//! What a pair could change first, and what changing it could gain.

use super::by_check::ToldOf;
use crate::checks::Weight;

/// A finding weighs like so many of a hundred marks, where no point of the rubric speaks of the same thing.
const ERROR: f64 = 1.7;
const CONCERN: f64 = 1.25;
const ERROR_IN_A_CELL: f64 = 0.8;
const QUERY: f64 = 0.4;

/// Something that could come first, and what changing it could gain.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// What to say.
    pub text: String,
    /// Marks that went there, or what it weighs like.
    pub lost: f64,
    /// Where it stands on the page otherwise.
    pub of: Of,
}

/// Where a candidate stands on the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Of {
    /// A line of a criterion: both by index.
    Line(usize, usize),
    /// A finding that no criterion speaks of, by index.
    Finding(usize),
    /// A criterion as a whole, or the list of numbers.
    Itself,
}

/// What findings weigh that no point speaks of.
pub fn of_findings(told: &[ToldOf], out_of: f64) -> Vec<Candidate> {
    told.iter()
        .enumerate()
        .map(|(index, one)| Candidate {
            text: one.text.clone(),
            lost: weighs_like(one, out_of),
            of: Of::Finding(index),
        })
        .collect()
}

/// What a wrong number weighs where no point of the rubric speaks of it.
pub fn of_numbers(text: String, out_of: f64) -> Candidate {
    Candidate {
        text,
        lost: ERROR * out_of / 100.0,
        of: Of::Itself,
    }
}

fn weighs_like(told: &ToldOf, out_of: f64) -> f64 {
    let of_a_hundred = match told.weight {
        Weight::Error if told.check.starts_with("data.") => ERROR_IN_A_CELL,
        Weight::Error => ERROR,
        Weight::Concern => CONCERN,
        Weight::Query => QUERY,
    };
    of_a_hundred * out_of / 100.0
}
