//! Krippendorff's alpha: any number of raters, ratings missing, categories, ranks or numbers.
//!
//! Source: Krippendorff, Computing Krippendorff's Alpha-Reliability (2011); the interval by leaving out one thing at a time (Efron &
//! Tibshirani 1993, chapter 11), as the distribution of alpha has no formula.

use crate::stats::distribution::t_quantile;
use crate::stats::requirements::{all_finite, at_least};
use crate::stats::{Interval, Undefined};

/// What differences between ratings mean.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// Categories without order: different or not.
    Nominal,
    /// Ranks: the ratings that lie between.
    Ordinal,
    /// Numbers: the squared difference.
    Interval,
    /// Numbers from a true zero: the squared difference over the squared sum.
    Ratio,
}

/// Alpha with how much it rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Alpha {
    /// 1 − observed/expected disagreement: 1 is perfect, 0 is chance.
    pub alpha: f64,
    /// How many things had two ratings or more.
    pub things: usize,
    /// How many ratings those things had.
    pub ratings: usize,
    /// 95 % interval from leaving out one thing at a time; absent where things are fewer than three or one alone makes alpha undefined.
    pub interval: Option<Interval>,
}

/// Krippendorff's alpha of ratings given thing by thing, one place a rater, missing ones `None`. Things with a single rating drop out.
///
/// # Errors
/// [`Undefined::TooFew`] where nothing was rated twice, [`Undefined::OneCategory`] where all ratings are equal, [`Undefined::OutOfRange`] for
/// negative ratings at ratio level or where squares pass the largest double, [`Undefined::NotFinite`].
pub fn krippendorff_alpha(things: &[Vec<Option<f64>>], level: Level) -> Result<Alpha, Undefined> {
    let things: Vec<Vec<f64>> = things
        .iter()
        .map(|ratings| ratings.iter().flatten().copied().collect::<Vec<f64>>())
        .filter(|ratings| ratings.len() > 1)
        .collect();
    at_least(1, things.len())?;
    for ratings in &things {
        all_finite(ratings)?;
        if level == Level::Ratio && ratings.iter().any(|&rating| rating < 0.0) {
            return Err(Undefined::OutOfRange);
        }
    }
    let alpha = alpha_without(&things, None, level)?;
    Ok(Alpha {
        alpha,
        things: things.len(),
        ratings: things.iter().map(Vec::len).sum(),
        interval: interval(&things, level, alpha),
    })
}

/// Alpha of all things but one.
fn alpha_without(
    things: &[Vec<f64>],
    left_out: Option<usize>,
    level: Level,
) -> Result<f64, Undefined> {
    let kept = || {
        things
            .iter()
            .enumerate()
            .filter(move |(index, _)| Some(*index) != left_out)
            .map(|(_, ratings)| ratings)
    };
    let scale = Scale::of(kept().flatten().copied());
    let count = kept().map(Vec::len).sum::<usize>() as f64;
    let observed: f64 = kept()
        .map(|ratings| {
            let sum: f64 = ratings
                .iter()
                .enumerate()
                .flat_map(|(later, &b)| ratings.iter().take(later).map(move |&a| (a, b)))
                .map(|(a, b)| scale.difference(a, b, level))
                .sum();
            2.0 * sum / (ratings.len() as f64 - 1.0)
        })
        .sum();
    let expected = scale.sum_over_all_pairs(level);
    if expected <= 0.0 {
        return Err(Undefined::OneCategory);
    }
    crate::stats::requirements::finite_result(1.0 - (count - 1.0) * observed / expected)
}

fn interval(things: &[Vec<f64>], level: Level, alpha: f64) -> Option<Interval> {
    let n = things.len();
    if n < 3 {
        return None;
    }
    let without: Vec<f64> = (0..n)
        .map(|index| alpha_without(things, Some(index), level).ok())
        .collect::<Option<_>>()?;
    let size = n as f64;
    let mean = without.iter().sum::<f64>() / size;
    let squares: f64 = without.iter().map(|a| (a - mean).powi(2)).sum();
    let standard_error = ((size - 1.0) / size * squares).sqrt();
    let interval = Interval::around(alpha, t_quantile(0.975, size - 1.0).ok()? * standard_error);
    Some(Interval {
        high: interval.high.min(1.0),
        ..interval
    })
}

