//! What the trials give: the record that counts, its blocks, and the named facts that rubrics use.

pub mod record;

pub use record::Record;
