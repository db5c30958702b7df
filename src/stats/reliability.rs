//! Noise from trial to trial, and which change is more than noise.

use super::{
    Interval, Undefined,
    decimal_grid::differences,
    distribution::{chi_square_quantile, normal_quantile},
    moments::Moments,
    requirements::{finite_numbers, finite_result, same_length},
    summary::{mean, ratio, sd},
};

/// Share of the spread between people below which a change isn't worth having (Hopkins 2000; Cohen's smallest effect).
const SMALLEST_WORTHWHILE: f64 = 0.2;

/// The typical error of repeated measurements, with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypicalError {
    /// The sd of one person's repeated scores, in the unit of the scores.
    pub value: f64,
    /// Degrees of freedom behind it.
    pub df: f64,
    /// Its interval at the level asked for, by χ².
    pub interval: Interval,
    /// As a share of the mean of all scores, in percent; absent for a mean of 0. It has a meaning only on scales with a true zero.
    pub percent: Option<f64>,
}

/// Typical error of two measurements of the same people, or of the same learner on several days: sd of the differences / √2.
///
/// Source: Hopkins 2000, Sports Medicine 30:1–15.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for fewer than two pairs; [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn typical_error(first: &[f64], second: &[f64], level: f64) -> Result<TypicalError, Undefined> {
    same_length(first.len(), second.len())?;
    finite_numbers(2, first)?;
    finite_numbers(2, second)?;
    let value = sd(&differences(first, second))? / std::f64::consts::SQRT_2;
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    of_spread(value, (first.len() - 1) as f64, mean(&all)?, level)
}

/// Typical error of one learner from several blocks, each of constant conditions: √(Σ squared deviations / Σ (n − 1)).
///
/// Source: Hopkins 2000 (within-subject sd pooled over blocks).
///
/// # Errors
/// [`Undefined::TooFew`] unless one block has two trials; [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn typical_error_of_blocks(blocks: &[&[f64]], level: f64) -> Result<TypicalError, Undefined> {
    let (mut squares, mut df) = (0.0, 0.0);
    for block in blocks.iter().filter(|block| !block.is_empty()) {
        let moments = Moments::of(block)?;
        squares += moments.squared_deviations;
        df += moments.n as f64 - 1.0;
    }
    if df < 1.0 {
        return Err(Undefined::TooFew {
            needed: 2,
            given: blocks
                .iter()
                .map(|block| block.len())
                .max()
                .unwrap_or_default(),
        });
    }
    of_spread(
        finite_result((squares / df).sqrt())?,
        df,
        mean(&blocks.concat())?,
        level,
    )
}

/// The typical error in percent of the score, for errors that grow with it: 100·(exp(sd of the differences of logarithms/√2) − 1).
///
/// Source: Hopkins 2000.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for fewer than two pairs; [`Undefined::OutOfRange`] unless all scores are positive.
pub fn typical_error_percent(first: &[f64], second: &[f64]) -> Result<f64, Undefined> {
    let gains = log_gains(first, second)?;
    finite_result(100.0 * libm::expm1(sd(&gains)? / std::f64::consts::SQRT_2))
}

/// The change in the mean in percent, by logarithms: 100·(exp(mean difference of logarithms) − 1).
///
/// Source: Hopkins 2000.
///
/// # Errors
/// As for [`typical_error_percent`].
pub fn change_percent(first: &[f64], second: &[f64]) -> Result<f64, Undefined> {
    finite_result(100.0 * libm::expm1(mean(&log_gains(first, second)?)?))
}

/// The smallest worthwhile change: 0.2 of the sd **between** people, one score each; not of one learner's trials.
///
/// Source: Hopkins 2004, Sportscience 8:1–7.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two people.
pub fn smallest_worthwhile_change(one_score_each: &[f64]) -> Result<f64, Undefined> {
    sd(one_score_each).map(|sd| SMALLEST_WORTHWHILE * sd)
}

/// The change of one learner between two single measurements that noise exceeds with probability 1 − level: z·√2·typical error.
///
/// Source: Weir 2005, Journal of Strength and Conditioning Research 19:231–240 (minimal difference).
///
/// # Errors
/// [`Undefined::OutOfRange`] for a negative typical error, and unless 0 < level < 1.
pub fn minimal_detectable_change(typical_error: f64, level: f64) -> Result<f64, Undefined> {
    if !(level > 0.0 && level < 1.0 && typical_error >= 0.0) {
        return Err(Undefined::OutOfRange);
    }
    let deviate = normal_quantile(0.5 + 0.5 * level)?;
    finite_result(deviate * std::f64::consts::SQRT_2 * typical_error)
}

