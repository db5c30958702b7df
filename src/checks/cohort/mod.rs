//! What only the whole cohort shows. Everything here asks for a look, and says how often chance would give as much.

mod alike;
#[cfg(test)]
mod calibration;
mod level;
mod likeness;
pub mod near_copy;
mod pool;
mod reordered;
mod search;
pub mod shared_trials;
mod suffixes;
#[cfg(test)]
mod testing;
pub mod too_regular;
pub mod trace;
pub mod unusual_gain;
mod windows;

pub use trace::PairTrace;

pub(super) use likeness::Likeness;
