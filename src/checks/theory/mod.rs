//! Do the data bear out the theory named? The ladder is climbed in [`crate::judgement`]; here its rungs become findings.

pub mod contradicted;
mod named;
pub mod not_named;
pub mod not_testable;
pub mod unknown;
pub mod weak;
