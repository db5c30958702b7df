//! Monotone fit: the series that never turns and lies closest to the one given.
//!
//! Source: pool-adjacent-violators, Ayer et al. 1955, Annals of Mathematical Statistics 26:641–647; Barlow et al. 1972, Statistical
//! Inference under Order Restrictions.

use super::Undefined;
use super::requirements::{all_finite, at_least, same_length};

/// Which way a monotone fit may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Monotone {
    /// Never falling.
    Rising,
    /// Never rising.
    Falling,
}

/// The monotone series with the least weighted squared error about `values`, in order.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] without values, [`Undefined::NotFinite`], [`Undefined::OutOfRange`] where a weight is
/// not above 0.
pub fn monotone_fit(
    values: &[f64],
    weights: &[f64],
    monotone: Monotone,
) -> Result<Vec<f64>, Undefined> {
    same_length(values.len(), weights.len())?;
    at_least(1, values.len())?;
    all_finite(values)?;
    all_finite(weights)?;
    if weights.iter().any(|&weight| weight <= 0.0) {
        return Err(Undefined::OutOfRange);
    }
    let mut pools: Vec<Pool> = Vec::with_capacity(values.len());
    for (&value, &weight) in values.iter().zip(weights) {
        let mut pool = Pool {
            mean: value,
            weight,
            values: 1,
        };
        // A pool that turns back is merged with the one before, again and again until none does.
        while let Some(before) = pools.pop_if(|before| match monotone {
            Monotone::Rising => before.mean > pool.mean,
            Monotone::Falling => before.mean < pool.mean,
        }) {
            pool = before.merged(pool);
        }
        pools.push(pool);
    }
    Ok(pools
        .iter()
        .flat_map(|pool| std::iter::repeat_n(pool.mean, pool.values))
        .collect())
}

/// Neighbouring values that share one fitted value.
#[derive(Clone, Copy)]
struct Pool {
    mean: f64,
    weight: f64,
    values: usize,
}

impl Pool {
    fn merged(self, other: Self) -> Self {
        let weight = self.weight + other.weight;
        Self {
            mean: self.mean * (self.weight / weight) + other.mean * (other.weight / weight),
            weight,
            values: self.values + other.values,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, finite_series};
    use proptest::prelude::*;

    /// SciPy 1.17.1: `scipy.optimize.isotonic_regression(y, weights=w, increasing=…)`.
    #[test]
    fn agrees_with_scipy() {
        let values = [1.0, 3.0, 2.0, 4.0, 3.5, 3.0, 6.0, 5.0];
        let weights = [10.0, 10.0, 5.0, 8.0, 10.0, 10.0, 1.0, 9.0];
        let rising = monotone_fit(&values, &weights, Monotone::Rising).unwrap();
        for (found, expected) in rising.iter().zip([
            1.0,
            2.666_666_666_666_666_5,
            2.666_666_666_666_666_5,
            3.464_285_714_285_714_4,
            3.464_285_714_285_714_4,
            3.464_285_714_285_714_4,
            5.1,
            5.1,
        ]) {
            assert_close(*found, expected, 1e-13);
        }
        let falling = monotone_fit(&values, &weights, Monotone::Falling).unwrap();
        for (found, expected) in falling.iter().zip([
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
            3.142_857_142_857_143,
        ]) {
            assert_close(*found, expected, 1e-13);
        }
    }

    #[test]
    fn undefined_without_values_or_weight() {
        assert!(monotone_fit(&[], &[], Monotone::Rising).is_err());
        assert_eq!(
            monotone_fit(&[1.0], &[0.0], Monotone::Rising),
            Err(Undefined::OutOfRange)
        );
        assert_eq!(
            monotone_fit(&[1.0], &[], Monotone::Rising),
            Err(Undefined::UnequalLengths)
        );
    }

    proptest! {
        #[test]
        fn monotone_keeps_the_mean_and_mirrors(values in finite_series(1, 30)) {
            let weights: Vec<f64> = (0..values.len()).map(|i| 1.0 + (i % 4) as f64).collect();
            let fit = monotone_fit(&values, &weights, Monotone::Rising).unwrap();
            prop_assert!(fit.windows(2).all(|pair| pair[0] <= pair[1]));
            let weighted = |series: &[f64]| series.iter().zip(&weights).map(|(v, w)| v * w).sum::<f64>();
            assert_close(weighted(&fit), weighted(&values), 1e-8);
            let negated: Vec<f64> = values.iter().map(|v| -v).collect();
            let falling = monotone_fit(&negated, &weights, Monotone::Falling).unwrap();
            prop_assert!(fit.iter().zip(&falling).all(|(up, down)| (up + down).abs() < 1e-12));
            // A series that is already monotone is its own fit.
            prop_assert_eq!(monotone_fit(&fit, &weights, Monotone::Rising).unwrap(), fit);
        }
    }
}
