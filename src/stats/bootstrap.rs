//! Bootstrap intervals, percentile and bias-corrected and accelerated (`BCa`): of a difference of means on a grid of few steps from all
//! resamples there are ([`ideal`]), else from 2,000 seeded ones.
//!
//! Source: Efron & Tibshirani 1993, An Introduction to the Bootstrap, chapters 13 and 14; several samples as in `SciPy`'s `stats.bootstrap`.
//! A quantile is the smallest resampled value that has at least that share at or below it; resamples equal to the estimate count half towards
//! the bias correction.

mod ideal;

use self::ideal::IdealDifference;
use super::{
    Interval, Undefined,
    distribution::{normal_cdf, normal_quantile},
    moments::{Moments, difference_of_means},
    random::Stream,
    requirements::{at_least, finite_numbers, finite_result},
    summary::sd,
    whole_steps::WholeSteps,
};

/// How many resamples are drawn where they are not all counted.
pub const RESAMPLES: usize = 2_000;

/// Trials together above which resampling takes too long; by then the t interval is as good.
const MOST_TRIALS: usize = 20_000;

/// A statistic with its bootstrap intervals, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bootstrap {
    /// The statistic of the sample itself.
    pub estimate: f64,
    /// The standard deviation of the resampled statistic.
    pub standard_error: f64,
    /// Between the resampled quantiles of the level.
    pub percentile: Interval,
    /// The same, corrected for bias and for a spread that changes with the value.
    pub bca: Interval,
}

/// Bootstrap of the mean of `later` minus the mean of `earlier`, each block resampled on its own.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two trials in a block; [`Undefined::NoSpread`] where neither block varies; [`Undefined::OutOfRange`] unless
/// 0 < level < 1, and for more than 20,000 trials.
pub fn of_difference_of_means(
    earlier: &[f64],
    later: &[f64],
    level: f64,
    mut stream: Stream,
) -> Result<Bootstrap, Undefined> {
    finite_numbers(2, earlier)?;
    finite_numbers(2, later)?;
    if earlier.len() + later.len() > MOST_TRIALS {
        return Err(Undefined::OutOfRange);
    }
    let (a, b) = (Moments::of(earlier)?, Moments::of(later)?);
    if a.squared_deviations + b.squared_deviations <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let estimate = difference_of_means(earlier, later)?;
    let both: Vec<f64> = earlier.iter().chain(later).copied().collect();
    let scale = WholeSteps::of(&both)?;
    let (before, after) = scale.steps.split_at(earlier.len());
    let (n_a, n_b) = (a.n as f64, b.n as f64);
    // Whole numbers, so that a resample with the estimate's value is known for one.
    let scaled = |of_a: i64, of_b: i64| n_a * of_b as f64 - n_b * of_a as f64;
    let seen = scaled(before.iter().sum(), after.iter().sum());
    // Leaving one trial out moves a mean in proportion to the trial's deviation.
    let squares = |block: &Moments| block.squared_deviations / (block.n as f64).powi(2);
    let size = finite_result((squares(&a) + squares(&b)).sqrt())?;
    if size <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let cubes = |values: &[f64], block: &Moments| -> f64 {
        values
            .iter()
            .map(|value| ((value - block.mean) / block.n as f64 / size).powi(3))
            .sum()
    };
    let acceleration = finite_result((cubes(later, &b) - cubes(earlier, &a)) / 6.0)?;
    let unit = n_a * n_b * scale.per_unit;
    let mut resampled = match IdealDifference::of(before, after) {
        Some(ideal) => Resampled::All(ideal),
        None => Resampled::Drawn(
            (0..RESAMPLES)
                .map(|_| {
                    let of_a = resampled_sum(before, &mut stream);
                    scaled(of_a, resampled_sum(after, &mut stream))
                })
                .collect(),
        ),
    };
    let standard_error = resampled.sd()? / unit;
    let intervals = Quantiles::of(&mut resampled, seen, acceleration).intervals(level)?;
    let in_unit = |interval: Interval| interval.map(|value| value / unit);
    Ok(Bootstrap {
        estimate,
        standard_error,
        percentile: in_unit(intervals.percentile),
        bca: in_unit(intervals.bca),
    })
}

/// Bootstrap of any statistic of one or more samples of the given sizes.
///
/// `statistic` is given, for every sample, the places of its members in the resample, so that paired or several columns stay together.
/// Resamples for which it is undefined are left out; more than 1 in 20 of them leave the whole undefined.
///
/// # Errors
/// What `statistic` gives for the samples themselves; [`Undefined::TooFew`] for a sample of fewer than two; [`Undefined::NoSpread`] where the
/// statistic doesn't vary; [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn of_statistic(
    sizes: &[usize],
    level: f64,
    stream: Stream,
    statistic: impl FnMut(&[Vec<usize>]) -> Result<f64, Undefined>,
) -> Result<Bootstrap, Undefined> {
    resample_statistic(sizes, level, stream, RESAMPLES, statistic)
}