fn of_spread(value: f64, df: f64, mean: f64, level: f64) -> Result<TypicalError, Undefined> {
    if !(level > 0.0 && level < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let bound = |p: f64| Ok(value * (df / chi_square_quantile(p, df)?).sqrt());
    Ok(TypicalError {
        value,
        df,
        interval: Interval {
            low: bound(0.5 + 0.5 * level)?,
            high: finite_result(bound(0.5 - 0.5 * level)?)?,
        },
        percent: ratio(100.0 * value, mean).ok(),
    })
}

fn log_gains(first: &[f64], second: &[f64]) -> Result<Vec<f64>, Undefined> {
    same_length(first.len(), second.len())?;
    finite_numbers(2, first)?;
    finite_numbers(2, second)?;
    if first.iter().chain(second).any(|&score| score <= 0.0) {
        return Err(Undefined::OutOfRange);
    }
    Ok(first
        .iter()
        .zip(second)
        .map(|(&first, &second)| libm::log(second) - libm::log(first))
        .collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        t_test::paired,
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// Hopkins 2000, five people measured twice; he prints a typical error of 2.9. Digits recomputed with `SciPy` 1.17.1.
    const FIRST: [f64; 5] = [62.0, 78.0, 81.0, 55.0, 66.0];
    const SECOND: [f64; 5] = [67.0, 76.0, 87.0, 55.0, 63.0];

    #[test]
    fn five_people() {
        let at_95 = typical_error(&FIRST, &SECOND, 0.95).unwrap();
        assert_relative(at_95.value, 2.889_636_655, 1e-9);
        assert_relative(at_95.interval.low, 1.731_277_08, 1e-8);
        assert_relative(at_95.interval.high, 8.303_531_691, 1e-9);
        assert_relative(at_95.percent.unwrap(), 4.187_879_211, 1e-9);
        let at_90 = typical_error(&FIRST, &SECOND, 0.9).unwrap();
        assert_relative(at_90.interval.low, 1.876_256_012, 1e-9);
        assert_relative(at_90.interval.high, 6.855_245_965, 1e-9);
        assert_relative(
            typical_error_percent(&FIRST, &SECOND).unwrap(),
            4.079_351_118,
            1e-9,
        );
        assert_relative(
            change_percent(&FIRST, &SECOND).unwrap(),
            1.542_205_039,
            1e-9,
        );
        assert_relative(
            smallest_worthwhile_change(&FIRST).unwrap(),
            2.184_490_787,
            1e-9,
        );
        assert_relative(
            minimal_detectable_change(at_95.value, 0.95).unwrap(),
            8.009_664_163,
            1e-4,
        );
        let change = paired(&FIRST, &SECOND, 0.95).unwrap();
        assert_relative(change.difference, 1.2, 1e-15);
        assert_relative(change.interval.low, -3.874_138_586, 1e-9);
        assert_relative(change.interval.high, 6.274_138_586, 1e-9);
    }

    /// The two peak-flow meters of Bland & Altman 1986, Lancet i:307–310, by `SciPy` 1.17.1.
    #[test]
    fn peak_flow_meters() {
        let wright = (
            [
                494.0, 395.0, 516.0, 434.0, 476.0, 557.0, 413.0, 442.0, 650.0, 433.0, 417.0, 656.0,
                267.0, 478.0, 178.0, 423.0, 427.0,
            ],
            [
                490.0, 397.0, 512.0, 401.0, 470.0, 611.0, 415.0, 431.0, 638.0, 429.0, 420.0, 633.0,
                275.0, 492.0, 165.0, 372.0, 421.0,
            ],
        );
        assert_relative(
            typical_error(&wright.0, &wright.1, 0.95).unwrap().value,
            15.361_214_53,
            1e-9,
        );
    }

    /// One athlete's six trials are a block: 2.8 (Hopkins 2001).
    #[test]
    fn one_learner() {
        let trials = [72.0, 76.0, 74.0, 79.0, 79.0, 77.0];
        let error = typical_error_of_blocks(&[&trials], 0.95).unwrap();
        assert_relative(error.value, 2.786_873_995, 1e-9);
        let two = typical_error_of_blocks(&[&trials, &[1.0], &[5.0, 7.0]], 0.95).unwrap();
        // 5·2.7869² + 2 on 6 degrees of freedom.
        assert_relative(two.value, ((233.0 / 6.0 + 2.0) / 6.0_f64).sqrt(), 1e-12);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(
            typical_error(&[1.0], &[], 0.95),
            Err(Undefined::UnequalLengths)
        );
        assert!(typical_error(&[1.0], &[2.0], 0.95).is_err());
        assert!(typical_error_of_blocks(&[&[1.0], &[]], 0.95).is_err());
        assert!(typical_error_of_blocks(&[], 0.95).is_err());
        assert_eq!(
            typical_error_percent(&[0.0, 1.0], &[1.0, 2.0]),
            Err(Undefined::OutOfRange)
        );
        assert_eq!(
            minimal_detectable_change(-1.0, 0.95),
            Err(Undefined::OutOfRange)
        );
    }

    proptest! {
        #[test]
        fn laws(first in finite_series(2, 12), shift in -20.0..20.0) {
            let second: Vec<f64> = first.iter().rev().copied().collect();
            let moved: Vec<f64> = second.iter().map(|value| value + shift).collect();
            let (before, after) = (typical_error(&first, &second, 0.95)?, typical_error(&first, &moved, 0.95)?);
            // A change in everybody's score is no error.
            prop_assert!((before.value - after.value).abs() < 1e-6);
            prop_assert!(before.interval.low <= before.value + 1e-12 && before.value <= before.interval.high + 1e-12 || before.df < 2.0);
            // The order of the two measurements doesn't matter.
            prop_assert!((typical_error(&second, &first, 0.95)?.value - before.value).abs() < 1e-9);
        }
    }
}
