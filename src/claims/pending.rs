//! Procedures that `stats` is about to offer; until then their claims can't be recomputed.

use crate::stats::Undefined;

pub struct RankTest {
    pub p: f64,
    pub positive_ranks: f64,
}

pub fn rank_test(_: &[f64]) -> Result<RankTest, Undefined> {
    Err(Undefined::NotConverged)
}
