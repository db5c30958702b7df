//! How far values lie from the bulk, by median and median absolute deviation: outliers don't hide themselves by widening the spread.
//!
//! Source: Iglewicz & Hoaglin 1993, How to Detect and Handle Outliers, ASQC, section 3.2.

use super::Undefined;
use super::requirements::{all_finite, at_least};

/// The MAD of a normal distribution in standard deviations, Φ⁻¹(0.75): what a MAD is divided by to estimate an sd.
const NORMAL_MAD: f64 = 0.674_489_750_196_081_7;

/// Middle and spread that a few wild values don't move.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RobustCentre {
    /// How many values.
    pub n: usize,
    /// The median.
    pub median: f64,
    /// The median absolute deviation from the median, as recorded (not scaled to an sd).
    pub mad: f64,
}

impl RobustCentre {
    /// Median and MAD of values.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without values, [`Undefined::NotFinite`].
    pub fn of(values: &[f64]) -> Result<Self, Undefined> {
        at_least(1, values.len())?;
        all_finite(values)?;
        let median = middle(values.to_vec());
        let mad = middle(values.iter().map(|value| (value - median).abs()).collect());
        Ok(Self {
            n: values.len(),
            median,
            mad,
        })
    }

    /// The robust z of one value: 0.6745·(value − median)/MAD, in standard deviations of a normal bulk.
    ///
    /// # Errors
    /// [`Undefined::NoSpread`] where the MAD is 0 (over half of the values are equal), [`Undefined::NotFinite`].
    pub fn z(&self, value: f64) -> Result<f64, Undefined> {
        all_finite(&[value])?;
        if self.mad <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        super::requirements::finite_result(NORMAL_MAD * ((value - self.median) / self.mad))
    }
}

/// The median of at least one value.
fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    let upper = values.len() / 2;
    let at = |index: usize| values.get(index).copied().unwrap_or(0.0);
    if values.len() % 2 == 1 {
        at(upper)
    } else {
        f64::midpoint(at(upper - 1), at(upper))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, assert_relative, finite_series};
    use proptest::prelude::*;

    /// SciPy 1.17.1: `scipy.stats.median_abs_deviation([2, 3, 3, 4, 5, 40])` is 1, `norm.ppf(0.75)` 0.67448975.
    #[test]
    fn one_wild_value() {
        let centre = RobustCentre::of(&[40.0, 2.0, 3.0, 4.0, 3.0, 5.0]).unwrap();
        assert_close(centre.median, 3.5, 0.0);
        assert_close(centre.mad, 1.0, 0.0);
        assert_relative(
            centre.z(40.0).unwrap(),
            36.5 * 0.674_489_750_196_081_7,
            1e-15,
        );
    }

    #[test]
    fn undefined_where_most_are_equal() {
        assert_eq!(
            RobustCentre::of(&[1.0, 1.0, 1.0, 9.0]).unwrap().z(9.0),
            Err(Undefined::NoSpread)
        );
        assert!(RobustCentre::of(&[]).is_err());
        assert!(RobustCentre::of(&[f64::INFINITY]).is_err());
    }

    proptest! {
        #[test]
        fn shift_and_scale(values in finite_series(1, 20)) {
            let centre = RobustCentre::of(&values).unwrap();
            let moved = RobustCentre::of(&values.iter().map(|v| 7.0 - 3.0 * v).collect::<Vec<_>>()).unwrap();
            assert_close(moved.median, 7.0 - 3.0 * centre.median, 1e-9);
            assert_close(moved.mad, 3.0 * centre.mad, 1e-9);
        }
    }
}
