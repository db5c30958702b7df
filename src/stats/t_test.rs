//! Student's t: paired, pooled and Welch's, each with the interval of the difference. Differences are later minus earlier, in the unit of the scores.
//!
//! All three take the trials to be independent. Those of one learner are seldom quite: see [`super::autocorrelation`].

use super::{
    Interval, Undefined,
    decimal_grid::differences,
    distribution::{t_quantile, t_two_sided},
    moments::{Moments, difference_of_means},
    requirements::{finite_numbers, finite_result, same_length},
};

/// A t statistic with its p and what it is made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TTest {
    /// difference / `standard_error`
    pub t: f64,
    /// Degrees of freedom; Welch's are seldom whole.
    pub df: f64,
    /// The chance of a t as far from 0 where there is no difference: two-sided.
    pub p: f64,
    /// Mean of the later block minus mean of the earlier; for pairs the mean of their differences.
    pub difference: f64,
    /// Standard error of the difference.
    pub standard_error: f64,
    /// The interval of the difference at the level asked for.
    pub interval: Interval,
}

/// The t test of pairs: mean difference / (its sd / √n) on n − 1 degrees of freedom. `level` is that of the interval, 0.95 as a rule.
///
/// Source: Student 1908, Biometrika 6:1–25.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for fewer than two pairs; [`Undefined::NoSpread`] where all differences are equal;
/// [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn paired(earlier: &[f64], later: &[f64], level: f64) -> Result<TTest, Undefined> {
    same_length(earlier.len(), later.len())?;
    finite_numbers(2, earlier)?;
    finite_numbers(2, later)?;
    let moments = Moments::of(&differences(earlier, later))?;
    let n = moments.n as f64;
    of_parts(moments.mean, moments.sd()? / n.sqrt(), n - 1.0, level)
}

/// The t test of two blocks of one common spread, on nA + nB − 2 degrees of freedom. `level` is that of the interval.
///
/// Source: Student 1908; Fisher 1925, Metron 5:90–104.
///
/// # Errors
/// [`Undefined::TooFew`] unless each block has a number and both together three; [`Undefined::NoSpread`] where neither block varies;
/// [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn pooled(earlier: &[f64], later: &[f64], level: f64) -> Result<TTest, Undefined> {
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    let variance = pooled_variance(&a, &b)?;
    let (n_a, n_b) = (a.n as f64, b.n as f64);
    let difference = difference_of_means(earlier, later)?;
    let error = (variance * (1.0 / n_a + 1.0 / n_b)).sqrt();
    of_parts(difference, error, n_a + n_b - 2.0, level)
}

/// The t test of two blocks, each with a spread of its own, on Welch's approximate degrees of freedom. `level` is that of the interval.
///
/// Source: Welch 1947, Biometrika 34:28–35; Satterthwaite 1946, Biometrics Bulletin 2:110–114.
///
/// # Errors
/// [`Undefined::TooFew`] unless each block has two numbers; [`Undefined::NoSpread`] where neither block varies;
/// [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn welch(earlier: &[f64], later: &[f64], level: f64) -> Result<TTest, Undefined> {
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    let (n_a, n_b) = (a.n as f64, b.n as f64);
    let (of_a, of_b) = (a.variance()? / n_a, b.variance()? / n_b);
    let difference = difference_of_means(earlier, later)?;
    of_parts(
        difference,
        (of_a + of_b).sqrt(),
        welch_degrees_of_freedom(of_a, n_a, of_b, n_b)?,
        level,
    )
}

/// (vA + vB)² / (vA²/(nA − 1) + vB²/(nB − 1)), where v is the squared standard error of a block's mean.
pub(super) fn welch_degrees_of_freedom(
    of_a: f64,
    n_a: f64,
    of_b: f64,
    n_b: f64,
) -> Result<f64, Undefined> {
    let both = of_a + of_b;
    if both <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    // As shares, so that tiny and huge spreads neither vanish nor overflow when squared.
    let (a, b) = (of_a / both, of_b / both);
    finite_result(1.0 / (a * a / (n_a - 1.0) + b * b / (n_b - 1.0)))
}

