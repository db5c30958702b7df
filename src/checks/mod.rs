//! The checks: each looks at what was read and computed, and says what it found. They are pure: no files, no printing, no marks.

pub mod check;
pub mod finding;
pub mod seen;

pub use check::{Check, Explanation, Placed, Run};
pub use finding::{Finding, Findings, NotChecked, Weight};
pub use seen::{CohortSeen, MarksSeen, Seen};
