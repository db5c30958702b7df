//! Procedures that `stats` is about to offer; until then their claims can't be recomputed.

use crate::stats::Undefined;

pub struct RankTest {
    pub p: f64,
    pub positive_ranks: f64,
}

pub fn rank_test(_: &[f64]) -> Result<RankTest, Undefined> {
    Err(Undefined::NotConverged)
}

pub fn intraclass(_: &[Vec<f64>]) -> Result<f64, Undefined> {
    Err(Undefined::NotConverged)
}

/// Hedges 1981.
pub fn small_sample_factor(df: f64) -> f64 {
    (libm::lgamma(df / 2.0) - libm::lgamma((df - 1.0) / 2.0)).exp() / (df / 2.0).sqrt()
}
