//! Intervals of standardised differences: all the true effects under which the observed one isn't surprising.
//!
//! An observed t follows the noncentral distribution; its noncentrality is the true d times √(nA·nB/(nA + nB)), or √n for pairs.
//! Source: Steiger & Fouladi 1997, in Harlow, Mulaik & Steiger, What If There Were No Significance Tests?, 221–257.

use super::noncentral_t::{LARGEST_NONCENTRALITY, noncentral_t_cdf};
use super::{Interval, Undefined, t_test};

/// The interval of Cohen's d at confidence `level` (0–1), later minus earlier.
///
/// # Errors
/// As for [`t_test::pooled`] and [`of_noncentrality`].
pub fn of_d(earlier: &[f64], later: &[f64], level: f64) -> Result<Interval, Undefined> {
    let test = t_test::pooled(earlier, later, level)?;
    let (a, b) = (earlier.len() as f64, later.len() as f64);
    let per_unit = (a * b / (a + b)).sqrt();
    Ok(of_noncentrality(test.t, test.df, level)?.map(|delta| delta / per_unit))
}

/// The interval of d of paired differences at confidence `level` (0–1).
///
/// # Errors
/// As for [`t_test::paired`] and [`of_noncentrality`].
pub fn of_d_paired(earlier: &[f64], later: &[f64], level: f64) -> Result<Interval, Undefined> {
    let test = t_test::paired(earlier, later, level)?;
    let per_unit = (earlier.len() as f64).sqrt();
    Ok(of_noncentrality(test.t, test.df, level)?.map(|delta| delta / per_unit))
}

/// The noncentralities between which `t` on `df` degrees of freedom is neither in the upper nor in the lower (1 − level)/2 of cases.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < level < 1, or where a bound lies beyond the range of [`noncentral_t_cdf`] (t above some 30).
pub fn of_noncentrality(t: f64, df: f64, level: f64) -> Result<Interval, Undefined> {
    if !(level > 0.0 && level < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let tail = 0.5 * (1.0 - level);
    Ok(Interval {
        low: where_chance_is(t, df, 1.0 - tail)?,
        high: where_chance_is(t, df, tail)?,
    })
}

/// The noncentrality under which a value of at most `t` has this chance, by halving: the chance falls as noncentrality grows.
fn where_chance_is(t: f64, df: f64, chance: f64) -> Result<f64, Undefined> {
    let (mut low, mut high) = (-LARGEST_NONCENTRALITY, LARGEST_NONCENTRALITY);
    if noncentral_t_cdf(t, df, low)? < chance || noncentral_t_cdf(t, df, high)? > chance {
        return Err(Undefined::OutOfRange);
    }
    // 74/2⁵⁶ is below the spacing of doubles near 1.
    for _ in 0..56 {
        let middle = f64::midpoint(low, high);
        if noncentral_t_cdf(t, df, middle)? > chance {
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        distribution::normal_quantile,
        effect_size,
        published::{DRUG_1, DRUG_2},
        testing::{assert_close, finite_series},
    };
    use proptest::prelude::*;

    /// Student's sleep data; bounds by `SciPy` 1.17.1: `optimize.brentq` on `stats.nct.cdf`.
    #[test]
    fn sleep() {
        let between = of_d(&DRUG_1, &DRUG_2, 0.95).unwrap();
        assert_close(between.low, -0.095_450_398_211_415_42, 1e-10);
        assert_close(between.high, 1.738_816_899_106_732, 1e-10);
        let paired = of_d_paired(&DRUG_1, &DRUG_2, 0.95).unwrap();
        assert_close(paired.low, 0.414_627_756_380_456_74, 1e-10);
        assert_close(paired.high, 2.118_016_513_981_600_7, 1e-10);
    }

    /// `SciPy` 1.17.1, as above.
    #[test]
    fn noncentralities() {
        let interval = of_noncentrality(2.5, 10.0, 0.95).unwrap();
        assert_close(interval.low, 0.214_564_023_897_180_43, 1e-10);
        assert_close(interval.high, 4.691_230_883_472_634, 1e-10);
        let narrower = of_noncentrality(2.5, 10.0, 0.9).unwrap();
        assert_close(narrower.low, 0.568_605_278_354_684_6, 1e-10);
        assert_close(narrower.high, 4.325_629_898_653_056, 1e-10);
    }

    /// At t = 0 only the sign of a normal deviate counts.
    #[test]
    fn at_zero_it_is_normal() {
        let interval = of_noncentrality(0.0, 5.0, 0.95).unwrap();
        let deviate = normal_quantile(0.975).unwrap();
        assert_close(interval.low, -deviate, 1e-12);
        assert_close(interval.high, deviate, 1e-12);
    }

    #[test]
    fn out_of_range_is_said() {
        assert_eq!(of_noncentrality(1.0, 5.0, 1.0), Err(Undefined::OutOfRange));
        assert_eq!(
            of_noncentrality(60.0, 5.0, 0.95),
            Err(Undefined::OutOfRange)
        );
    }

    proptest! {
        #[test]
        fn it_holds_the_estimate_and_turns_with_the_blocks(a in finite_series(3, 12), b in finite_series(3, 12)) {
            let Ok(interval) = of_d(&a, &b, 0.95) else { return Ok(()) };
            prop_assert!(interval.contains(effect_size::d(&a, &b)?));
            let turned = of_d(&b, &a, 0.95)?;
            prop_assert!((turned.low + interval.high).abs() < 1e-9 && (turned.high + interval.low).abs() < 1e-9);
        }
    }
}
