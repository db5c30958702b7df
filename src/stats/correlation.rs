//! Correlation of two series: Pearson's, Spearman's of ranks, and partial correlation with others held constant.
//!
//! Source: Fisher 1921, Metron 1:3–32 (z-transformation); Fisher 1924, Metron 3:329–332 (partial); Bonett & Wright 2000, Psychometrika
//! 65:23–28 (interval of a rank correlation).

use super::distribution::{NORMAL_DEVIATE_95, t_two_sided};
use super::requirements::{all_finite, at_least, finite_result, same_length};
use super::{Interval, Undefined};

/// A correlation, −1 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correlation {
    /// How many pairs.
    pub n: usize,
    /// The correlation.
    pub r: f64,
    /// Two-sided p of r = 0 by Student's t (approximate for ranks); absent without degrees of freedom left.
    pub p: Option<f64>,
    /// 95 % interval by Fisher's z-transformation; absent where |r| is 1 or pairs are too few for a standard error.
    pub interval: Option<Interval>,
}

/// Pearson's product-moment correlation.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] below two pairs, [`Undefined::NoSpread`] where either series is constant,
/// [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn pearson(x: &[f64], y: &[f64]) -> Result<Correlation, Undefined> {
    let r = product_moment(x, y)?;
    Ok(described(x.len(), r, 0, |_| 1.0))
}

/// Spearman's rank correlation: Pearson's of the ranks, equal values sharing their mean rank.
///
/// # Errors
/// As [`pearson`].
pub fn spearman(x: &[f64], y: &[f64]) -> Result<Correlation, Undefined> {
    same_length(x.len(), y.len())?;
    all_finite(x)?;
    all_finite(y)?;
    let r = product_moment(&mean_ranks(x), &mean_ranks(y))?;
    Ok(described(x.len(), r, 0, |r| 1.0 + r * r / 2.0))
}

/// The correlation of `x` and `y` with every series of `held` held constant: of what is left after least squares on those.
///
/// # Errors
/// As [`pearson`], of what is left; [`Undefined::NoSpread`] also where `held` explains either series wholly.
pub fn partial(x: &[f64], y: &[f64], held: &[&[f64]]) -> Result<Correlation, Undefined> {
    same_length(x.len(), y.len())?;
    at_least(held.len() + 3, x.len())?;
    let mut basis: Vec<Vec<f64>> = Vec::with_capacity(held.len());
    for series in held {
        same_length(x.len(), series.len())?;
        all_finite(series)?;
        // A series that the others already explain holds nothing further constant.
        if let Some(direction) = left_over(series, &basis) {
            let length = norm(&direction);
            basis.push(direction.iter().map(|d| d / length).collect());
        }
    }
    all_finite(x)?;
    all_finite(y)?;
    let x_left = left_over(x, &basis).ok_or(Undefined::NoSpread)?;
    let y_left = left_over(y, &basis).ok_or(Undefined::NoSpread)?;
    let r = finite_result(dot(&x_left, &y_left) / (norm(&x_left) * norm(&y_left)))?;
    Ok(described(x.len(), r.clamp(-1.0, 1.0), basis.len(), |_| 1.0))
}

/// `series` about its mean without what the orthonormal `basis` explains; `None` where nothing is left.
fn left_over(series: &[f64], basis: &[Vec<f64>]) -> Option<Vec<f64>> {
    let mean = series.iter().map(|x| x / series.len() as f64).sum::<f64>();
    let mut left: Vec<f64> = series.iter().map(|x| x - mean).collect();
    let before = norm(&left).max(norm(series) * f64::EPSILON * 8.0);
    // Twice, as rounding leaves a little the first time.
    for _ in 0..2 {
        for direction in basis {
            let along = dot(&left, direction);
            for (l, d) in left.iter_mut().zip(direction) {
                *l -= along * d;
            }
        }
    }
    let remaining = norm(&left);
    (remaining.is_finite() && remaining > before * 1e-10).then_some(left)
}

fn dot(x: &[f64], y: &[f64]) -> f64 {
    x.iter().zip(y).map(|(a, b)| a * b).sum()
}

fn norm(x: &[f64]) -> f64 {
    dot(x, x).sqrt()
}

fn product_moment(x: &[f64], y: &[f64]) -> Result<f64, Undefined> {
    same_length(x.len(), y.len())?;
    at_least(2, x.len())?;
    all_finite(x)?;
    all_finite(y)?;
    let constant = |series: &[f64]| series.iter().all(|value| Some(value) == series.first());
    if constant(x) || constant(y) {
        return Err(Undefined::NoSpread);
    }
    let deviations = |series: &[f64]| -> Vec<f64> {
        let mean = series
            .iter()
            .map(|value| value / series.len() as f64)
            .sum::<f64>();
        let rough: Vec<f64> = series.iter().map(|value| value - mean).collect();
        // What rounding put into the mean is in every deviation alike: take it out again.
        let shift = rough.iter().sum::<f64>() / rough.len() as f64;
        rough.iter().map(|d| d - shift).collect()
    };
    let (dx, dy) = (deviations(x), deviations(y));
    let r = finite_result(dot(&dx, &dy) / (norm(&dx) * norm(&dy)))?;
    Ok(r.clamp(-1.0, 1.0))
}

/// Ranks from 1, equal values sharing their mean rank.
fn mean_ranks(series: &[f64]) -> Vec<f64> {
    let mut order: Vec<(usize, f64)> = series.iter().copied().enumerate().collect();
    order.sort_by(|a, b| a.1.total_cmp(&b.1));
    let mut ranks = vec![0.0; series.len()];
    let mut before = 0;
    for group in order.chunk_by(|a, b| a.1 >= b.1) {
        let rank = before as f64 + f64::midpoint(group.len() as f64, 1.0);
        for (place, _) in group {
            if let Some(slot) = ranks.get_mut(*place) {
                *slot = rank;
            }
        }
        before += group.len();
    }
    ranks
}