fn resample_statistic(
    sizes: &[usize],
    level: f64,
    mut stream: Stream,
    resamples: usize,
    mut statistic: impl FnMut(&[Vec<usize>]) -> Result<f64, Undefined>,
) -> Result<Bootstrap, Undefined> {
    let shortest = sizes.iter().copied().min().unwrap_or_default();
    at_least(2, shortest)?;
    let mut places: Vec<Vec<usize>> = sizes.iter().map(|&size| (0..size).collect()).collect();
    let estimate = statistic(&places)?;
    let acceleration = jackknife_acceleration(sizes, &mut statistic)?;
    let mut resampled = Vec::with_capacity(resamples);
    for _ in 0..resamples {
        for (sample, &size) in places.iter_mut().zip(sizes) {
            for place in sample.iter_mut() {
                *place = stream.index(size);
            }
        }
        resampled.extend(statistic(&places).ok().filter(|value| value.is_finite()));
    }
    if resampled.len() * 20 < resamples * 19 {
        return Err(Undefined::NoSpread);
    }
    let standard_error = sd(&resampled)?;
    if standard_error <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let mut resampled = Resampled::Drawn(resampled);
    let intervals = Quantiles::of(&mut resampled, estimate, acceleration).intervals(level)?;
    Ok(Bootstrap {
        estimate,
        standard_error,
        ..intervals
    })
}

/// The skewness of the influence of single members, from leaving each out in turn (Efron & Tibshirani 1993, 14.15, summed over samples).
fn jackknife_acceleration(
    sizes: &[usize],
    statistic: &mut impl FnMut(&[Vec<usize>]) -> Result<f64, Undefined>,
) -> Result<f64, Undefined> {
    let (mut cubes, mut squares) = (0.0, 0.0);
    for sample in 0..sizes.len() {
        let mut places: Vec<Vec<usize>> = sizes.iter().map(|&size| (0..size).collect()).collect();
        let n = places.get(sample).map_or(0, Vec::len);
        let without = (0..n)
            .map(|left_out| {
                if let Some(places) = places.get_mut(sample) {
                    *places = (0..n).filter(|&place| place != left_out).collect();
                }
                statistic(&places)
            })
            .collect::<Result<Vec<f64>, Undefined>>()?;
        let middle = Moments::of(&without)?.mean;
        let size = n as f64;
        for value in without {
            let influence = (size - 1.0) * (middle - value) / size;
            squares += influence * influence;
            cubes += influence.powi(3);
        }
    }
    Ok(if squares > 0.0 {
        cubes / (6.0 * squares.powf(1.5))
    } else {
        0.0
    })
}

fn resampled_sum(steps: &[i64], stream: &mut Stream) -> i64 {
    let mut sum = 0;
    for _ in 0..steps.len() {
        sum += steps
            .get(stream.index(steps.len()))
            .copied()
            .unwrap_or_default();
    }
    sum
}

/// What resampling gives.
enum Resampled {
    /// Of every resample that there is.
    All(IdealDifference),
    /// Of some that were drawn.
    Drawn(Vec<f64>),
}

impl Resampled {
    fn sd(&self) -> Result<f64, Undefined> {
        match self {
            Self::All(ideal) => Ok(ideal.sd()),
            Self::Drawn(values) => sd(values),
        }
    }

    /// The share below a value, with half of what equals it.
    fn share_below(&self, value: f64) -> f64 {
        match self {
            Self::All(ideal) => ideal.share_below(value),
            Self::Drawn(values) => {
                let below = values.iter().filter(|&&other| other < value).count();
                let not_above = values.iter().filter(|&&other| other <= value).count();
                (below + not_above) as f64 / (2.0 * values.len() as f64)
            }
        }
    }

    fn quantile(&mut self, share: f64) -> f64 {
        let values = match self {
            Self::All(ideal) => return ideal.quantile(share),
            Self::Drawn(values) => values,
        };
        let count = values.len();
        // Rounding of the product must not move a whole number up.
        let at_or_below = (share * count as f64 - 1e-9)
            .ceil()
            .min(count as f64)
            .max(1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "whole, from 1 to the count"
        )]
        let place = at_or_below as usize - 1;
        let (_, value, _) = values.select_nth_unstable_by(place, f64::total_cmp);
        *value
    }
}

/// Resampled values, of which single quantiles are wanted.
struct Quantiles<'a> {
    resampled: &'a mut Resampled,
    estimate: f64,
    bias: f64,
    acceleration: f64,
}

