//! The append-only record of every decision: who, when, what, old, new, why, from which file. All state of marking is computed from it.

pub mod decisions;
pub mod entry;
pub mod file;
pub mod first_marker;
pub mod one_mark;
pub mod state;

pub use decisions::{
    DECISIONS, Decision, DecisionTally, decision_on, decision_tallies, held_for, markers_differ,
    markers_differed, ruled_for_all,
};
pub use entry::{Entry, Role, Subject};
pub use file::{Ledger, LedgerError};
pub use first_marker::first_marker;
pub use one_mark::{OneMark, Open, SettledMark, StandsBy, one_mark, shown_value};
pub use state::{Conflict, Held, Key, PairState, Slot, State};
