//! The statistics of learning: pure functions of numbers, without any notion of logbooks, files or settings.

pub mod agreement;
pub mod change_point;
pub mod interval;
pub mod isotonic;
pub mod nonlinear;
mod normal;
#[cfg(test)]
mod published;
mod requirements;
pub mod robust;
mod student;
#[cfg(test)]
mod testing;
pub mod trend;
pub mod undefined;
pub mod whole_number;

pub use interval::Interval;
pub use undefined::Undefined;
