//! The statistics of learning: pure functions of numbers, without any notion of logbooks, files or settings.
//!
//! Every function takes slices of finite numbers and returns its value, or the reason ([`Undefined`]) why there is none.
//! Where two blocks are compared, the earlier one comes first, and signs are later minus earlier.

#![cfg_attr(
    test,
    allow(clippy::float_cmp, reason = "exact results are tested for being exact")
)]

pub mod agreement;
pub mod arrangements;
pub mod autocorrelation;
pub mod bootstrap;
pub mod change;
pub mod change_point;
pub mod concordance;
pub mod correlation;
pub mod curve_shape;
pub mod decimal_grid;
pub mod direction;
pub mod distribution;
pub mod effect_interval;
pub mod effect_size;
pub mod error_scores;
pub mod gain_interval;
pub mod icc;
pub mod interval;
pub mod isotonic;
pub mod limits_of_agreement;
pub mod mann_whitney;
pub mod moments;
#[cfg(test)]
mod nist_sets;
pub mod noncentral_t;
pub mod nonlinear;
pub mod nonoverlap;
pub mod permutation;
pub mod power;
pub mod procedures;
#[cfg(test)]
pub(crate) mod published;
pub mod random;
pub mod ranks;
pub mod regression;
pub mod reliability;
mod requirements;
pub mod robust;
pub mod runs;
pub mod single_case;
#[cfg(test)]
mod single_case_examples;
pub mod smooth_learner;
pub mod summary;
pub mod t_test;
#[cfg(test)]
mod testing;
pub mod trend;
pub mod undefined;
pub mod variance_components;
pub mod whole_number;
mod whole_steps;
pub mod wilcoxon;

pub use direction::Direction;
pub use interval::Interval;
pub use undefined::Undefined;
