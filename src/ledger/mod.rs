//! The append-only record of every decision: who, when, what, old, new, why, from which file. All state of marking is computed from it.

pub mod entry;
pub mod file;
pub mod state;

pub use entry::{Entry, Role, Subject};
pub use file::{Ledger, LedgerError};
pub use state::{Conflict, Held, Key, PairState, Slot, State};
