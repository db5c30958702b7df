//! Intraclass correlation: the six coefficients of Shrout & Fleiss, with intervals.
//!
//! From the mean squares of things (rows) by raters (columns), every thing rated once by each. Source: Shrout & Fleiss 1979, Psychological
//! Bulletin 86:420–428; McGraw & Wong 1996, Psychological Methods 1:30–46, with its correction (Psychological Methods 1:390).

use super::distribution::f_quantile;
use super::requirements::{all_finite, at_least, finite_result, same_length};
use super::{Interval, Undefined};

/// An intraclass correlation and its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The correlation.
    pub value: f64,
    /// 95 % interval.
    pub interval: Interval,
}

/// The six intraclass correlations of a table of ratings, with the mean squares they rest on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IntraclassCorrelations {
    /// How many things were rated.
    pub things: usize,
    /// How many raters rated each.
    pub raters: usize,
    /// Mean square between things.
    pub mean_square_things: f64,
    /// Mean square between raters.
    pub mean_square_raters: f64,
    /// Residual mean square of the two-way table.
    pub mean_square_error: f64,
    /// Mean square within things (raters and error together).
    pub mean_square_within: f64,
    /// ICC(1,1): each thing rated by other raters.
    pub one_way: Result<Estimate, Undefined>,
    /// ICC(2,1) = ICC(A,1): raters are a sample, and their levels count (absolute agreement).
    pub agreement: Result<Estimate, Undefined>,
    /// ICC(3,1) = ICC(C,1): raters' levels don't count (consistency).
    pub consistency: Result<Estimate, Undefined>,
    /// ICC(1,k): of the mean of all k raters.
    pub one_way_mean: Result<Estimate, Undefined>,
    /// ICC(2,k) = ICC(A,k): of the mean of all k raters.
    pub agreement_mean: Result<Estimate, Undefined>,
    /// ICC(3,k) = ICC(C,k): of the mean of all k raters.
    pub consistency_mean: Result<Estimate, Undefined>,
}

/// ICC(A,1) alone, which has a value also where its interval has none: where the things don't differ.
///
/// # Errors
/// As for [`intraclass_correlations`] and its coefficients.
pub fn absolute_agreement(things: &[Vec<f64>]) -> Result<f64, Undefined> {
    MeanSquares::of(things)?.agreement_value()
}

/// The intraclass correlations of ratings given thing by thing, one column a rater, none missing.
///
/// # Errors
/// [`Undefined::TooFew`] below two things or raters, [`Undefined::UnequalLengths`], [`Undefined::NoSpread`] where all ratings are equal,
/// [`Undefined::NotFinite`], [`Undefined::Overflow`]. A single coefficient is [`Undefined::ZeroDenominator`] where the estimated variance of
/// what it is a share of is not above 0.
pub fn intraclass_correlations(things: &[Vec<f64>]) -> Result<IntraclassCorrelations, Undefined> {
    let squares = MeanSquares::of(things)?;
    let MeanSquares {
        n,
        k,
        things: msb,
        raters: msj,
        error: mse,
        within: msw,
    } = squares;
    let (things_df, within_df, error_df) = (n - 1.0, n * (k - 1.0), (n - 1.0) * (k - 1.0));
    let agreement = squares.agreement();
    Ok(IntraclassCorrelations {
        things: things.len(),
        raters: things.first().map_or(0, Vec::len),
        mean_square_things: msb,
        mean_square_raters: msj,
        mean_square_error: mse,
        mean_square_within: msw,
        one_way: of_one(msb, msw, k, things_df, within_df),
        agreement,
        consistency: of_one(msb, mse, k, things_df, error_df),
        one_way_mean: of_mean(msb, msw, things_df, within_df),
        agreement_mean: agreement.and_then(|single| {
            Ok(Estimate {
                value: share(msb - mse, msb + (msj - mse) / n)?,
                interval: Interval {
                    low: spearman_brown(single.interval.low, k)?,
                    high: spearman_brown(single.interval.high, k)?,
                },
            })
        }),
        consistency_mean: of_mean(msb, mse, things_df, error_df),
    })
}

/// Mean squares of the two-way table, and its size.
#[derive(Debug, Clone, Copy)]
struct MeanSquares {
    n: f64,
    k: f64,
    things: f64,
    raters: f64,
    error: f64,
    within: f64,
}