/// The ratings given, in order, with how many there are of each.
struct Scale {
    values: Vec<f64>,
    counts: Vec<f64>,
    /// How many ratings lie below each value, plus half of those equal to it.
    ranks: Vec<f64>,
}

impl Scale {
    fn of(ratings: impl Iterator<Item = f64>) -> Self {
        let mut sorted: Vec<f64> = ratings.collect();
        sorted.sort_by(f64::total_cmp);
        let mut scale = Self {
            values: Vec::new(),
            counts: Vec::new(),
            ranks: Vec::new(),
        };
        let mut below = 0.0;
        for group in sorted.chunk_by(|a, b| a >= b) {
            let count = group.len() as f64;
            scale.values.extend(group.first());
            scale.counts.push(count);
            scale.ranks.push(below + count / 2.0);
            below += count;
        }
        scale
    }

    fn difference(&self, a: f64, b: f64, level: Level) -> f64 {
        let rank = |value: f64| {
            let place = self.values.partition_point(|&other| other < value);
            self.ranks.get(place).copied().unwrap_or(0.0)
        };
        match level {
            Level::Nominal => f64::from(u8::from((a - b).abs() > 0.0)),
            Level::Ordinal => (rank(a) - rank(b)).powi(2),
            Level::Interval => (a - b).powi(2),
            Level::Ratio if a + b > 0.0 => ((a - b) / (a + b)).powi(2),
            Level::Ratio => 0.0,
        }
    }

