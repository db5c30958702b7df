//! Ranks with ties shared: equal values each get the mean of the ranks that they cover.

/// Twice the mid-rank of every value, a whole number; ranks begin with 1.
#[must_use]
pub fn doubled_mid_ranks(values: &[f64]) -> Vec<i64> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    // Adding zero turns −0 into 0, which ties with it.
    let value = |index: &usize| values.get(*index).copied().unwrap_or_default() + 0.0;
    order.sort_by(|a, b| value(a).total_cmp(&value(b)));
    let mut ranks = vec![0; values.len()];
    let mut before = 0_i64;
    for tied in order.chunk_by(|a, b| value(a).total_cmp(&value(b)).is_eq()) {
        let count = i64::try_from(tied.len()).unwrap_or(i64::MAX);
        for &index in tied {
            if let Some(rank) = ranks.get_mut(index) {
                *rank = 2 * before + count + 1;
            }
        }
        before += count;
    }
    ranks
}

/// The mid-rank of every value.
#[must_use]
pub fn mid_ranks(values: &[f64]) -> Vec<f64> {
    doubled_mid_ranks(values)
        .into_iter()
        .map(|rank| 0.5 * rank as f64)
        .collect()
}

/// Σ (t³ − t) over the groups of t tied values: what ties take from the spread of ranks.
#[must_use]
pub fn tie_term(values: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = values.iter().map(|value| value + 0.0).collect();
    sorted.sort_by(f64::total_cmp);
    sorted
        .chunk_by(|a, b| a.total_cmp(b).is_eq())
        .map(|tied| {
            let t = tied.len() as f64;
            t * t * t - t
        })
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::finite_series;
    use proptest::prelude::*;

    #[test]
    fn ties_share_their_ranks() {
        assert_eq!(mid_ranks(&[3.0, 1.0, 3.0, 2.0]), [3.5, 1.0, 3.5, 2.0]);
        assert_eq!(mid_ranks(&[0.0, -0.0]), [1.5, 1.5]);
        assert_eq!(doubled_mid_ranks(&[]), Vec::<i64>::new());
        assert_eq!(tie_term(&[1.0, 1.0, 1.0, 2.0, 2.0]), 30.0);
    }

    proptest! {
        #[test]
        fn ranks_sum_to_that_of_whole_ranks(values in finite_series(0, 20)) {
            let n = values.len() as f64;
            prop_assert_eq!(mid_ranks(&values).iter().sum::<f64>(), n * (n + 1.0) / 2.0);
        }
    }
}
