//! Does the design show learning?

pub mod ceiling;
pub mod conditions_changed;
pub mod feedback_in_test;
pub mod few_trials;
pub mod floor;
mod level;
mod missing_test;
pub mod no_outcome_record;
pub mod no_post_test;
pub mod no_pre_test;
pub mod no_retention_test;
pub mod no_technique_record;
pub mod no_transfer_test;
pub mod one_rater;
pub mod raters_disagree;
pub mod retention_too_soon;
pub mod transfer_not_novel;
mod two_raters;
pub mod unequal_trials;
