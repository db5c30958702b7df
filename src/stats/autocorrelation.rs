//! What it does to a test that one learner's neighbouring trials are alike: fewer trials' worth of information, and p values too small.

use super::{
    Undefined,
    distribution::t_two_sided,
    moments::{Moments, difference_of_means, lagged_products},
    requirements::{finite_numbers, finite_result},
    t_test::welch_degrees_of_freedom,
};

/// The lag-1 autocorrelation that two or more blocks have in common, each about its own mean, corrected for the bias of short blocks:
/// Σ products/Σ squares + (number of blocks)/(number of trials).
///
/// Source: r₁ + 1/n of Huitema & `McKean` 1991, Psychological Bulletin 110:291–304, summed over blocks.
///
/// # Errors
/// [`Undefined::TooFew`] for no block or one of fewer than three trials; [`Undefined::NoSpread`] where none varies.
pub fn common_lag1(blocks: &[&[f64]]) -> Result<f64, Undefined> {
    if blocks.is_empty() {
        return Err(Undefined::TooFew {
            needed: 1,
            given: 0,
        });
    }
    let (mut lagged, mut squared) = (0.0, 0.0);
    let mut trials = 0;
    for block in blocks {
        finite_numbers(3, block)?;
        let products = lagged_products(block)?;
        let squares = Moments::of(block)?.squared_deviations;
        if products.squared > 0.0 {
            lagged += products.lagged / products.squared * squares;
            squared += squares;
        }
        trials += block.len();
    }
    if squared <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    Ok((lagged / squared + blocks.len() as f64 / trials as f64).clamp(-1.0, 1.0))
}

/// Von Neumann's ratio of successive squared differences to the squared deviations: Σ (xᵢ₊₁ − xᵢ)²/Σ (xᵢ − mean)², 0 to 4.
///
/// About 2 for values in no order; lower where neighbours are alike, higher where they swing. It is 2·(1 − r₁) less what the two ends leave out.
/// Source: von Neumann 1941, Annals of Mathematical Statistics 12:367–395, whose own form divides the sums by n − 1 and n first.
///
/// # Errors
/// [`Undefined::TooFew`] below two values; [`Undefined::NoSpread`] where none differs; [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn von_neumann_ratio(series: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(2, series)?;
    let squares = Moments::of(series)?.squared_deviations;
    if squares <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let successive: f64 = series
        .windows(2)
        .map(|pair| (pair[1] - pair[0]) * (pair[1] - pair[0]))
        .sum();
    finite_result(successive / squares)
}

/// How many times larger the variance of a mean of `n` trials is than of independent ones, where each depends on the one before
/// with correlation `lag1`: 1 + 2·Σ (1 − k/n)·lag1ᵏ over k from 1 to n − 1.
///
/// Source: Bayley & Hammersley 1946, Supplement to the Journal of the Royal Statistical Society 8:184–197.
///
/// # Errors
/// [`Undefined::TooFew`] for no trial; [`Undefined::OutOfRange`] unless −1 < lag1 < 1.
pub fn variance_inflation(n: usize, lag1: f64) -> Result<f64, Undefined> {
    if n == 0 {
        return Err(Undefined::TooFew {
            needed: 1,
            given: 0,
        });
    }
    if !(lag1 > -1.0 && lag1 < 1.0) {
        return Err(Undefined::OutOfRange);
    }
    let mut inflation = 1.0;
    let mut correlation = 1.0;
    for lag in 1..n {
        correlation *= lag1;
        if correlation.abs() < 1e-18 {
            break;
        }
        inflation += 2.0 * (1.0 - lag as f64 / n as f64) * correlation;
    }
    Ok(inflation)
}

/// How many independent trials tell as much about the mean as `n` trials of this autocorrelation.
///
/// # Errors
/// As for [`variance_inflation`].
pub fn effective_n(n: usize, lag1: f64) -> Result<f64, Undefined> {
    Ok(n as f64 / variance_inflation(n, lag1)?)
}

/// Welch's test with an allowance for autocorrelation, beside which the plain p shows whether it was too optimistic.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// The autocorrelation that both blocks have in common.
    pub lag1: f64,
    /// How many independent trials the earlier block is worth.
    pub effective_earlier: f64,
    /// How many independent trials the later block is worth.
    pub effective_later: f64,
    /// The difference in standard errors that allow for it.
    pub t: f64,
    /// Welch's degrees of freedom of the effective numbers.
    pub df: f64,
    /// Two-sided p. Larger than the plain one: that one was optimistic.
    pub p: f64,
}

