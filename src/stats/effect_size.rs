//! Standardised differences of two blocks: how large a change is beside the spread. Later minus earlier; no unit.
//!
//! Of one learner's trials the spread is within the person: such values aren't comparable with published ones between people.

use super::{
    Interval, Undefined,
    decimal_grid::differences,
    distribution::{ln_beta, normal_quantile},
    moments::{Moments, difference_of_means},
    requirements::{finite_numbers, finite_result, same_length},
    t_test::pooled_variance,
};

/// Cohen's d: difference of means / √((sA²(nA − 1) + sB²(nB − 1))/(nA + nB − 2)).
///
/// Source: Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, 2.5.1.
///
/// # Errors
/// [`Undefined::TooFew`] unless each block has a number and both together three; [`Undefined::NoSpread`] where neither varies.
pub fn d(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let variance = pooled_variance(&Moments::of(earlier)?, &Moments::of(later)?)?;
    finite_result(difference_of_means(earlier, later)? / variance.sqrt())
}

/// Hedges's g: d freed from its bias in small samples, d · J(nA + nB − 2).
///
/// Source: Hedges 1981, Journal of Educational Statistics 6:107–128.
///
/// # Errors
/// As for [`d`]; [`Undefined::TooFew`] for one degree of freedom, for which J isn't defined.
pub fn g(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let d = d(earlier, later)?;
    Ok(d * small_sample_factor((earlier.len() + later.len() - 2) as f64)?)
}

/// Hedges's factor J(m) = Γ(m/2) / (√(m/2)·Γ((m − 1)/2)), exact, and not 1 − 3/(4m − 1).
///
/// Source: Hedges 1981, equation 6e.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless m > 1.
pub fn small_sample_factor(degrees_of_freedom: f64) -> Result<f64, Undefined> {
    if degrees_of_freedom <= 1.0 || !degrees_of_freedom.is_finite() {
        return Err(Undefined::OutOfRange);
    }
    let half = 0.5 * degrees_of_freedom;
    // Γ(h)/Γ(h − ½) = Γ(½)/B(h − ½, ½)
    let log_ratio = 0.5 * libm::log(std::f64::consts::PI) - ln_beta(half - 0.5, 0.5);
    Ok(libm::exp(log_ratio) / half.sqrt())
}

/// Glass's Δ: difference of means / sd of the earlier block.
///
/// Source: Glass 1976, Educational Researcher 5(10):3–8.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two earlier numbers or no later one; [`Undefined::NoSpread`] where the earlier block doesn't vary.
pub fn glass_delta(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    standardised(
        difference_of_means(earlier, later)?,
        Moments::of(earlier)?.sd()?,
    )
}

/// d of pairs: mean of the differences / their sd.
///
/// Source: Cohen 1988, 2.3.5 (`d_z`).
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for fewer than two pairs; [`Undefined::NoSpread`] where all differences are equal.
pub fn d_paired(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    same_length(earlier.len(), later.len())?;
    finite_numbers(2, earlier)?;
    finite_numbers(2, later)?;
    let moments = Moments::of(&differences(earlier, later))?;
    standardised(moments.mean, moments.sd()?)
}

/// d of pairs in units of one block's spread: d of pairs · √(2(1 − r)), r the correlation of the pairs.
///
/// Source: Lakens 2013, equation 9 (`d_rm`); Borenstein et al. 2009, equation 4.26.
///
/// # Errors
/// As for [`d_paired`]; [`Undefined::NoSpread`] where one of the blocks doesn't vary.
pub fn d_repeated_measures(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let paired = d_paired(earlier, later)?;
    let r = super::regression::line(earlier, later)?
        .r
        .ok_or(Undefined::NoSpread)?;
    finite_result(paired * (2.0 * (1.0 - r)).sqrt())
}

/// Difference of means / the mean of the two sds.
///
/// Source: Cumming 2012, Understanding the New Statistics (`d_av`); Lakens 2013, Frontiers in Psychology 4:863, equation 10.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers in a block; [`Undefined::NoSpread`] where neither varies.
pub fn d_average_sd(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let spread = 0.5 * (Moments::of(earlier)?.sd()? + Moments::of(later)?.sd()?);
    standardised(difference_of_means(earlier, later)?, spread)
}

