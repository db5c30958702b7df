//! The statistics of learning: pure functions of numbers, without any notion of logbooks, files or settings.

pub mod undefined;

pub use undefined::Undefined;
