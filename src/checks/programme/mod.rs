//! Was it a programme?

pub mod feedback_not_recorded;
pub mod few_sessions;
pub mod long_gap;
pub mod no_practice_record;
mod practice;
mod recorded_share;
pub mod safety_not_recorded;
pub mod schedule_not_recorded;
pub mod too_short;
