//! Sharing out and taking back: what people enter in the workbooks comes onto the ledger, and what the ledger's lines come to for each pair.
//!
//! Taking back goes workbook → sheets (recognised by their keys) → cells (each of a pair, finding or check, never of a position) → what
//! changed since the workbook was written → ledger lines. What can't be understood is refused with its cell, and nothing else is lost by it.

pub mod book;
pub mod collect;
pub mod refusal;
mod resolve;
pub mod settle;
pub mod share;
mod sheets;
mod target;
pub mod typed_claims;
mod values;

pub use book::{Book, BookError};
pub use collect::{By, Collected, Collecting, Identities, collect};
pub use refusal::Refusal;
pub use sheets::Layout;
pub use target::Target;