impl<'a> Quantiles<'a> {
    fn of(resampled: &'a mut Resampled, estimate: f64, acceleration: f64) -> Self {
        let share = resampled.share_below(estimate);
        Self {
            resampled,
            estimate,
            // A share of 0 or 1 has no deviate: the estimate is at an end, and correcting for it has no meaning.
            bias: normal_quantile(share).unwrap_or(0.0),
            acceleration,
        }
    }

    /// Both intervals, the other fields left as they are here.
    fn intervals(&mut self, level: f64) -> Result<Bootstrap, Undefined> {
        if !(level > 0.0 && level < 1.0) {
            return Err(Undefined::OutOfRange);
        }
        let tail = 0.5 - 0.5 * level;
        let deviate = normal_quantile(tail)?;
        let percentile = self.between(tail, 1.0 - tail);
        let bca = self.between(self.corrected(deviate), self.corrected(-deviate));
        Ok(Bootstrap {
            estimate: self.estimate,
            standard_error: 0.0,
            percentile,
            bca,
        })
    }

    /// The share of resamples below the corrected bound (Efron & Tibshirani 1993, 14.10).
    fn corrected(&self, deviate: f64) -> f64 {
        let moved = self.bias + deviate;
        let stretch = 1.0 - self.acceleration * moved;
        // Beyond the pole the bound is the extreme that it was on its way to.
        if stretch <= 0.0 {
            return if moved > 0.0 { 1.0 } else { 0.0 };
        }
        normal_cdf(self.bias + moved / stretch)
    }

    fn between(&mut self, low: f64, high: f64) -> Interval {
        Interval {
            low: self.resampled.quantile(low),
            high: self.resampled.quantile(high),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DRUG_1, DRUG_2, MICE_CONTROL, MICE_TREATED},
        summary::mean,
        testing::{assert_close, finite_series},
    };
    use proptest::prelude::*;

    fn stream() -> Stream {
        Stream::new(1, "bootstrap")
    }

    fn of_mean(values: &[f64], level: f64) -> Bootstrap {
        resample_statistic(&[values.len()], level, stream(), 100_000, |places| {
            let drawn: Vec<f64> = places[0].iter().map(|&place| values[place]).collect();
            mean(&drawn)
        })
        .unwrap()
    }

    /// The ideal bootstrap, all 1,716 multisets of seven mice enumerated (Efron & Tibshirani 1993, tables 2.1 and 13.1, standard error 23.36).
    /// Of 100,000 resamples, quantiles are within 0.8 days.
    #[test]
    fn treated_mice() {
        let at_90 = of_mean(&MICE_TREATED, 0.9);
        assert_close(at_90.standard_error, 23.363_523_44, 0.25);
        assert_close(at_90.percentile.low, 49.428_571_43, 0.8);
        assert_close(at_90.percentile.high, 126.714_285_7, 0.8);
        assert_close(at_90.bca.low, 52.285_714_29, 0.8);
        assert_close(at_90.bca.high, 130.142_857_1, 0.8);
        let at_95 = of_mean(&MICE_TREATED, 0.95);
        assert_close(at_95.percentile.low, 43.428_571_43, 0.8);
        assert_close(at_95.percentile.high, 134.428_571_4, 1.0);
        assert_close(at_95.bca.low, 46.285_714_29, 0.8);
        assert_close(at_95.bca.high, 138.285_714_3, 1.0);
    }

    /// The same of the nine controls, 24,310 multisets.
    #[test]
    fn control_mice() {
        let at_90 = of_mean(&MICE_CONTROL, 0.9);
        assert_close(at_90.standard_error, 13.348_859_27, 0.15);
        assert_close(at_90.percentile.low, 35.888_888_89, 0.5);
        assert_close(at_90.percentile.high, 79.666_666_67, 0.6);
        assert_close(at_90.bca.low, 38.666_666_67, 0.5);
        assert_close(at_90.bca.high, 84.777_777_78, 0.6);
    }

    /// The correlation of 15 law schools, ideal bootstrap over all 77,558,760 multisets (Efron & Tibshirani 1993; `BCa` 90 % about .43 to .92).
    #[test]
    fn law_schools() {
        let lsat = [
            576.0, 635.0, 558.0, 578.0, 666.0, 580.0, 555.0, 661.0, 651.0, 605.0, 653.0, 575.0,
            545.0, 572.0, 594.0,
        ];
        let gpa = [
            3.39, 3.3, 2.81, 3.03, 3.44, 3.07, 3.0, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96,
        ];
        let correlation = |places: &[Vec<usize>]| {
            let column =
                |from: &[f64]| -> Vec<f64> { places[0].iter().map(|&place| from[place]).collect() };
            crate::stats::regression::line(&column(&lsat), &column(&gpa))?
                .r
                .ok_or(Undefined::NoSpread)
        };
        let result = resample_statistic(&[15], 0.9, stream(), 40_000, correlation).unwrap();
        assert_close(result.estimate, 0.776_374_491_3, 1e-9);
        assert_close(result.standard_error, 0.133_559_762, 0.003);
        assert_close(result.percentile.low, 0.523_065, 0.008);
        assert_close(result.percentile.high, 0.947_531, 0.003);
        assert_close(result.bca.low, 0.429_105, 0.012);
        assert_close(result.bca.high, 0.926_86, 0.004);
        let acceleration = jackknife_acceleration(&[15], &mut { correlation }).unwrap();
        assert_close(acceleration, -0.075_671_564_94, 1e-9);
    }

