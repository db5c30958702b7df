//! One hand-in, from files to a typed logbook: files → grids of cells → tables → logbook.

pub mod grid;
pub mod model;
pub mod open;
pub mod problem;
pub mod submissions;

pub use model::Logbook;
