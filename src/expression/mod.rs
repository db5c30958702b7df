//! Conditions and sentences over facts: what rubrics, stages and theories are written in.
//!
//! A condition is an expression of the Common Expression Language. It is read once, when its file is read: names, types and grammar
//! are settled then, each fault at its place, so that a misspelt fact can't hide. Evaluating it gives true, false, or undecided because
//! a fact is absent. This is the only module that knows the `cel` crate.

mod catalogue;
mod condition;
mod lower;
mod mistakes;
mod number_range;
mod reading;
mod sentence;
mod source;
mod types;
mod words;

pub use catalogue::Catalogue;
pub use condition::{Condition, Outcome};
pub use lower::ExpressionFault;
pub use reading::{condition, needed_condition, needed_sentence, sentence};
pub use sentence::Sentence;
pub use source::{FactSource, WithThresholds};

#[cfg(test)]
pub(crate) mod fixture;
