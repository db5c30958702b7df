//! What markers entered.

pub mod entered;
pub mod far_from_evidence;
pub mod follow_gain;
pub mod marker_differs;
pub mod missing;
pub mod near_boundary;
pub mod out_of_range;
#[cfg(test)]
mod sample;
pub mod second_differs;

pub use entered::{
    Boundary, CriterionMarks, Figure, MarkEntry, MarkerFigures, MarksSeen, PairMarks, Role,
};
