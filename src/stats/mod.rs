//! The statistics of learning: pure functions of numbers, without any notion of logbooks, files or settings.

pub mod interval;
#[allow(dead_code, reason = "the procedures that follow use it")]
mod requirements;
pub mod undefined;

pub use interval::Interval;
pub use undefined::Undefined;
