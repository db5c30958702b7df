//! Where a series changes level, if it does once: Pettitt's rank test and the least-squares break.

use super::Undefined;
use super::requirements::{all_finite, at_least, finite_result};
use super::trend::sign;

/// Pettitt's test of one change of level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pettitt {
    /// K = max |Uₜ|: the largest lead of one side of a break over the other, in pairs.
    pub k: u64,
    /// How many values come before the change (the first such break where several tie).
    pub before: usize,
    /// Approximate two-sided p, 2·exp(−6K²/(n³ + n²)), at most 1. Rough below some ten values.
    pub p: f64,
}

/// Pettitt's change-point test of a series in order of time.
///
/// Uₜ = Σ sign(xᵢ − xⱼ) over i ≤ t < j. Source: Pettitt 1979, Applied Statistics 28:126–135.
///
/// # Errors
/// [`Undefined::TooFew`] below three values, [`Undefined::NoSpread`] where all are equal, [`Undefined::NotFinite`].
pub fn pettitt(series: &[f64]) -> Result<Pettitt, Undefined> {
    let n = series.len();
    at_least(3, n)?;
    all_finite(series)?;
    let mut u = 0_i64;
    let mut k = 0_u64;
    let mut before = 0;
    for (t, moving) in series.iter().enumerate().take(n - 1) {
        // Moving one value across the break changes U by its signs against all others.
        u += series
            .iter()
            .map(|other| sign(*other, *moving))
            .sum::<i64>();
        if u.unsigned_abs() > k {
            k = u.unsigned_abs();
            before = t + 1;
        }
    }
    if k == 0 && series.iter().all(|x| Some(x) == series.first()) {
        return Err(Undefined::NoSpread);
    }
    let size = n as f64;
    let exponent = -6.0 * (k as f64).powi(2) / (size.powi(3) + size.powi(2));
    Ok(Pettitt {
        k,
        before: before.max(1),
        p: (2.0 * exponent.exp()).min(1.0),
    })
}

/// The break into two levels that leaves the least squared error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelBreak {
    /// How many values come before the break (the first such break where several tie).
    pub before: usize,
    /// Mean of the values before.
    pub mean_before: f64,
    /// Mean of the values after.
    pub mean_after: f64,
    /// Sum of squared errors about the two means.
    pub squared_error: f64,
    /// Sum of squared errors about one mean for all.
    pub squared_error_without: f64,
}

/// The least-squares break of a series in order of time into two levels, at least one value on each side.
///
/// Source: common practice (Bai 1994, Journal of Time Series Analysis 15:453–472). The break is the largest of n − 1: an F of it is not
/// distributed as F.
///
/// # Errors
/// [`Undefined::TooFew`] below three values, [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn level_break(series: &[f64]) -> Result<LevelBreak, Undefined> {
    let n = series.len();
    at_least(3, n)?;
    all_finite(series)?;
    // About the mean, so that large levels don't swallow small differences.
    let mean = series.iter().map(|x| x / n as f64).sum::<f64>();
    let deviations: Vec<f64> = series.iter().map(|x| x - mean).collect();
    let squared_error_of =
        |part: &[f64], mean: f64| part.iter().map(|d| (d - mean).powi(2)).sum::<f64>();
    let mean_of = |part: &[f64]| part.iter().map(|d| d / part.len() as f64).sum::<f64>();
    let total: f64 = deviations.iter().sum();
    let mut best: Option<(f64, usize)> = None;
    let mut sum_before = 0.0;
    for (before, deviation) in (1..n).zip(&deviations) {
        sum_before += deviation;
        let (early, late) = (before as f64, (n - before) as f64);
        let separation = sum_before / early - (total - sum_before) / late;
        let explained = early * late / n as f64 * separation * separation;
        if best.is_none_or(|(most, _)| explained > most) {
            best = Some((explained, before));
        }
    }
    let before = best.map_or(1, |(_, before)| before);
    let (early, late) = deviations.split_at(before);
    let (early_mean, late_mean) = (mean_of(early), mean_of(late));
    Ok(LevelBreak {
        before,
        mean_before: finite_result(mean + early_mean)?,
        mean_after: finite_result(mean + late_mean)?,
        squared_error: finite_result(
            squared_error_of(early, early_mean) + squared_error_of(late, late_mean),
        )?,
        squared_error_without: finite_result(squared_error_of(&deviations, mean_of(&deviations)))?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::NILE;
    use crate::stats::testing::{assert_relative, finite_series};
    use proptest::prelude::*;

    /// Pettitt 1979, table 1, as in the documentation of the R packages: K = 232, p = 0.0146, the change after the 17th.
    #[test]
    fn pettitts_own_series() {
        let series = [
            -1.05, 0.96, 1.22, 0.58, -0.98, -0.03, -1.54, -0.71, -0.35, 0.66, 0.44, 0.91, -0.02,
            -1.42, 1.26, -1.02, -0.81, 1.66, 1.05, 0.97, 2.14, 1.22, -0.24, 1.6, 0.72, -0.12, 0.44,
            0.03, 0.66, 0.56, 1.37, 1.66, 0.1, 0.8, 1.29, 0.49, -0.07, 1.18, 3.29, 1.84,
        ];
        let test = pettitt(&series).unwrap();
        assert_eq!((test.k, test.before), (232, 17));
        assert_relative(test.p, 0.014_555_597_539_789_477, 1e-12);
    }

    /// Flow of the Nile 1871–1970 (Cobb 1978, Biometrika 65:243–251: the break after 1898), statsmodels datasets.nile.
    #[test]
    fn the_nile_falls_after_1898() {
        let test = pettitt(&NILE).unwrap();
        assert_eq!((test.k, test.before), (1617, 28));
        assert_relative(test.p, 3.591_022_176_936_292_7e-7, 1e-11);
        let found = level_break(&NILE).unwrap();
        assert_eq!(found.before, 28);
        assert_relative(found.mean_before, 1097.75, 1e-13);
        assert_relative(found.mean_after, 849.972_222_222_222_2, 1e-13);
        assert_relative(found.squared_error, 1_597_457.194_444_444_5, 1e-12);
        assert_relative(found.squared_error_without, 2_835_156.75, 1e-13);
    }

    #[test]
    fn undefined_without_values_or_spread() {
        assert_eq!(
            pettitt(&[1.0, 2.0]),
            Err(Undefined::TooFew {
                needed: 3,
                given: 2
            })
        );
        assert_eq!(pettitt(&[4.0; 6]), Err(Undefined::NoSpread));
        assert_eq!(
            level_break(&[1e308, -1e308, 1e308]),
            Err(Undefined::Overflow)
        );
    }

    proptest! {
        #[test]
        fn a_break_never_leaves_more_error_than_none(series in finite_series(3, 30)) {
            let Ok(found) = level_break(&series) else { return Ok(()) };
            prop_assert!(found.squared_error <= found.squared_error_without * (1.0 + 1e-9));
            prop_assert!(found.before >= 1 && found.before < series.len());
        }

        #[test]
        fn reversal_keeps_the_rank_test(series in finite_series(3, 30)) {
            let Ok(forward) = pettitt(&series) else { return Ok(()) };
            let backward = pettitt(&series.iter().rev().copied().collect::<Vec<_>>()).unwrap();
            prop_assert_eq!(forward.k, backward.k);
            prop_assert!((0.0..=1.0).contains(&forward.p));
        }
    }
}
