//! Can the logbook be read as it was meant?

pub mod ambiguous_column;
pub mod ambiguous_value;
pub mod date_order;
mod dated;
pub mod duplicate_submission;
pub mod duplicate_trial;
pub mod formula_error;
pub mod formula_range;
pub mod hidden_data;
pub mod missing_submission;
pub mod missing_table;
pub mod missing_trial;
pub mod not_a_number;
pub mod off_step;
pub mod out_of_scale;
mod problems;
pub mod unmatched_submission;
pub mod unreadable_date;
pub mod unreadable_file;
pub mod unrecognised_column;
