//! What the trials give: the record that counts, its blocks, and the named facts that rubrics use.

pub mod blocks;
pub mod calendar;
pub mod catalogue;
pub mod conditions;
pub mod coverage;
pub mod record;
pub mod value;

mod about;
mod block_summary;
mod change;
mod computation;
mod curve;
mod curve_changes;
mod estimate;
mod gain;
mod in_words;
mod later;
mod name_set;
mod practice;
mod programme;
mod raters;
mod settings;
mod short_names;
mod subject;
mod technique;
mod test_block;
mod testing;
mod two_ratings;
mod writer;

#[cfg(test)]
pub(crate) mod sample;

pub use blocks::{BlockRow, block_rows};
pub use computation::compute;
pub use coverage::Coverage;
pub use in_words::{in_words, together};
pub use name_set::NameSet;
pub use record::Record;
pub use settings::FactSettings;
pub use value::{FactKind, FactValue, Facts, UNREAD};