impl MeanSquares {
    fn of(table: &[Vec<f64>]) -> Result<Self, Undefined> {
        at_least(2, table.len())?;
        let raters = table.first().map_or(0, Vec::len);
        at_least(2, raters)?;
        for ratings in table {
            same_length(raters, ratings.len())?;
            all_finite(ratings)?;
        }
        let (n, k) = (table.len() as f64, raters as f64);
        let mut grand = 0.0;
        let mut rater_means = vec![0.0; raters];
        let thing_means: Vec<f64> = table
            .iter()
            .map(|ratings| ratings.iter().map(|x| x / k).sum())
            .collect();
        for (ratings, mean) in table.iter().zip(&thing_means) {
            grand += mean / n;
            for (total, x) in rater_means.iter_mut().zip(ratings) {
                *total += x / n;
            }
        }
        let square = |x: f64| x * x;
        let mut error = 0.0;
        let mut within = 0.0;
        for (ratings, thing_mean) in table.iter().zip(&thing_means) {
            for (x, rater_mean) in ratings.iter().zip(&rater_means) {
                error += square(x - thing_mean - rater_mean + grand);
                within += square(x - thing_mean);
            }
        }
        let between_things = k * thing_means
            .iter()
            .map(|mean| square(mean - grand))
            .sum::<f64>();
        let between_raters = n * rater_means
            .iter()
            .map(|mean| square(mean - grand))
            .sum::<f64>();
        let total = finite_result(between_things + between_raters + error)?;
        if total <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        // What rounding leaves of a part that is exactly zero must not become a ratio.
        let largest = table
            .iter()
            .flatten()
            .fold(0.0_f64, |most, x| most.max(x.abs()));
        let dust = n * k * square(8.0 * f64::EPSILON * largest);
        let clean = |part: f64| if part <= dust { 0.0 } else { part };
        if clean(total) <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        Ok(Self {
            n,
            k,
            things: clean(between_things) / (n - 1.0),
            raters: clean(between_raters) / (k - 1.0),
            error: clean(error) / ((n - 1.0) * (k - 1.0)),
            within: clean(within) / (n * (k - 1.0)),
        })
    }

    /// (MSB − MSE)/(MSB + (k − 1)·MSE + k/n·(MSJ − MSE)).
    fn agreement_value(&self) -> Result<f64, Undefined> {
        let noise = (self.k - 1.0) * self.error + self.k / self.n * (self.raters - self.error);
        share(self.things - self.error, self.things + noise)
    }

    /// ICC(A,1), with Satterthwaite's degrees of freedom in its interval.
    fn agreement(&self) -> Result<Estimate, Undefined> {
        let Self {
            n,
            k,
            things: msb,
            raters: msj,
            error: mse,
            ..
        } = *self;
        let icc = self.agreement_value()?;
        // Both parts of the noise in the units of mean squares, so that an error of zero divides nothing.
        let from_raters = k * icc * msj;
        let from_error = (n * (1.0 + (k - 1.0) * icc) - k * icc) * mse;
        let spread = from_raters.powi(2) / (k - 1.0) + from_error.powi(2) / ((n - 1.0) * (k - 1.0));
        if spread <= 0.0 {
            // Raters neither differ in level nor err.
            return Ok(Estimate {
                value: icc,
                interval: Interval {
                    low: icc,
                    high: icc,
                },
            });
        }
        let df = finite_result((from_raters + from_error).powi(2) / spread)?;
        let upper = f_quantile(0.975, n - 1.0, df)?;
        let lower = f_quantile(0.975, df, n - 1.0)?;
        let noise = k * msj + (k * n - k - n) * mse;
        Ok(Estimate {
            value: icc,
            interval: Interval {
                low: share(n * (msb - upper * mse), upper * noise + n * msb)?,
                high: share(n * (lower * msb - mse), noise + n * lower * msb)?,
            },
        })
    }
}

/// A single rater's coefficient from F = signal/noise on these degrees of freedom.
fn of_one(
    signal: f64,
    noise: f64,
    k: f64,
    signal_df: f64,
    noise_df: f64,
) -> Result<Estimate, Undefined> {
    let upper = f_quantile(0.975, signal_df, noise_df)?;
    let lower = f_quantile(0.975, noise_df, signal_df)?;
    Ok(Estimate {
        value: share(signal - noise, signal + (k - 1.0) * noise)?,
        interval: Interval {
            low: share(signal - upper * noise, signal + (k - 1.0) * upper * noise)?,
            high: share(lower * signal - noise, lower * signal + (k - 1.0) * noise)?,
        },
    })
}

