//! Change from an earlier block to a later one, as it stands and beside the level, the scale or the whole gain.

use super::{
    Direction, Undefined,
    moments::{Moments, difference_of_means},
    requirements::finite_result,
    summary::ratio,
};

/// A gain smaller than this is no gain that a later one could be a share of.
const LEAST_GAIN: f64 = 1e-9;

/// Mean of the later block minus mean of the earlier, in the unit of the scores.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block.
pub fn change(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    difference_of_means(earlier, later)
}

/// 100·(mB − mA)/|mA|, in percent. It has a meaning only on scales with a true zero.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::ZeroDenominator`] where the earlier mean is 0.
pub fn percent_change(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let change = difference_of_means(earlier, later)?;
    ratio(100.0 * change, Moments::of(earlier)?.mean.abs())
}

/// The percent change, signed so that positive is better.
///
/// # Errors
/// As for [`percent_change`].
pub fn percent_improvement(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
) -> Result<f64, Undefined> {
    percent_change(earlier, later).map(|percent| better.orient(percent))
}

/// The share of the gain from `pre` to `post` that a later test still shows: 100·(`m_later` − `m_pre`)/(`m_post` − `m_pre`), in percent.
///
/// Of a retention test it is the retained gain, of a transfer test the transferred gain.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::ZeroDenominator`] where the gain is less than 1e-9.
pub fn lasting_gain(pre: &[f64], post: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    let gain = difference_of_means(pre, post)?;
    let lasting = difference_of_means(pre, later)?;
    if gain.abs() < LEAST_GAIN {
        return Err(Undefined::ZeroDenominator);
    }
    finite_result(100.0 * lasting / gain)
}

/// The share of the room for improvement that was used: (mB − mA)/(best − mA); 1 is all of it, negative is a loss.
///
/// Source: Hake 1998, American Journal of Physics 66:64–74, made for class averages.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::ZeroDenominator`] where the earlier mean is the best there is;
/// [`Undefined::NotFinite`] for a `best` that isn't a number.
pub fn normalised_gain(earlier: &[f64], later: &[f64], best: f64) -> Result<f64, Undefined> {
    let room = difference_of_means(earlier, &[best])?;
    ratio(difference_of_means(earlier, later)?, room)
}

/// ln(mB/mA): 0 is no change, ln 2 a doubling. Needs positive means on a scale with a true zero.
///
/// Source: Hedges, Gurevitch & Curtis 1999, Ecology 80:1150–1156.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::OutOfRange`] unless both means are positive.
pub fn log_response_ratio(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    log_ratio(Moments::of(earlier)?.mean, Moments::of(later)?.mean)
}

/// The log response ratio freed from its bias in short blocks, with its standard error √(sA²/(nA·mA²) + sB²/(nB·mB²)).
///
/// Source: Pustejovsky 2018, Journal of School Psychology 68:99–112 (R2).
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers in a block; [`Undefined::OutOfRange`] unless both means are positive.
pub fn corrected_log_response_ratio(
    earlier: &[f64],
    later: &[f64],
) -> Result<LogResponseRatio, Undefined> {
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    let plain = log_ratio(a.mean, b.mean)?;
    let relative =
        |block: &Moments| Ok(block.variance()? / (block.n as f64 * block.mean * block.mean));
    let (of_a, of_b) = (relative(&a)?, relative(&b)?);
    Ok(LogResponseRatio {
        ratio: finite_result(plain + 0.5 * (of_b - of_a))?,
        standard_error: finite_result((of_a + of_b).sqrt())?,
    })
}

/// ln(median of the later block / median of the earlier), less moved by single trials.
///
/// Source: Bonett & Price 2020, Journal of Educational and Behavioral Statistics 45:750–770.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::OutOfRange`] unless both medians are positive.
pub fn log_ratio_of_medians(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    log_ratio(
        super::summary::median(earlier)?,
        super::summary::median(later)?,
    )
}

/// A log response ratio with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogResponseRatio {
    /// The natural logarithm of later/earlier.
    pub ratio: f64,
    /// Its standard error.
    pub standard_error: f64,
}

