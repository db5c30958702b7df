//! Comparing markers: agreement on pairs marked twice, how each marker differs, what this sample could have seen, and what to settle.
//!
//! Pure: what the ledger and the evidence say goes in, figures and proposals come out. Nothing here changes a mark; a proposal takes force
//! only where the moderator accepts it.

pub mod again;
pub mod agreement;
pub mod compare;
pub mod entered;
pub mod gather;
pub mod markers;
pub mod proposals;
pub mod record;
pub mod report;
pub mod sight;
pub mod since;

pub use again::{PairAgain, RunAgain};
pub use agreement::{Agreement, agreement};
pub use compare::{Compared, Comparing};
pub use gather::{Gathered, MarkedPair, MarkedTwice, Marking, Scale, gather};
pub use markers::{MarkerReport, MarkerSeverity, Severity, marker_reports, severities};
pub use proposals::{Proposal, proposals};
pub use sight::{Sight, sight};

/// Fewer pairs than this, and coefficients of agreement say more about chance than about markers.
pub const FEW: usize = 5;
