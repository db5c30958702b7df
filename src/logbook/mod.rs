//! One hand-in, from files to a typed logbook: files → grids of cells → tables → logbook.

mod about;
mod aliases;
mod cells;
mod claims;
mod columns;
mod dates;
mod formulas;
pub mod grid;
mod headers;
mod labels;
mod measures;
pub mod model;
mod numbers;
pub mod open;
pub mod problem;
mod read;
#[cfg(test)]
mod reading_properties;
#[cfg(test)]
mod reading_tests;
mod regions;
mod score_cell;
mod sessions;
pub mod settings;
mod spelling;
mod stated;
pub mod submissions;
mod summaries;
mod tally;
mod technique;
#[cfg(test)]
mod test_grid;
mod trials;
pub mod typed;

#[cfg(test)]
pub(crate) use aliases::Field;
pub use model::Logbook;
pub use read::read;