fn log_ratio(earlier: f64, later: f64) -> Result<f64, Undefined> {
    if earlier <= 0.0 || later <= 0.0 {
        return Err(Undefined::OutOfRange);
    }
    finite_result(libm::log(later) - libm::log(earlier))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_relative, finite_series};
    use proptest::prelude::*;

    /// Parker, Vannest & Davis 2011, Behavior Modification 35:303–322.
    const BASELINE: [f64; 6] = [20.0, 20.0, 26.0, 25.0, 22.0, 23.0];
    const TREATMENT: [f64; 7] = [28.0, 25.0, 24.0, 27.0, 30.0, 30.0, 29.0];

    /// By the formulas of the R package `SingleCaseES` (Effect-size-definitions) on the data of Parker et al. 2011.
    #[test]
    fn response_ratio() {
        assert_relative(
            log_response_ratio(&BASELINE, &TREATMENT).unwrap(),
            0.195_884_623_3,
            1e-9,
        );
        let corrected = corrected_log_response_ratio(&BASELINE, &TREATMENT).unwrap();
        assert_relative(corrected.ratio, 0.195_396_165_7, 1e-9);
        assert_relative(corrected.standard_error, 0.055_577_232_13, 1e-9);
        assert_relative(
            percent_change(&BASELINE, &TREATMENT).unwrap(),
            21.638_655_46,
            1e-9,
        );
    }

    /// Bonett & Price 2020, example 1, in the tests of R's `SingleCaseES`.
    #[test]
    fn ratio_of_medians() {
        let earlier = [
            21.0, 14.0, 11.0, 27.0, 19.0, 32.0, 21.0, 23.0, 18.0, 26.0, 24.0, 23.0,
        ];
        let later = [
            34.0, 19.0, 26.0, 31.0, 39.0, 42.0, 27.0, 14.0, 25.0, 29.0, 33.0, 36.0,
        ];
        assert_relative(
            log_ratio_of_medians(&earlier, &later).unwrap(),
            0.310_154_928_3,
            1e-9,
        );
    }

    /// From 2.0 of 4 points to 3.0, then 2.75: by hand.
    #[test]
    fn gains() {
        let (pre, post, retention) = ([1.0, 2.0, 3.0], [3.0, 3.0], [2.5, 3.0]);
        assert_eq!(change(&pre, &post), Ok(1.0));
        assert_eq!(percent_change(&pre, &post), Ok(50.0));
        assert_eq!(
            percent_improvement(&pre, &post, Direction::Lower),
            Ok(-50.0)
        );
        assert_eq!(lasting_gain(&pre, &post, &retention), Ok(75.0));
        assert_eq!(normalised_gain(&pre, &post, 4.0), Ok(0.5));
        assert_eq!(normalised_gain(&post, &pre, 0.0), Ok(1.0 / 3.0));
        // A rise from −4 to −2 is an increase.
        assert_eq!(percent_change(&[-4.0], &[-2.0]), Ok(50.0));
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(
            percent_change(&[-1.0, 1.0], &[2.0]),
            Err(Undefined::ZeroDenominator)
        );
        assert_eq!(
            lasting_gain(&[2.0], &[2.0 + 1e-10], &[3.0]),
            Err(Undefined::ZeroDenominator)
        );
        assert_eq!(
            normalised_gain(&[4.0], &[3.0], 4.0),
            Err(Undefined::ZeroDenominator)
        );
        assert_eq!(
            log_response_ratio(&[0.0], &[3.0]),
            Err(Undefined::OutOfRange)
        );
        assert!(change(&[], &[1.0]).is_err());
    }

    proptest! {
        #[test]
        fn swapping_the_blocks_flips_the_sign(a in finite_series(1, 9), b in finite_series(1, 9)) {
            prop_assert_eq!(change(&a, &b)?, -change(&b, &a)?);
            if let (Ok(there), Ok(back)) = (log_response_ratio(&a, &b), log_response_ratio(&b, &a)) {
                prop_assert_eq!(there, -back);
            }
            if let Ok(percent) = percent_improvement(&a, &b, Direction::Higher) {
                prop_assert_eq!(percent_improvement(&a, &b, Direction::Lower)?, -percent);
            }
            // All of the gain is there at once; nothing of it before.
            if let Ok(all) = lasting_gain(&a, &b, &b) {
                prop_assert!((all - 100.0).abs() < 1e-9);
                prop_assert_eq!(lasting_gain(&a, &b, &a)?, 0.0);
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..4), b in prop::collection::vec(prop::num::f64::ANY, 0..4), best in prop::num::f64::ANY) {
            for value in [change(&a, &b), percent_change(&a, &b), lasting_gain(&a, &b, &a), normalised_gain(&a, &b, best), log_response_ratio(&a, &b), log_ratio_of_medians(&a, &b), corrected_log_response_ratio(&a, &b).map(|log| log.ratio)].into_iter().flatten() {
                prop_assert!(value.is_finite());
            }
        }
    }
}