/// The spread that two blocks have in common, squared, on nA + nB − 2 degrees of freedom.
pub(super) fn pooled_variance(a: &Moments, b: &Moments) -> Result<f64, Undefined> {
    if a.n + b.n < 3 {
        return Err(Undefined::TooFew {
            needed: 3,
            given: a.n + b.n,
        });
    }
    let variance = (a.squared_deviations + b.squared_deviations) / (a.n + b.n - 2) as f64;
    if variance <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    finite_result(variance)
}

fn of_parts(difference: f64, standard_error: f64, df: f64, level: f64) -> Result<TTest, Undefined> {
    if standard_error <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let t = finite_result(difference / standard_error)?;
    if !(level > 0.0 && level < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let half_width = finite_result(t_quantile(0.5 + 0.5 * level, df)? * standard_error)?;
    Ok(TTest {
        t,
        df,
        p: t_two_sided(t, df)?,
        difference,
        standard_error,
        interval: Interval::around(difference, half_width),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DARWIN, DRUG_1, DRUG_2, MICE_CONTROL, MICE_TREATED},
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// Cushny & Peebles' sleep data (Student 1908), R 4.2.2 `t.test`.
    #[test]
    fn sleep() {
        let test = paired(&DRUG_1, &DRUG_2, 0.95).unwrap();
        assert_eq!((test.difference, test.df), (1.58, 9.0));
        assert_relative(test.t, 4.062_127_683, 1e-9);
        assert_relative(test.p, 0.002_832_890_197, 1e-9);
        assert_relative(test.interval.low, 0.700_114_236_7, 1e-9);
        assert_relative(test.interval.high, 2.459_885_763, 1e-9);

        let test = pooled(&DRUG_2, &DRUG_1, 0.95).unwrap();
        assert_relative(test.t, -1.860_813_467, 1e-9);
        assert_relative(test.df, 18.0, 1e-15);
        assert_relative(test.p, 0.079_186_714_22, 1e-9);
        assert_relative(test.interval.low, -3.363_874_032, 1e-9);
        assert_relative(test.interval.high, 0.203_874_032_3, 1e-9);

        let test = welch(&DRUG_2, &DRUG_1, 0.95).unwrap();
        assert_relative(test.t, -1.860_813_467, 1e-9);
        assert_relative(test.df, 17.776_473_52, 1e-9);
        assert_relative(test.p, 0.079_394_140_19, 1e-9);
        assert_relative(test.interval.low, -3.365_483_231, 1e-9);
        assert_relative(test.interval.high, 0.205_483_230_7, 1e-9);
    }

    /// Survival of mice (Efron & Tibshirani 1993, table 2.1), `SciPy` 1.17.1 `stats.ttest_ind`.
    #[test]
    fn mice() {
        let test = welch(&MICE_CONTROL, &MICE_TREATED, 0.95).unwrap();
        assert_relative(test.difference, 30.634_920_63, 1e-9);
        assert_relative(test.standard_error, 28.936_067_14, 1e-9);
        assert_relative(test.t, 1.058_710_587, 1e-9);
        assert_relative(test.df, 9.654_490_053, 1e-9);
        assert_relative(test.p, 0.315_500_654_1, 1e-9);
        let test = pooled(&MICE_CONTROL, &MICE_TREATED, 0.95).unwrap();
        assert_relative(test.t, 1.120_845_399, 1e-9);
        assert_relative(test.p, 0.281_212_584_8, 1e-9);
    }

    /// Darwin's maize, differences in eighths of an inch (Fisher 1935, The Design of Experiments, section 17), `SciPy` 1.17.1.
    #[test]
    fn darwin() {
        let test = paired(&[0.0; 15], &DARWIN, 0.95).unwrap();
        assert_relative(test.t, 2.147_987_461, 1e-9);
        assert_relative(test.p, 0.049_702_944_02, 1e-9);
        assert_relative(test.interval.low, 0.031_193_318_39, 1e-8);
        assert_relative(test.interval.high, 41.835_473_35, 1e-9);
    }

    /// Means over five hours of O'Brien & Kaiser's pre, post and follow-up (1985, Psychological Bulletin 97:316–333), `SciPy` 1.17.1 `stats.ttest_rel`.
    #[test]
    fn obrien_kaiser() {
        let pre = [
            2.0, 4.0, 6.0, 5.0, 4.0, 8.0, 5.0, 3.0, 4.0, 4.0, 3.0, 6.0, 6.0, 2.0, 3.0, 5.0,
        ];
        let post = [
            3.0, 3.0, 5.0, 3.0, 6.0, 9.0, 8.0, 5.0, 4.0, 7.0, 5.0, 9.0, 6.0, 5.0, 7.0, 7.0,
        ];
        let follow_up = [
            3.0, 4.0, 7.0, 4.0, 4.0, 9.0, 9.0, 6.0, 5.0, 8.0, 6.0, 8.0, 8.0, 6.0, 7.0, 8.0,
        ];
        let test = paired(&pre, &post, 0.95).unwrap();
        assert_relative(test.t, 3.149_290_839, 1e-9);
        assert_relative(test.p, 0.006_615_947_822, 1e-9);
        let test = paired(&post, &follow_up, 0.95).unwrap();
        assert_relative(test.t, 2.439_750_182, 1e-9);
        assert_relative(test.p, 0.027_591_093_91, 1e-9);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(
            paired(&[1.0, 2.0], &[2.0, 3.0], 0.95),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            paired(&[0.1, 0.3], &[0.3, 0.5], 0.95),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            paired(&[1.0, 2.0], &[2.0], 0.95),
            Err(Undefined::UnequalLengths)
        );
        assert_eq!(
            welch(&[1.0, 1.0], &[2.0, 2.0], 0.95),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            pooled(&[1.0, 1.0], &[2.0, 2.0], 0.95),
            Err(Undefined::NoSpread)
        );
        assert!(welch(&[1.0], &[2.0, 3.0], 0.95).is_err());
        assert!(pooled(&[1.0], &[2.0, 3.0], 0.95).is_ok());
        assert_eq!(
            welch(&[1.0, 2.0], &[2.0, 3.0], 1.0),
            Err(Undefined::OutOfRange)
        );
    }

    proptest! {
        #[test]
        fn swapping_the_blocks_flips_the_sign(a in finite_series(2, 12), b in finite_series(2, 12)) {
            for test in [pooled, welch] {
                let (there, back) = (test(&a, &b, 0.9), test(&b, &a, 0.9));
                if let (Ok(there), Ok(back)) = (there, back) {
                    prop_assert_eq!(there.t, -back.t);
                    prop_assert_eq!(there.p, back.p);
                    prop_assert!((0.0..=1.0).contains(&there.p));
                    prop_assert!(there.interval.contains(there.difference));
                    prop_assert!((there.interval.low + back.interval.high).abs() < 1e-9);
                    // At its own level, the interval ends at no difference.
                    if there.p > 1e-6 && there.p < 1.0 {
                        let at_p = test(&a, &b, 1.0 - there.p)?.interval;
                        prop_assert!(at_p.low.abs().min(at_p.high.abs()) < 1e-6 * there.standard_error);
                    }
                } else {
                    prop_assert_eq!(there.err(), back.err());
                }
            }
        }

        #[test]
        fn shift_and_scale(a in finite_series(3, 9), b in finite_series(3, 9), shift in -100..100_i32) {
            let shift = f64::from(shift);
            let moved = |values: &[f64]| values.iter().map(|value| value * 4.0 + shift).collect::<Vec<f64>>();
            if let (Ok(before), Ok(after)) = (welch(&a, &b, 0.95), welch(&moved(&a), &moved(&b), 0.95)) {
                prop_assert!((before.t - after.t).abs() < 1e-8 * (1.0 + before.t.abs()));
                prop_assert!((before.p - after.p).abs() < 1e-8);
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..6), b in prop::collection::vec(prop::num::f64::ANY, 0..6)) {
            for test in [paired(&a, &b, 0.95), pooled(&a, &b, 0.95), welch(&a, &b, 0.95)].into_iter().flatten() {
                prop_assert!(test.t.is_finite() && (0.0..=1.0).contains(&test.p) && test.df.is_finite());
                prop_assert!(!test.interval.low.is_nan() && !test.interval.high.is_nan());
            }
        }
    }
}
