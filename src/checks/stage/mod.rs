//! Does the data bear out the diagnosis? The verdicts are made in [`crate::judgement`]; here they become findings.

mod diagnosis;
pub mod end_not_supported;
pub mod no_evidence;
pub mod not_diagnosed;
mod not_supported;
pub mod start_not_supported;
pub mod unknown;
pub mod went_backwards;
