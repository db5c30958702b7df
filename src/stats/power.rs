//! The smallest difference that these numbers of trials, this scattered, could be expected to show.

use super::{
    Undefined,
    distribution::t_quantile,
    moments::Moments,
    noncentral_t::noncentral_t_cdf,
    requirements::finite_result,
    t_test::{pooled_variance, welch_degrees_of_freedom},
};

/// The chance that a two-sided t test at level `alpha` notices a difference of `delta` standard errors.
///
/// Source: Cohen 1988, Statistical Power Analysis for the Behavioral Sciences, chapter 2, by the noncentral t and not its approximation.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < alpha < 1, df > 0 and |delta| ≤ 37.
pub fn power(delta: f64, df: f64, alpha: f64) -> Result<f64, Undefined> {
    if !(alpha > 0.0 && alpha < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let critical = t_quantile(1.0 - 0.5 * alpha, df)?;
    let above = 1.0 - noncentral_t_cdf(critical, df, delta)?;
    Ok((above + noncentral_t_cdf(-critical, df, delta)?).clamp(0.0, 1.0))
}

/// How many standard errors a difference must have to be noticed with probability `power` at level `alpha`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < alpha < power < 1, or where more than 37 standard errors are needed (one degree of freedom).
pub fn detectable_standard_errors(df: f64, power: f64, alpha: f64) -> Result<f64, Undefined> {
    if !(alpha > 0.0 && alpha < power && power < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let critical = t_quantile(1.0 - 0.5 * alpha, df)?;
    let missed = |delta: f64| -> Result<f64, Undefined> {
        let within =
            noncentral_t_cdf(critical, df, delta)? - noncentral_t_cdf(-critical, df, delta)?;
        Ok(within - (1.0 - power))
    };
    let (mut low, mut high) = (0.0, 37.0);
    let (mut at_low, mut at_high) = (power - alpha, missed(37.0)?);
    if at_high > 0.0 {
        return Err(Undefined::OutOfRange);
    }
    // The sum of the two quantiles is close; then false position kept from stalling (Illinois).
    let mut guess = critical + t_quantile(power, df)?;
    for _ in 0..100 {
        if !(guess > low && guess < high) {
            guess = 0.5 * (low + high);
        }
        let at = missed(guess)?;
        if at.abs() < 1e-13 || high - low < 1e-12 {
            return Ok(guess);
        }
        if at > 0.0 {
            (low, at_low) = (guess, at);
            at_high *= 0.5;
        } else {
            (high, at_high) = (guess, at);
            at_low *= 0.5;
        }
        guess = (low * at_high - high * at_low) / (at_high - at_low);
    }
    Err(Undefined::NotConverged)
}

/// The smallest d of two independent blocks of these sizes that a pooled t test notices with probability `power` at level `alpha`.
///
/// # Errors
/// [`Undefined::TooFew`] unless each block has a trial and both together three; [`Undefined::OutOfRange`] as for [`detectable_standard_errors`].
pub fn detectable_d(
    n_earlier: usize,
    n_later: usize,
    power: f64,
    alpha: f64,
) -> Result<f64, Undefined> {
    if n_earlier == 0 || n_later == 0 || n_earlier + n_later < 3 {
        return Err(Undefined::TooFew {
            needed: 3,
            given: n_earlier + n_later,
        });
    }
    let (a, b) = (n_earlier as f64, n_later as f64);
    Ok(detectable_standard_errors(a + b - 2.0, power, alpha)? * (1.0 / a + 1.0 / b).sqrt())
}

/// The smallest difference of means, in the unit of the scores, that the pooled t test of two blocks like these would notice with probability
/// `power` (0.8 as a rule) at level `alpha`.
///
/// # Errors
/// [`Undefined::TooFew`]; [`Undefined::NoSpread`] where neither block varies; [`Undefined::OutOfRange`] as for [`detectable_standard_errors`].
pub fn detectable_difference_pooled(
    earlier: &[f64],
    later: &[f64],
    power: f64,
    alpha: f64,
) -> Result<f64, Undefined> {
    let variance = pooled_variance(&Moments::of(earlier)?, &Moments::of(later)?)?;
    finite_result(detectable_d(earlier.len(), later.len(), power, alpha)? * variance.sqrt())
}

/// The same of Welch's test, which lets the blocks differ in spread: its standard error and degrees of freedom are taken as known.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two trials in a block; [`Undefined::NoSpread`] where neither varies; [`Undefined::OutOfRange`] as for
/// [`detectable_standard_errors`].
pub fn detectable_difference_welch(
    earlier: &[f64],
    later: &[f64],
    power: f64,
    alpha: f64,
) -> Result<f64, Undefined> {
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    let (n_a, n_b) = (a.n as f64, b.n as f64);
    let (of_a, of_b) = (a.variance()? / n_a, b.variance()? / n_b);
    let df = welch_degrees_of_freedom(of_a, n_a, of_b, n_b)?;
    finite_result(detectable_standard_errors(df, power, alpha)? * (of_a + of_b).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DRUG_1, DRUG_2},
        testing::assert_relative,
    };
    use proptest::prelude::*;

    /// statsmodels 0.15.0: `TTestIndPower().solve_power(nobs1=nA, ratio=nB/nA, alpha=alpha, power=power)`, whose root finder stops 3e-6 off (at its
    /// last value, the noncentral t of mpmath gives a power of 0.800002; at ours, of 0.8 to 13 digits).
    #[test]
    fn detectable_effects() {
        for (n_a, n_b, power, alpha, expected) in [
            (10, 10, 0.8, 0.05, 1.324_947_368_330_822),
            (8, 12, 0.8, 0.05, 1.352_268_513_939_979),
            (3, 3, 0.8, 0.05, 3.070_892_269_599_019),
            (30, 30, 0.9, 0.01, 1.025_555_668_037_561_7),
            (2, 5, 0.5, 0.1, 1.594_538_196_935_176_6),
            (100, 100, 0.8, 0.05, 0.398_139_113_896_495_9),
        ] {
            assert_relative(
                detectable_d(n_a, n_b, power, alpha).unwrap(),
                expected,
                5e-6,
            );
        }
    }

    /// statsmodels 0.15.0: `TTestIndPower().power(d, nobs1=10, alpha=0.05)`; Cohen 1988, table 2.3.5 prints .18, .40 (n 10, d .50 and .80).
    #[test]
    fn power_of_ten_trials() {
        for (d, expected) in [
            (0.2, 0.070_821_345_189_310_64),
            (0.5, 0.185_095_656_291_166_06),
            (0.8, 0.395_069_212_113_640_77),
            (1.2, 0.718_405_376_541_669),
        ] {
            assert_relative(power(d * 5_f64.sqrt(), 18.0, 0.05).unwrap(), expected, 1e-9);
        }
    }

    /// A difference of the size found has the power asked for.
    #[test]
    fn of_blocks() {
        let pooled = detectable_difference_pooled(&DRUG_1, &DRUG_2, 0.8, 0.05).unwrap();
        let welch = detectable_difference_welch(&DRUG_1, &DRUG_2, 0.8, 0.05).unwrap();
        let error = crate::stats::t_test::welch(&DRUG_1, &DRUG_2, 0.95)
            .unwrap()
            .standard_error;
        assert_relative(power(pooled / error, 18.0, 0.05).unwrap(), 0.8, 1e-9);
        // Fewer degrees of freedom need a little more.
        assert!(welch > pooled && welch < 1.01 * pooled);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert!(detectable_d(1, 1, 0.8, 0.05).is_err());
        assert_eq!(detectable_d(5, 5, 0.04, 0.05), Err(Undefined::OutOfRange));
        assert_eq!(
            detectable_difference_welch(&[1.0, 1.0], &[2.0, 2.0], 0.8, 0.05),
            Err(Undefined::NoSpread)
        );
    }

    proptest! {
        #[test]
        fn power_undoes_detection(df in 2.0..200.0, wanted in 0.3..0.95, alpha in 0.01..0.2) {
            let delta = detectable_standard_errors(df, wanted, alpha)?;
            prop_assert!((power(delta, df, alpha)? - wanted).abs() < 1e-10);
        }
    }
}
