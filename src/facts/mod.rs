//! What the trials give: the record that counts, its blocks, and the named facts that rubrics use.

pub mod record;
pub mod value;

pub use record::Record;
pub use value::{FactKind, FactValue, Facts};
