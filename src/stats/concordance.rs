//! Lin's concordance correlation: how close pairs of ratings lie to equality, in one figure.
//!
//! Source: Lin 1989, Biometrics 45:255–268, variances divided by n; the standard error as corrected in Biometrics 2000, 56:324.

use super::distribution::NORMAL_DEVIATE_95;
use super::requirements::{all_finite, at_least, finite_result, same_length};
use super::{Interval, Undefined};

/// Lin's concordance correlation, taken apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Concordance {
    /// How many pairs.
    pub n: usize,
    /// 2·covariance/(both variances + squared difference of means), −1 to 1.
    pub value: f64,
    /// Pearson's r: how close the pairs lie to any line.
    pub precision: f64,
    /// How close that line is to equality, value/precision; absent where r is 0.
    pub accuracy: Option<f64>,
    /// 95 % interval by the z-transformation; absent where |value| or |r| is 1, 0, or n is below three.
    pub interval: Option<Interval>,
}

/// Lin's concordance correlation of two raters of the same things.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] below two pairs, [`Undefined::NoSpread`] where either rater gave one rating throughout,
/// [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn concordance(first: &[f64], second: &[f64]) -> Result<Concordance, Undefined> {
    same_length(first.len(), second.len())?;
    at_least(2, first.len())?;
    all_finite(first)?;
    all_finite(second)?;
    let n = first.len() as f64;
    let mean = |ratings: &[f64]| ratings.iter().map(|x| x / n).sum::<f64>();
    let (mean_first, mean_second) = (mean(first), mean(second));
    let mut variance_first = 0.0;
    let mut variance_second = 0.0;
    let mut covariance = 0.0;
    for (x, y) in first.iter().zip(second) {
        let (dx, dy) = (x - mean_first, y - mean_second);
        variance_first += dx * dx / n;
        variance_second += dy * dy / n;
        covariance += dx * dy / n;
    }
    let constant = |ratings: &[f64]| ratings.iter().all(|x| Some(x) == ratings.first());
    if constant(first) || constant(second) {
        return Err(Undefined::NoSpread);
    }
    let gap = mean_first - mean_second;
    let product = (variance_first * variance_second).sqrt();
    if product <= 0.0 {
        return Err(Undefined::OutOfRange);
    }
    let value = finite_result(2.0 * covariance / (variance_first + variance_second + gap * gap))?;
    let precision = finite_result(covariance / product)?.clamp(-1.0, 1.0);
    Ok(Concordance {
        n: first.len(),
        value,
        precision,
        accuracy: (precision != 0.0).then(|| value / precision),
        interval: interval(n, value, precision, gap * gap / product),
    })
}

/// Lin's interval; `shift` is the squared difference of means over the product of sds.
fn interval(n: f64, value: f64, r: f64, shift: f64) -> Option<Interval> {
    let (c2, r2) = (value * value, r * r);
    if n < 3.0 || c2 >= 1.0 || r2 >= 1.0 || r2 <= 0.0 {
        return None;
    }
    let variance = ((1.0 - r2) * c2 * (1.0 - c2) / r2
        + 2.0 * value.powi(3) * (1.0 - value) * shift / r
        - 0.5 * c2 * c2 * shift * shift / r2)
        / (n - 2.0);
    let z_error = variance.max(0.0).sqrt() / (1.0 - c2);
    let interval = Interval::around(value.atanh(), NORMAL_DEVIATE_95 * z_error).map(f64::tanh);
    (interval.low.is_finite() && interval.high.is_finite()).then_some(interval)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{PEAK_FLOW_MINI, PEAK_FLOW_WRIGHT};
    use crate::stats::testing::{assert_close, assert_relative, finite_series};
    use proptest::prelude::*;

    /// R 4.2.2 epiR `epi.ccc` on the first readings of Bland & Altman 1986.
    #[test]
    fn peak_flow_meters() {
        let found = concordance(&PEAK_FLOW_WRIGHT, &PEAK_FLOW_MINI).unwrap();
        assert_relative(found.value, 0.942_742_431_427, 1e-11);
        assert_relative(found.precision, 0.943_279_446_890_946, 1e-13);
        assert_relative(found.accuracy.unwrap(), 0.999_430_693_136_343_1, 1e-12);
        let interval = found.interval.unwrap();
        assert_relative(interval.low, 0.850_491_873_169, 1e-10);
        assert_relative(interval.high, 0.978_726_279_18, 1e-10);
    }

    #[test]
    fn equality_is_one_and_opposites_minus_one() {
        assert_close(
            concordance(&[1.0, 2.0, 4.0], &[1.0, 2.0, 4.0])
                .unwrap()
                .value,
            1.0,
            1e-15,
        );
        assert_close(
            concordance(&[1.0, -1.0], &[-1.0, 1.0]).unwrap().value,
            -1.0,
            1e-15,
        );
        assert_eq!(
            concordance(&[1.0, 1.0], &[1.0, 2.0]),
            Err(Undefined::NoSpread)
        );
    }

    proptest! {
        #[test]
        fn never_beyond_pearsons_r(first in finite_series(6, 6), second in finite_series(6, 6)) {
            let Ok(found) = concordance(&first, &second) else { return Ok(()) };
            prop_assert!(found.value.abs() <= found.precision.abs() + 1e-12);
            if let Some(interval) = found.interval {
                prop_assert!(interval.low <= found.value + 1e-12 && found.value <= interval.high + 1e-12);
            }
            let moved = |x: &[f64]| x.iter().map(|x| 3.0 - 2.0 * x).collect::<Vec<_>>();
            let other = concordance(&moved(&second), &moved(&first)).unwrap();
            assert_close(found.value, other.value, 1e-9);
        }
    }
}
