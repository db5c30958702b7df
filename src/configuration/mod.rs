//! TOML files that a course edits: read by hand rather than into types, so that every fault of a file is found in one reading and each
//! stands at its line and column.

mod fault;
mod proof;
mod reading;
mod spelling;
mod table;
mod text;

pub use fault::{Fault, Faults};
pub use proof::{WIDTH, wrapped};
pub use reading::Reading;
pub use spelling::nearest;
pub use table::{Located, Table, Value};
pub use text::source_offset;