/// p and interval of a correlation with `held` series held constant; `inflation` multiplies the variance of z.
fn described(n: usize, r: f64, held: usize, inflation: impl Fn(f64) -> f64) -> Correlation {
    let degrees_of_freedom = n as f64 - held as f64 - 2.0;
    let unexplained = 1.0 - r * r;
    let p = if degrees_of_freedom < 1.0 {
        None
    } else if unexplained <= 0.0 {
        Some(0.0)
    } else {
        t_two_sided(
            r * (degrees_of_freedom / unexplained).sqrt(),
            degrees_of_freedom,
        )
        .ok()
    };
    let interval = (degrees_of_freedom > 1.0 && unexplained > 0.0).then(|| {
        let z_error = (inflation(r) / (degrees_of_freedom - 1.0)).sqrt();
        Interval::around(r.atanh(), NORMAL_DEVIATE_95 * z_error).map(f64::tanh)
    });
    Correlation { n, r, p, interval }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{PEAK_FLOW_MINI, PEAK_FLOW_WRIGHT};
    use crate::stats::testing::{assert_close, assert_relative, finite_series};
    use proptest::prelude::*;

    const LSAT: [f64; 15] = [
        576.0, 635.0, 558.0, 578.0, 666.0, 580.0, 555.0, 661.0, 651.0, 605.0, 653.0, 575.0, 545.0,
        572.0, 594.0,
    ];
    const GPA: [f64; 15] = [
        3.39, 3.3, 2.81, 3.03, 3.44, 3.07, 3.0, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96,
    ];

    /// Efron & Tibshirani 1993, law schools (r = .776); SciPy 1.17.1: `pearsonr(...)`, `.confidence_interval()`.
    #[test]
    fn law_schools() {
        let found = pearson(&LSAT, &GPA).unwrap();
        assert_relative(found.r, 0.776_374_491_289, 1e-11);
        let interval = found.interval.unwrap();
        assert_relative(interval.low, 0.438_510_824_963, 1e-10);
        assert_relative(interval.high, 0.921_964_755_965, 1e-10);
        assert_relative(found.p.unwrap(), 0.000_665_102_011_102_811_4, 1e-9);
    }

    /// SciPy 1.17.1: `spearmanr`.
    #[test]
    fn law_schools_by_rank() {
        let found = spearman(&LSAT, &GPA).unwrap();
        assert_relative(found.r, 0.796_428_571_428_571_3, 1e-12);
        assert_relative(found.p.unwrap(), 0.000_380_467_678_534_633_54, 1e-9);
    }

    /// The first-order formula from the three plain correlations, and NumPy 2.4.6 `lstsq` residuals with SciPy 1.17.1 `t.sf`.
    #[test]
    fn held_constant() {
        let third: Vec<f64> = (0..15).map(|i| f64::from((i * 7) % 15)).collect();
        let found = partial(&LSAT, &GPA, &[&third]).unwrap();
        let (xy, xz, yz) = (
            pearson(&LSAT, &GPA).unwrap().r,
            pearson(&LSAT, &third).unwrap().r,
            pearson(&GPA, &third).unwrap().r,
        );
        assert_relative(
            found.r,
            (xy - xz * yz) / ((1.0 - xz * xz) * (1.0 - yz * yz)).sqrt(),
            1e-12,
        );
        assert_relative(found.r, 0.788_943_898_932_023_2, 1e-9);
        assert_relative(found.p.unwrap(), 0.000_796_006_992_184_180_6, 1e-8);
        // A series held twice is held once.
        assert_eq!(partial(&LSAT, &GPA, &[&third, &third]).unwrap().p, found.p);
        assert_eq!(partial(&LSAT, &GPA, &[&LSAT]), Err(Undefined::NoSpread));
    }

    #[test]
    fn undefined_without_pairs_or_spread() {
        assert_eq!(
            pearson(&[1.0], &[1.0]),
            Err(Undefined::TooFew {
                needed: 2,
                given: 1
            })
        );
        assert_eq!(spearman(&[1.0, 2.0], &[3.0, 3.0]), Err(Undefined::NoSpread));
        let line = pearson(&[1.0, 2.0, 3.0], &[2.0, 4.0, 6.0]).unwrap();
        assert_close(line.r, 1.0, 1e-15);
        assert!(partial(&[1.0, 2.0, 4.0], &[1.0, 0.0, 1.0], &[&[1.0, 2.0, 3.0]]).is_err());
        assert!(pearson(&PEAK_FLOW_MINI, &PEAK_FLOW_WRIGHT).unwrap().r > 0.94);
    }

    proptest! {
        #[test]
        fn swapping_keeps_and_turning_flips(x in finite_series(8, 8), y in finite_series(8, 8)) {
            for correlation in [pearson, spearman] {
                let Ok(found) = correlation(&x, &y) else { continue };
                assert_close(found.r, correlation(&y, &x).unwrap().r, 1e-12);
                let turned: Vec<f64> = x.iter().map(|v| 1.0 - 2.0 * v).collect();
                assert_close(found.r, -correlation(&turned, &y).unwrap().r, 1e-9);
                prop_assert!((0.0..=1.0).contains(&found.p.unwrap()));
                if let Some(interval) = found.interval {
                    prop_assert!(interval.low <= found.r + 1e-12 && found.r <= interval.high + 1e-12);
                }
            }
        }
    }
}
