//! How far people who rated the same things agree, beyond chance.
//!
//! Two raters: [`percent`], [`cohen`]. Any number of raters, ratings missing: [`fleiss`], [`gwet`], [`krippendorff`].
//! Ratings on an interval scale are also served by [`icc`](super::icc), [`limits_of_agreement`](super::limits_of_agreement) and
//! [`concordance`](super::concordance).

pub mod cohen;
pub mod fleiss;
pub mod gwet;
pub mod krippendorff;
pub mod percent;
mod rating_counts;