    /// The differences between all ordered pairs of ratings, summed.
    fn sum_over_all_pairs(&self, level: Level) -> f64 {
        let about_mean = |values: &[f64]| {
            let n: f64 = self.counts.iter().sum();
            let mean = values
                .iter()
                .zip(&self.counts)
                .map(|(v, c)| v * (c / n))
                .sum::<f64>();
            let squares: f64 = values
                .iter()
                .zip(&self.counts)
                .map(|(v, c)| c * (v - mean).powi(2))
                .sum();
            2.0 * n * squares
        };
        match level {
            // Squared differences of all pairs are 2n times the squares about the mean: no loop over pairs.
            Level::Interval => about_mean(&self.values),
            Level::Ordinal => about_mean(&self.ranks),
            Level::Nominal => {
                let n: f64 = self.counts.iter().sum();
                n * n - self.counts.iter().map(|count| count * count).sum::<f64>()
            }
            Level::Ratio => self
                .values
                .iter()
                .zip(&self.counts)
                .flat_map(|one| {
                    self.values
                        .iter()
                        .zip(&self.counts)
                        .map(move |other| (one, other))
                })
                .map(|((a, count), (b, other_count))| {
                    count * other_count * self.difference(*a, *b, level)
                })
                .sum(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{KRIPPENDORFF_C, things_of_observers};
    use crate::stats::testing::{assert_close, assert_relative};
    use proptest::prelude::*;

    /// Krippendorff 2011, example C (.743, .815, .849, .797); krippendorff 0.9.0 for the digits.
    #[test]
    fn four_observers_with_ratings_missing() {
        let things = things_of_observers(&KRIPPENDORFF_C);
        for (level, alpha) in [
            (Level::Nominal, 0.743_421_052_631_579),
            (Level::Ordinal, 0.815_387_503_754_881_4),
            (Level::Interval, 0.849_107_142_857_142_8),
            (Level::Ratio, 0.797_402_774_711_612_1),
        ] {
            let found = krippendorff_alpha(&things, level).unwrap();
            assert_relative(found.alpha, alpha, 1e-12);
            assert_eq!((found.things, found.ratings), (11, 40));
            assert!(found.interval.unwrap().contains(alpha));
        }
    }

    /// The example of the encyclopedia (nominal .691, interval .811); krippendorff 0.9.0 for the digits.
    #[test]
    fn three_coders_with_many_missing() {
        let nan = f64::NAN;
        let things = things_of_observers(&[
            [
                nan, nan, nan, nan, nan, 3.0, 4.0, 1.0, 2.0, 1.0, 1.0, 3.0, 3.0, nan, 3.0,
            ],
            [
                1.0, nan, 2.0, 1.0, 3.0, 3.0, 4.0, 3.0, nan, nan, nan, nan, nan, nan, nan,
            ],
            [
                nan, nan, 2.0, 1.0, 3.0, 4.0, 4.0, nan, 2.0, 1.0, 1.0, 3.0, 3.0, nan, 4.0,
            ],
        ]);
        for (level, alpha) in [
            (Level::Nominal, 0.691_358_024_691_358),
            (Level::Ordinal, 0.806_721_419_941_315_3),
            (Level::Interval, 0.810_844_892_812_105_9),
        ] {
            assert_relative(
                krippendorff_alpha(&things, level).unwrap().alpha,
                alpha,
                1e-12,
            );
        }
    }

    /// Krippendorff 2011, examples A (.095) and B (.692).
    #[test]
    fn two_observers_of_categories() {
        let binary = things_of_observers(&[
            [0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0, 0.0],
            [1.0, 1.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0],
        ]);
        assert_relative(
            krippendorff_alpha(&binary, Level::Nominal).unwrap().alpha,
            0.095_238_095_238_095_34,
            1e-12,
        );
        let nominal = things_of_observers(&[
            [1.0, 1.0, 2.0, 2.0, 4.0, 3.0, 3.0, 3.0, 5.0, 4.0, 4.0, 1.0],
            [2.0, 1.0, 2.0, 2.0, 2.0, 3.0, 3.0, 3.0, 5.0, 4.0, 4.0, 4.0],
        ]);
        assert_relative(
            krippendorff_alpha(&nominal, Level::Nominal).unwrap().alpha,
            0.691_964_285_714_285_8,
            1e-12,
        );
    }

    #[test]
    fn undefined_without_pairs_or_differences() {
        let one = [vec![Some(1.0), None]];
        assert!(matches!(
            krippendorff_alpha(&one, Level::Interval),
            Err(Undefined::TooFew { .. })
        ));
        let equal = [vec![Some(1.0), Some(1.0)], vec![Some(1.0), Some(1.0)]];
        for level in [
            Level::Nominal,
            Level::Ordinal,
            Level::Interval,
            Level::Ratio,
        ] {
            assert_eq!(
                krippendorff_alpha(&equal, level),
                Err(Undefined::OneCategory)
            );
        }
        let negative = [vec![Some(-1.0), Some(1.0)]];
        assert_eq!(
            krippendorff_alpha(&negative, Level::Ratio),
            Err(Undefined::OutOfRange)
        );
    }

    proptest! {
        #[test]
        fn order_of_raters_and_of_things_does_not_matter(
            things in prop::collection::vec(prop::collection::vec(prop::option::weighted(0.8, 0..6_u8), 3), 1..15),
        ) {
            let things: Vec<Vec<Option<f64>>> =
                things.iter().map(|ratings| ratings.iter().map(|r| r.map(f64::from)).collect()).collect();
            let turned: Vec<Vec<Option<f64>>> =
                things.iter().rev().map(|ratings| ratings.iter().rev().copied().collect()).collect();
            for level in [Level::Nominal, Level::Ordinal, Level::Interval, Level::Ratio] {
                match (krippendorff_alpha(&things, level), krippendorff_alpha(&turned, level)) {
                    (Ok(found), Ok(other)) => {
                        assert_close(found.alpha, other.alpha, 1e-9);
                        prop_assert!(found.alpha <= 1.0 + 1e-12);
                    }
                    (found, other) => prop_assert_eq!(found.is_err(), other.is_err()),
                }
            }
        }
    }
}
