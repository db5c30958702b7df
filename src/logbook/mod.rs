//! One hand-in, from files to a typed logbook: files → grids of cells → tables → logbook.

pub mod grid;
pub mod model;
pub mod problem;

pub use model::Logbook;
pub mod open;
