//! Workbooks for people: the sheets, how they look, and the keys by which they are recognised when they come back.

pub mod blank_logbook;
pub mod links;
pub mod marker;
pub mod moderation;
pub mod moderation_report;
pub mod record_of_moderation;
pub mod sheet;
pub mod style;
pub mod written;

pub use written::new_workbook;