/// Welch's test of two blocks on their effective numbers of trials; autocorrelation below 0 is taken for none, so that p is never made smaller.
///
/// Approximate, as the sd of a block is itself too small where trials are alike. Source: Zwiers & von Storch 1995, Journal of Climate 8:336–351.
///
/// # Errors
/// As for [`common_lag1`] and [`super::t_test::welch`]; [`Undefined::TooFew`] where a block is worth no more than one trial.
pub fn allow_for_autocorrelation(earlier: &[f64], later: &[f64]) -> Result<Allowance, Undefined> {
    let lag1 = common_lag1(&[earlier, later])?;
    let counted = lag1.clamp(0.0, 0.999_999);
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    let (n_a, n_b) = (effective_n(a.n, counted)?, effective_n(b.n, counted)?);
    if n_a.min(n_b) <= 1.0 {
        return Err(Undefined::TooFew {
            needed: 2,
            given: 1,
        });
    }
    let (of_a, of_b) = (a.variance()? / n_a, b.variance()? / n_b);
    let df = welch_degrees_of_freedom(of_a, n_a, of_b, n_b)?;
    let t = difference_of_means(earlier, later)? / (of_a + of_b).sqrt();
    Ok(Allowance {
        lag1,
        effective_earlier: n_a,
        effective_later: n_b,
        t,
        df,
        p: t_two_sided(t, df)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        nist_sets::LEW,
        published::NILE,
        summary::{lag1_autocorrelation, mean, sd},
        t_test::welch,
        testing::{assert_close, assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// The variance of a mean of autoregressive trials by NumPy 2.4.6: the mean of the matrix ρ^|i − j|, times n.
    #[test]
    fn inflation() {
        for (n, lag1, expected) in [
            (10, 0.3, 1.734_694_600_600_000_1),
            (10, -0.4, 0.469_383_475_199_999_9),
            (5, 0.9, 4.257_639_999_999_999),
            (50, 0.5, 2.92),
            (1, 0.2, 1.0),
        ] {
            assert_relative(variance_inflation(n, lag1).unwrap(), expected, 1e-12);
        }
        assert_relative(effective_n(10, 0.0).unwrap(), 10.0, 1e-15);
        assert_eq!(variance_inflation(5, 1.0), Err(Undefined::OutOfRange));
    }

    /// Of one block it is NIST's r₁ of the beam (certified −0.3073) plus 1/n.
    #[test]
    fn one_block() {
        assert_relative(
            common_lag1(&[&LEW]).unwrap(),
            -0.307_304_800_605_679 + 1.0 / 200.0,
            1e-12,
        );
    }

    /// Drifting blocks: the plain p is optimistic. Blocks that jump to and fro are left as they are.
    #[test]
    fn an_optimistic_p() {
        let (a, b) = (
            [1.0, 1.0, 2.0, 2.0, 3.0, 3.0, 4.0, 4.0],
            [3.0, 3.0, 4.0, 4.0, 5.0, 5.0, 6.0, 6.0],
        );
        let (plain, allowed) = (
            welch(&a, &b, 0.95).unwrap(),
            allow_for_autocorrelation(&a, &b).unwrap(),
        );
        assert!(plain.p < 0.01 && allowed.p > 0.05);
        assert!(allowed.lag1 > 0.5 && allowed.effective_earlier < 4.0);
        let jumping = (
            [1.0, 4.0, 1.0, 4.0, 1.0, 4.0],
            [3.0, 6.0, 3.0, 6.0, 3.0, 6.0],
        );
        let (plain, allowed) = (
            welch(&jumping.0, &jumping.1, 0.95).unwrap(),
            allow_for_autocorrelation(&jumping.0, &jumping.1).unwrap(),
        );
        assert_relative(allowed.p, plain.p, 1e-12);
        assert!(allowed.lag1 < 0.0);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert!(common_lag1(&[]).is_err());
        assert!(common_lag1(&[&[1.0, 2.0]]).is_err());
        assert_eq!(common_lag1(&[&[2.0; 4]]), Err(Undefined::NoSpread));
        assert!(common_lag1(&[&[2.0; 4], &[1.0, 2.0, 3.0]]).is_ok());
    }

    /// NumPy 2.4.6 on NIST's beam deflections and the flow of the Nile; the identity with r₁ by hand.
    #[test]
    fn von_neumann() {
        for (series, ratio) in [
            (LEW.as_slice(), 2.609_642_072_571_561_2),
            (&NILE, 0.977_637_656_189_556_3),
        ] {
            assert_close(von_neumann_ratio(series).unwrap(), ratio, 1e-13);
            let (centre, spread) = (mean(series).unwrap(), sd(series).unwrap());
            let squares = spread * spread * (series.len() as f64 - 1.0);
            let ends = (series[0] - centre).powi(2) + (series[series.len() - 1] - centre).powi(2);
            let r1 = lag1_autocorrelation(series).unwrap();
            assert_close(2.0 * (1.0 - r1) - ends / squares, ratio, 1e-12);
        }
        assert_eq!(von_neumann_ratio(&[3.0, 3.0]), Err(Undefined::NoSpread));
    }

    proptest! {
        #[test]
        fn laws(a in finite_series(3, 15), b in finite_series(3, 15), lag1 in -0.99..0.99) {
            let worth = effective_n(a.len(), lag1)?;
            prop_assert!(worth > 0.0 && (lag1 < 0.0 || worth <= a.len() as f64 + 1e-9));
            if let (Ok(alone), Ok(common)) = (lag1_autocorrelation(&a), common_lag1(&[&a])) {
                prop_assert!((alone + 1.0 / a.len() as f64 - common).abs() < 1e-9);
            }
            if let (Ok(plain), Ok(allowed)) = (welch(&a, &b, 0.95), allow_for_autocorrelation(&a, &b)) {
                prop_assert!(allowed.p >= plain.p - 1e-9);
                prop_assert!(allowed.t.abs() <= plain.t.abs() + 1e-9);
            }
        }
    }
}
