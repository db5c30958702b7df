//! What the trials give: the record that counts, its blocks, and the named facts that rubrics use.

pub mod catalogue;
pub mod record;
pub mod value;

mod about;
mod change;
mod curve;
mod estimate;
mod gain;
mod later;
mod practice;
mod programme;
mod raters;
mod technique;
mod test_block;
mod testing;

pub use record::Record;
pub use value::{FactKind, FactValue, Facts};