/// The standard error of d of two blocks of these sizes: √((nA + nB)/(nA·nB) + d²/(2(nA + nB))).
///
/// Source: Borenstein, Hedges, Higgins & Rothstein 2009, Introduction to Meta-Analysis, equation 4.20.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::NotFinite`].
pub fn d_standard_error(d: f64, n_earlier: usize, n_later: usize) -> Result<f64, Undefined> {
    if n_earlier == 0 || n_later == 0 {
        return Err(Undefined::TooFew {
            needed: 1,
            given: 0,
        });
    }
    if !d.is_finite() {
        return Err(Undefined::NotFinite);
    }
    let (a, b) = (n_earlier as f64, n_later as f64);
    finite_result(((a + b) / (a * b) + d * d / (2.0 * (a + b))).sqrt())
}

/// g with its standard error J·se(d) and the normal interval g ± z·se at `level`.
///
/// Source: Borenstein et al. 2009, equations 4.22–4.24.
///
/// # Errors
/// As for [`g`]; [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn g_interval(earlier: &[f64], later: &[f64], level: f64) -> Result<Interval, Undefined> {
    let factor = small_sample_factor((earlier.len() + later.len()).saturating_sub(2) as f64);
    let d = d(earlier, later)?;
    let factor = factor?;
    let error = factor * d_standard_error(d, earlier.len(), later.len())?;
    let deviate = normal_quantile(0.5 + 0.5 * level)?;
    Ok(Interval::around(d * factor, deviate * error))
}

