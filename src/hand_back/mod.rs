//! Handing back: final marks, feedback, and what changed since they were handed back the last time.

pub mod asking;
mod by_check;
mod candidate;
pub mod changes;
pub mod cohort_feedback;
mod criteria;
pub mod feedback;
pub mod final_mark;
pub mod forget;
mod lines;
pub mod marks_file;
mod numbers;
pub mod one_roster;
pub mod questions;
pub mod record;
mod report_mark;
mod told;

pub use changes::HandedBack;
pub use final_mark::{FinalMark, Finishing};
