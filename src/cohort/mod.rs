//! A cohort: its settings, its roster, and which hand-in is whose.

pub mod marking_settings;
pub mod roster;

pub use roster::Roster;