fn standardised(difference: f64, spread: f64) -> Result<f64, Undefined> {
    if spread <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    finite_result(difference / spread)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DRUG_1, DRUG_2},
        single_case_examples::CASES,
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// Hedges 1981, whose table begins .5642 .7236 .7979 .8408; digits by the gamma function of mpmath.
    #[test]
    fn exact_small_sample_factor() {
        for (df, expected) in [
            (2.0, 0.564_189_583_5),
            (3.0, 0.723_601_254_6),
            (4.0, 0.797_884_560_8),
            (5.0, 0.840_748_682_5),
            (6.0, 0.868_626_687_8),
            (7.0, 0.888_202_907_7),
            (8.0, 0.902_703_333_7),
            (9.0, 0.913_874_891_8),
            (10.0, 0.922_745_608_1),
            (12.0, 0.935_941_822_9),
            (15.0, 0.949_007_587_1),
            (18.0, 0.957_646_427),
            (20.0, 0.961_944_533_7),
            (25.0, 0.969_645_579_6),
            (30.0, 0.974_754_378_2),
            (40.0, 0.981_112_194_4),
            (50.0, 0.984_911_942_3),
            (98.0, 0.992_324_087_4),
            (100.0, 0.992_478_055),
        ] {
            assert_relative(small_sample_factor(df).unwrap(), expected, 1e-10);
        }
        assert_eq!(small_sample_factor(1.0), Err(Undefined::OutOfRange));
    }

    /// Ten pairs of film ratings of Lakens 2013, table 1 (prints d 1.13, g 1.08, d of pairs 1.50); digits by R's effectsize 0.8.3.
    #[test]
    fn films() {
        let first = [9.0, 7.0, 8.0, 9.0, 8.0, 9.0, 9.0, 10.0, 9.0, 9.0];
        let second = [9.0, 6.0, 7.0, 8.0, 7.0, 9.0, 8.0, 8.0, 8.0, 7.0];
        assert_relative(d(&second, &first).unwrap(), 1.125_879_938, 1e-9);
        assert_relative(g(&second, &first).unwrap(), 1.078_194_899, 1e-9);
        assert_relative(d_paired(&second, &first).unwrap(), 1.5, 1e-12);
        assert_relative(
            d_repeated_measures(&second, &first).unwrap(),
            1.111_332_336,
            1e-9,
        );
        assert_relative(d_average_sd(&second, &first).unwrap(), 1.128_696_261, 1e-9);
        assert_relative(glass_delta(&second, &first).unwrap(), 1.054_092_553, 1e-9);
        assert_relative(-glass_delta(&first, &second).unwrap(), 1.214_664_495, 1e-9);
        assert_relative(1.5 * small_sample_factor(9.0).unwrap(), 1.370_812_338, 1e-9);
    }

    /// Student's sleep data, computed with R 4.2.2.
    #[test]
    fn sleep() {
        assert_relative(d(&DRUG_1, &DRUG_2).unwrap(), 0.832_181_081_3, 1e-9);
        assert_relative(g(&DRUG_1, &DRUG_2).unwrap(), 0.796_935_239_2, 1e-9);
        assert_relative(d_paired(&DRUG_1, &DRUG_2).unwrap(), 1.284_557_563, 1e-9);
        assert_relative(
            d_repeated_measures(&DRUG_1, &DRUG_2).unwrap(),
            0.822_176_638_4,
            1e-9,
        );
        assert_relative(
            d_average_sd(&DRUG_1, &DRUG_2).unwrap(),
            0.833_496_341_3,
            1e-9,
        );
        assert_relative(
            glass_delta(&DRUG_1, &DRUG_2).unwrap(),
            0.883_170_190_4,
            1e-9,
        );
    }

    /// Blocks of one person (Parker, Vannest & Davis 2011), by the formulas of R's `SingleCaseES`.
    #[test]
    fn single_case() {
        let (a, b) = (CASES[0].earlier, CASES[0].later);
        assert_relative(glass_delta(a, b).unwrap(), 1.959_294_109, 1e-9);
        assert_relative(d(a, b).unwrap(), 2.016_965_967, 1e-9);
    }

    /// Borenstein et al. 2009, chapter 4: d 0.5970 of two groups of 50 has variance 0.0418.
    #[test]
    fn standard_error_of_d() {
        assert_relative(
            d_standard_error(0.597_022_314_1, 50, 50).unwrap(),
            0.204_406_893_8,
            1e-9,
        );
        assert!(d_standard_error(0.5, 0, 3).is_err());
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(d(&[1.0, 1.0], &[2.0, 2.0]), Err(Undefined::NoSpread));
        assert!(d(&[1.0, 2.0], &[2.0]).is_ok());
        assert!(g(&[1.0, 2.0], &[2.0]).is_err());
        assert!(d(&[1.0], &[2.0]).is_err());
        assert_eq!(
            glass_delta(&[1.0, 1.0], &[2.0, 3.0]),
            Err(Undefined::NoSpread)
        );
        assert_eq!(d_paired(&[1.0, 2.0], &[2.0, 3.0]), Err(Undefined::NoSpread));
        assert_eq!(
            d_average_sd(&[1.0, 1.0], &[2.0, 2.0]),
            Err(Undefined::NoSpread)
        );
    }

    proptest! {
        #[test]
        fn swapping_the_blocks_flips_the_sign(a in finite_series(2, 12), b in finite_series(2, 12)) {
            for effect in [d, g, d_average_sd] {
                match (effect(&a, &b), effect(&b, &a)) {
                    (Ok(there), Ok(back)) => prop_assert_eq!(there, -back),
                    (there, back) => prop_assert_eq!(there, back),
                }
            }
            if let (Ok(g), Ok(interval)) = (g(&a, &b), g_interval(&a, &b, 0.95)) {
                prop_assert!(interval.contains(g));
            }
        }

        #[test]
        fn shift_and_scale(a in finite_series(3, 9), b in finite_series(3, 9), shift in -100..100_i32) {
            let moved = |values: &[f64]| values.iter().map(|value| value * 4.0 + f64::from(shift)).collect::<Vec<f64>>();
            for effect in [d, g, d_average_sd, glass_delta] {
                if let (Ok(before), Ok(after)) = (effect(&a, &b), effect(&moved(&a), &moved(&b))) {
                    prop_assert!((before - after).abs() < 1e-8 * (1.0 + before.abs()));
                }
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..6), b in prop::collection::vec(prop::num::f64::ANY, 0..6)) {
            for effect in [d, g, d_average_sd, glass_delta, d_paired] {
                prop_assert!(effect(&a, &b).is_ok_and(f64::is_finite) || effect(&a, &b).is_err());
            }
            let _ = g_interval(&a, &b, 0.95);
        }
    }
}
