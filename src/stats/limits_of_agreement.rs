//! Limits of agreement between two raters or two methods: within which bounds do their differences lie?
//!
//! Source: Bland & Altman 1986, Lancet i:307–310. The paper multiplies the sd by 2 after rounding; 1.96 is the multiple used here.

use super::distribution::{NORMAL_DEVIATE_95, t_quantile};
use super::moments::Moments;
use super::requirements::{at_least, same_length};
use super::{Interval, Undefined};

/// The differences of two raters, first less second, summed up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitsOfAgreement {
    /// How many pairs.
    pub n: usize,
    /// Mean difference, first less second: how much higher the first rates.
    pub mean: f64,
    /// 95 % interval of the mean difference, by Student's t.
    pub mean_interval: Interval,
    /// Standard deviation (n − 1) of the differences.
    pub sd: f64,
    /// Mean ± 1.96 sd: where 95 % of differences lie, were they normal.
    pub limits: Interval,
    /// 95 % interval of the lower limit.
    pub low_interval: Interval,
    /// 95 % interval of the upper limit.
    pub high_interval: Interval,
}

/// Limits of agreement of two raters of the same things.
///
/// The limits' standard error is that of Bland & Altman, √(3/n)·sd; intervals by t with n − 1 degrees of freedom.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] below three pairs, [`Undefined::NotFinite`], [`Undefined::Overflow`]. Differences that are all equal are defined: limits of no width.
pub fn limits_of_agreement(first: &[f64], second: &[f64]) -> Result<LimitsOfAgreement, Undefined> {
    same_length(first.len(), second.len())?;
    let n = first.len();
    at_least(3, n)?;
    let differences: Vec<f64> = first.iter().zip(second).map(|(a, b)| a - b).collect();
    let moments = Moments::of(&differences)?;
    let (mean, sd) = (moments.mean, moments.sd()?);
    let size = n as f64;
    let t = t_quantile(0.975, size - 1.0)?;
    let limits = Interval::around(mean, NORMAL_DEVIATE_95 * sd);
    let limit_error = t * sd * (3.0 / size).sqrt();
    Ok(LimitsOfAgreement {
        n,
        mean,
        mean_interval: Interval::around(mean, t * sd / size.sqrt()),
        sd,
        limits,
        low_interval: Interval::around(limits.low, limit_error),
        high_interval: Interval::around(limits.high, limit_error),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{PEAK_FLOW_MINI, PEAK_FLOW_WRIGHT};
    use crate::stats::testing::{assert_close, assert_relative};

    /// Bland & Altman 1986, table 1, first readings (prints −2.1 and 38.8); SciPy 1.17.1 for t and the digits.
    #[test]
    fn peak_flow_meters() {
        let found = limits_of_agreement(&PEAK_FLOW_WRIGHT, &PEAK_FLOW_MINI).unwrap();
        assert_relative(found.mean, -2.117_647_058_823_529_4, 1e-13);
        assert_relative(found.sd, 38.765_129_873_607_38, 1e-13);
        assert_relative(found.mean_interval.low, -22.048_837_696_645_17, 2e-10);
        assert_relative(found.mean_interval.high, 17.813_543_578_998_11, 2e-10);
        assert_relative(found.limits.low, -78.095_905_467_111_73, 1e-12);
        assert_relative(found.limits.high, 73.860_611_349_464_66, 1e-12);
        // The half-width of the paper's interval about its own limits: t·√3·sd/√17.
        assert_relative(
            found.limits.low - found.low_interval.low,
            2.119_905_299_221_254_6 * 16.284_611_795_031_495,
            1e-10,
        );
        assert_relative(
            found.high_interval.high - found.limits.high,
            2.119_905_299_221_254_6 * 16.284_611_795_031_495,
            1e-10,
        );
    }

    #[test]
    fn equal_differences_have_limits_of_no_width() {
        let found = limits_of_agreement(&[1.0, 2.0, 3.0], &[2.0, 3.0, 4.0]).unwrap();
        assert_close(found.limits.low, -1.0, 0.0);
        assert_close(found.limits.high, -1.0, 0.0);
        assert!(limits_of_agreement(&[1.0, 2.0], &[1.0, 2.0]).is_err());
        assert!(limits_of_agreement(&[1e308; 3], &[-1e308; 3]).is_err());
    }
}
