//! From hand-ins to results: one pair the whole way, then the cohort.

pub mod cohort;
pub mod course;
pub mod kept;
pub mod outline;
pub mod packed;
pub mod pair;
pub mod result;

pub use cohort::{HandedIn, examine_cohort};
pub use course::{Course, CourseFiles};
pub use kept::Kept;
pub use outline::Outline;
pub use packed::{CohortPair, Packed, Packer};
pub use result::{CohortResult, ExaminedClaim, HandIn, NotRead, PairResult};