    /// `SciPy` 1.17.1, `stats.bootstrap` of the difference of means, 1,000,000 resamples; of 2,000 the bounds have a standard error of about 0.06.
    #[test]
    #[expect(clippy::approx_constant, reason = "a bound of 3.14")]
    fn sleep() {
        let result = of_difference_of_means(&DRUG_1, &DRUG_2, 0.95, stream()).unwrap();
        assert_eq!(result.estimate, 1.58);
        assert_close(result.standard_error, 0.805_563_292, 0.05);
        assert_close(result.percentile.low, 0.0, 0.25);
        assert_close(result.percentile.high, 3.15, 0.25);
        assert_close(result.bca.low, -0.01, 0.25);
        assert_close(result.bca.high, 3.14, 0.25);
        // The general way gives the same acceleration, and nearly the same bounds.
        let general = resample_statistic(&[10, 10], 0.95, stream(), 20_000, |places| {
            let column = |from: &[f64], sample: usize| -> Vec<f64> {
                places[sample].iter().map(|&place| from[place]).collect()
            };
            difference_of_means(&column(&DRUG_1, 0), &column(&DRUG_2, 1))
        })
        .unwrap();
        assert_close(general.bca.low, -0.01, 0.1);
        assert_close(general.bca.high, 3.14, 0.1);
    }

    #[test]
    fn what_has_no_value_says_why() {
        let of = |a: &[f64], b: &[f64]| of_difference_of_means(a, b, 0.95, stream());
        assert_eq!(of(&[2.0; 4], &[3.0; 4]), Err(Undefined::NoSpread));
        assert!(of(&[2.0], &[3.0, 4.0]).is_err());
        assert_eq!(
            of_difference_of_means(&[1.0, 2.0], &[3.0, 4.0], 0.0, stream()),
            Err(Undefined::OutOfRange)
        );
        assert_eq!(
            of_statistic(&[5], 0.95, stream(), |_| Ok(1.0)),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            of_statistic(&[5], 0.95, stream(), |_| Err(Undefined::OutOfRange)),
            Err(Undefined::OutOfRange)
        );
        assert!(of(&[2.0; 4], &[3.0, 3.0, 4.0, 5.0]).is_ok());
        assert_eq!(
            of(&vec![2.0; 20_000], &[3.0, 4.0]),
            Err(Undefined::OutOfRange)
        );
    }

    #[test]
    fn the_same_on_every_run_and_thread() {
        let once = of_difference_of_means(&DRUG_1, &DRUG_2, 0.95, stream());
        let again = std::thread::spawn(|| of_difference_of_means(&DRUG_1, &DRUG_2, 0.95, stream()));
        assert_eq!(once, again.join().unwrap());
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]
        #[test]
        fn laws(a in finite_series(4, 9), b in finite_series(4, 9)) {
            if let Ok(result) = of_difference_of_means(&a, &b, 0.95, stream()) {
                prop_assert!(result.percentile.low <= result.percentile.high);
                prop_assert!(result.bca.low <= result.bca.high);
                prop_assert!(result.percentile.contains(result.estimate));
                // A shift of both blocks moves nothing; off the grid, ties may break and a bound go to its neighbour.
                if a.iter().chain(&b).any(|value| value.fract() != 0.0) {
                    return Ok(());
                }
                let moved = |values: &[f64]| values.iter().map(|value| value + 7.0).collect::<Vec<f64>>();
                let shifted = of_difference_of_means(&moved(&a), &moved(&b), 0.95, stream())?;
                prop_assert!((shifted.bca.low - result.bca.low).abs() < 1e-6);
                prop_assert!((shifted.bca.high - result.bca.high).abs() < 1e-6);
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..5), b in prop::collection::vec(prop::num::f64::ANY, 0..5)) {
            if let Ok(result) = of_difference_of_means(&a, &b, 0.95, stream()) {
                prop_assert!(!result.bca.low.is_nan() && !result.bca.high.is_nan() && !result.standard_error.is_nan());
            }
        }
    }
}
