//! What only the whole cohort shows. Everything here asks for a look, and says how often chance would give as much.

mod alike;
mod likeness;
pub mod near_copy;
mod pool;
pub mod shared_trials;
mod suffixes;
#[cfg(test)]
mod testing;
pub mod too_regular;
pub mod trace;
pub mod unusual_gain;

pub use trace::PairTrace;

pub(super) use likeness::Likeness;
