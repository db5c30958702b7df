//! A cohort: its settings, its roster, and which hand-in is whose.

pub mod folder;
pub mod marking_settings;
pub mod matching;
pub mod roster;
pub mod settings;
pub mod version;

pub use roster::Roster;
pub use settings::Settings;