/// The coefficient of a mean of raters, 1 − noise/signal.
fn of_mean(signal: f64, noise: f64, signal_df: f64, noise_df: f64) -> Result<Estimate, Undefined> {
    let upper = f_quantile(0.975, signal_df, noise_df)?;
    let lower = f_quantile(0.975, noise_df, signal_df)?;
    Ok(Estimate {
        value: share(signal - noise, signal)?,
        interval: Interval {
            low: share(signal - upper * noise, signal)?,
            high: share(lower * signal - noise, lower * signal)?,
        },
    })
}

/// The reliability of the mean of k ratings from that of one.
fn spearman_brown(single: f64, k: f64) -> Result<f64, Undefined> {
    share(k * single, 1.0 + (k - 1.0) * single)
}

/// A part of a whole; estimates of variances may leave no whole, or less than none.
fn share(part: f64, whole: f64) -> Result<f64, Undefined> {
    if whole <= 0.0 {
        return Err(Undefined::ZeroDenominator);
    }
    finite_result(part / whole)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{SHROUT_FLEISS, WINE_BITTERNESS};
    use crate::stats::testing::{assert_close, assert_relative};
    use proptest::prelude::*;

    fn rows<const K: usize>(table: &[[f64; K]]) -> Vec<Vec<f64>> {
        table.iter().map(|row| row.to_vec()).collect()
    }

    #[track_caller]
    fn assert_estimate(found: Result<Estimate, Undefined>, value: f64, low: f64, high: f64) {
        let found = found.unwrap();
        assert_relative(found.value, value, 1e-9);
        assert_relative(found.interval.low, low, 1e-8);
        assert_relative(found.interval.high, high, 1e-8);
    }

    /// Shrout & Fleiss 1979 (.17 .29 .71 .44 .62 .91); R 4.2.2 psych 2.2.9 (lmer = FALSE) and pingouin 0.7.0 for the digits.
    #[test]
    fn six_targets_by_four_judges() {
        let found = intraclass_correlations(&rows(&SHROUT_FLEISS)).unwrap();
        assert_relative(found.mean_square_things, 11.241_666_666_666_7, 1e-13);
        assert_relative(found.mean_square_raters, 32.486_111_111_111_1, 1e-13);
        assert_relative(found.mean_square_error, 1.019_444_444_444_44, 1e-13);
        assert_relative(found.mean_square_within, 6.263_888_888_888_9, 1e-13);
        assert_estimate(
            found.one_way,
            0.165_741_768_4,
            -0.132_932_324_87,
            0.722_560_062_3,
        );
        assert_estimate(
            found.agreement,
            0.289_763_779_5,
            0.018_786_513_37,
            0.761_084_369_6,
        );
        assert_estimate(
            found.consistency,
            0.714_840_714_8,
            0.342_464_765_03,
            0.945_858_26,
        );
        assert_estimate(
            found.one_way_mean,
            0.442_797_133_7,
            -0.884_442_155_24,
            0.912_415_420_3,
        );
        assert_estimate(
            found.agreement_mean,
            0.620_050_547_6,
            0.071_136_815_3,
            0.927_232_040_2,
        );
        assert_estimate(
            found.consistency_mean,
            0.909_315_542_4,
            0.675_674_713_82,
            0.985_891_678_2,
        );
    }

    /// Eight wines by four judges: pingouin 0.7.0, data set `icc`.
    #[test]
    fn eight_wines_by_four_judges() {
        let found = intraclass_correlations(&rows(&[
            [1.0, 2.0, 0.0, 1.0],
            [1.0, 3.0, 3.0, 2.0],
            [3.0, 8.0, 1.0, 4.0],
            [6.0, 4.0, 3.0, 3.0],
            [6.0, 5.0, 5.0, 6.0],
            [7.0, 5.0, 6.0, 2.0],
            [8.0, 7.0, 7.0, 9.0],
            [9.0, 9.0, 9.0, 8.0],
        ]))
        .unwrap();
        assert_estimate(
            found.one_way,
            0.727_520_915_9,
            0.433_772_833_3,
            0.926_696_029_3,
        );
        assert_estimate(
            found.agreement,
            0.727_688_787_2,
            0.434_489_657_9,
            0.926_708_606_3,
        );
        assert_estimate(
            found.consistency,
            0.729_486_500_8,
            0.426_146_030_1,
            0.927_895_261_5,
        );
    }

    /// Randall 1989, Biometrical Journal 31:781–793 (R ordinal `wine`): R 4.2.2 psych 2.2.9.
    #[test]
    fn eight_bottles_by_nine_judges() {
        let found = intraclass_correlations(&rows(&WINE_BITTERNESS)).unwrap();
        assert_relative(found.one_way.unwrap().value, 0.441_862_54, 2e-8);
        assert_relative(found.consistency.unwrap().value, 0.546_490_56, 2e-8);
        let agreement = found.agreement.unwrap();
        assert_relative(agreement.value, 0.452_525_6, 2e-8);
        assert_relative(agreement.interval.low, 0.212_530_02, 2e-8);
        assert_relative(agreement.interval.high, 0.791_990_92, 2e-8);
        assert_relative(found.agreement_mean.unwrap().value, 0.881_504_3, 2e-8);
    }

    #[test]
    fn raters_who_never_differ_agree_fully() {
        let found = intraclass_correlations(&rows(&[[1.0, 1.0], [2.0, 2.0], [4.0, 4.0]])).unwrap();
        for estimate in [
            found.one_way,
            found.agreement,
            found.consistency,
            found.agreement_mean,
        ] {
            let estimate = estimate.unwrap();
            assert_close(estimate.value, 1.0, 1e-15);
            assert_eq!(
                estimate.interval,
                Interval {
                    low: 1.0,
                    high: 1.0
                }
            );
        }
        // A constant shift costs agreement but not consistency.
        let shifted =
            intraclass_correlations(&rows(&[[1.0, 2.0], [2.0, 3.0], [4.0, 5.0]])).unwrap();
        assert_close(shifted.consistency.unwrap().value, 1.0, 1e-15);
        assert!(shifted.agreement.unwrap().value < 0.9);
    }

    /// By hand: mean squares 0 of things, 1/6 of raters and 2/3 of error give −2/3 over 1/3.
    #[test]
    fn things_alike_have_a_value_without_an_interval() {
        let table = rows(&[[1.0, 2.0], [2.0, 1.0], [1.0, 2.0]]);
        assert_close(absolute_agreement(&table).unwrap(), -2.0, 1e-12);
    }

    #[test]
    fn undefined_without_raters_or_spread() {
        assert!(matches!(
            intraclass_correlations(&rows(&[[1.0, 2.0]])),
            Err(Undefined::TooFew { .. })
        ));
        assert!(matches!(
            intraclass_correlations(&rows(&[[1.0], [2.0]])),
            Err(Undefined::TooFew { .. })
        ));
        assert_eq!(
            intraclass_correlations(&rows(&[[0.1, 0.1], [0.1, 0.1]])),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            intraclass_correlations(&[vec![1.0, 2.0], vec![1.0]]),
            Err(Undefined::UnequalLengths)
        );
    }

    proptest! {
        #[test]
        fn nothing_is_nan_and_levels_do_not_matter(
            table in prop::collection::vec(prop::collection::vec((0..7_i32).prop_map(f64::from), 3), 2..12), shift in -50..50_i32,
        ) {
            let Ok(found) = intraclass_correlations(&table) else { return Ok(()) };
            let estimates = [
                found.one_way, found.agreement, found.consistency, found.one_way_mean, found.agreement_mean, found.consistency_mean,
            ];
            for estimate in estimates.into_iter().flatten() {
                prop_assert!(estimate.value <= 1.0 + 1e-12);
                prop_assert!(estimate.interval.low.is_finite() && estimate.interval.high.is_finite());
            }
            for estimate in [found.one_way, found.consistency].into_iter().flatten() {
                prop_assert!(estimate.interval.low <= estimate.value + 1e-9 && estimate.value <= estimate.interval.high + 1e-9);
            }
            let moved: Vec<Vec<f64>> =
                table.iter().map(|row| row.iter().map(|x| x * 2.0 + f64::from(shift)).collect()).collect();
            let other = intraclass_correlations(&moved).unwrap();
            if let (Ok(found), Ok(other)) = (found.agreement, other.agreement) {
                assert_close(found.value, other.value, 1e-9);
            }
        }
    }
}
