//! Nonoverlap of two blocks: in how many of all pairs the later trial is the better one. Shares from 0 to 1, no unit.

use super::{
    Direction, Interval, Undefined,
    distribution::normal_quantile,
    requirements::{finite_numbers, finite_result},
    summary::median,
    trend::mann_kendall,
};

/// Above this, the slopes between all pairs of trials are too many to hold.
const MOST_FOR_SLOPES: usize = 2_000;

/// Nonoverlap of all pairs: the share of pairs of an earlier and a later trial in which the later is better, ties half.
///
/// Source: Parker & Vannest 2009, Behavior Therapy 40:357–367.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::NotFinite`].
pub fn nap(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    // Sorted, the wins of one later trial over all earlier ones are found by halving.
    let mut sorted: Vec<f64> = earlier.iter().map(|&a| better.orient(a)).collect();
    sorted.sort_by(f64::total_cmp);
    let doubled: u128 = later
        .iter()
        .map(|&b| {
            let b = better.orient(b);
            let below = sorted.partition_point(|&a| a < b);
            let not_above = sorted.partition_point(|&a| a <= b);
            (below + not_above) as u128
        })
        .sum();
    Ok(doubled as f64 / (2.0 * earlier.len() as f64 * later.len() as f64))
}

/// Tau on the same pairs: 2·nap − 1, from −1 to 1.
///
/// # Errors
/// As for [`nap`].
pub fn tau(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    nap(earlier, later, better).map(|nap| 2.0 * nap - 1.0)
}

/// The unbiased standard error of nap.
///
/// Source: Mee 1990, Journal of the American Statistical Association 85:793–800, as R's `SingleCaseES` has it.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two trials in a block.
pub fn nap_standard_error(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
) -> Result<f64, Undefined> {
    finite_numbers(2, earlier)?;
    finite_numbers(2, later)?;
    let (m, n) = (earlier.len() as f64, later.len() as f64);
    let win = |a: f64, b: f64| 0.5 * doubled_win(a, b, better) as f64;
    let of_later = |b: f64| earlier.iter().map(|&a| win(a, b)).sum::<f64>();
    let of_earlier = |a: f64| later.iter().map(|&b| win(a, b)).sum::<f64>();
    let squared = |a: f64| later.iter().map(|&b| win(a, b).powi(2)).sum::<f64>();
    let nap = nap(earlier, later, better)?;
    let q1 = earlier.iter().map(|&a| of_earlier(a).powi(2)).sum::<f64>() / (m * n * n);
    let q2 = later.iter().map(|&b| of_later(b).powi(2)).sum::<f64>() / (m * m * n);
    let q3 = earlier.iter().map(|&a| squared(a)).sum::<f64>() / (m * n);
    let variance =
        (nap - (m + n - 1.0) * nap * nap + n * q1 + m * q2 - 2.0 * q3) / ((m - 1.0) * (n - 1.0));
    // Rounding alone makes it negative, where no pair differs from the others.
    Ok(variance.max(0.0).sqrt())
}

/// Newcombe's interval of nap (his method 5), which stays within 0 and 1 and has a width even where no pair overlaps.
///
/// Source: Newcombe 2006, Statistics in Medicine 25:559–573.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::OutOfRange`] unless 0 < level < 1.
pub fn nap_interval(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
    level: f64,
) -> Result<Interval, Undefined> {
    let nap = nap(earlier, later, better)?;
    let (m, n) = (earlier.len() as f64, later.len() as f64);
    let z = normal_quantile(0.5 + 0.5 * level)?;
    let h = 0.5 * (m + n) - 1.0;
    // Positive outside the interval, negative inside, where x is the share that is to be judged.
    let outside = |x: f64| {
        let spread = x * (1.0 - x);
        m * n * (nap - x).powi(2) * (2.0 - x) * (1.0 + x)
            - z * z * spread * (2.0 + h + (1.0 + 2.0 * h) * spread)
    };
    let bound = |mut far: f64, mut near: f64| {
        for _ in 0..64 {
            let middle = 0.5 * (far + near);
            if outside(middle) > 0.0 {
                far = middle;
            } else {
                near = middle;
            }
        }
        0.5 * (far + near)
    };
    Ok(Interval {
        low: if nap > 0.0 { bound(0.0, nap) } else { 0.0 },
        high: if nap < 1.0 { bound(1.0, nap) } else { 1.0 },
    })
}

/// Tau with the earlier block's own trend taken out of both blocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BaselineCorrectedTau {
    /// Tau of the scores as they are.
    pub uncorrected: f64,
    /// Tau of the scores less the earlier block's trend.
    pub corrected: f64,
    /// That trend, the median of all slopes between its trials (Theil 1950; Sen 1968), in scores per trial.
    pub slope: f64,
    /// The chance of such a trend without one (Mann–Kendall, two-sided): Tarlow corrects only where it is below 0.05. Absent for fewer than three trials.
    pub trend_p: Option<f64>,
}

/// Tau of both blocks less the earlier block's trend, trials counted on from the earlier block into the later.
///
/// Source: Tarlow 2017, Behavior Modification 41:427–467.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two earlier trials or no later one; [`Undefined::OutOfRange`] for more than 2,000 earlier trials.
pub fn baseline_corrected_tau(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
) -> Result<BaselineCorrectedTau, Undefined> {
    finite_numbers(2, earlier)?;
    if earlier.len() > MOST_FOR_SLOPES {
        return Err(Undefined::OutOfRange);
    }
    let uncorrected = tau(earlier, later, better)?;
    let slope = finite_result(median(&slopes(earlier))?)?;
    let without_trend = |(index, &score): (usize, &f64)| score - slope * index as f64;
    let flat: Vec<f64> = earlier
        .iter()
        .chain(later)
        .enumerate()
        .map(without_trend)
        .collect();
    let (a, b) = flat.split_at(earlier.len());
    // Scores on one line tie once the line is taken out, whatever rounding left.
    let size = flat
        .iter()
        .chain(earlier)
        .chain(later)
        .fold(0_f64, |size, value| size.max(value.abs()));
    let wins: f64 = b
        .iter()
        .map(|&b| {
            a.iter()
                .map(|&a| {
                    let gain = better.orient(b - a);
                    if gain.abs() <= 1e-12 * size {
                        0.0
                    } else {
                        gain.signum()
                    }
                })
                .sum::<f64>()
        })
        .sum();
    Ok(BaselineCorrectedTau {
        uncorrected,
        corrected: finite_result(wins / (a.len() as f64 * b.len() as f64))?,
        slope,
        trend_p: mann_kendall(earlier).ok().map(|trend| trend.p),
    })
}

/// The slopes between all pairs of trials, one trial apart being 1.
fn slopes(series: &[f64]) -> Vec<f64> {
    series
        .iter()
        .enumerate()
        .flat_map(|(i, &first)| {
            series
                .iter()
                .enumerate()
                .skip(i + 1)
                .map(move |(j, &second)| (second - first) / (j - i) as f64)
        })
        .collect()
}

/// Twice the win of the later trial over the earlier: 2, 1 for a tie, 0.
fn doubled_win(earlier: f64, later: f64, better: Direction) -> u64 {
    let (earlier, later) = (better.orient(earlier), better.orient(later));
    u64::from(later > earlier) + u64::from(later >= earlier)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        single_case_examples::CASES,
        testing::{assert_close, assert_relative, finite_series},
    };
    use proptest::prelude::*;

    #[test]
    fn published_cases() {
        for case in CASES {
            let (a, b, better) = (case.earlier, case.later, case.better);
            assert_relative(nap(a, b, better).unwrap(), case.nap, 1e-9);
            assert_close(tau(a, b, better).unwrap(), 2.0 * case.nap - 1.0, 1e-9);
            let corrected = baseline_corrected_tau(a, b, better).unwrap();
            assert_close(corrected.slope, case.slope, 1e-9);
            assert_close(corrected.corrected, case.corrected_tau, 1e-9);
        }
    }

    /// Parker, Vannest & Davis 2011, by the formulas of R's `SingleCaseES`.
    #[test]
    fn precision_of_nap() {
        let (a, b) = (CASES[0].earlier, CASES[0].later);
        assert_relative(
            nap_standard_error(a, b, Direction::Higher).unwrap(),
            0.069_006_555_93,
            1e-9,
        );
        let interval = nap_interval(a, b, Direction::Higher, 0.95).unwrap();
        assert_relative(interval.low, 0.597_319_36, 1e-8);
        assert_relative(interval.high, 0.985_997_689_4, 1e-8);
    }

    #[test]
    fn without_overlap_the_interval_still_has_a_width() {
        let interval =
            nap_interval(&[1.0, 2.0, 3.0], &[4.0, 5.0, 6.0], Direction::Higher, 0.95).unwrap();
        assert!(interval.high >= 1.0 && interval.low < 0.9 && interval.low > 0.3);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert!(nap(&[], &[1.0], Direction::Higher).is_err());
        assert!(nap_standard_error(&[1.0], &[1.0, 2.0], Direction::Higher).is_err());
        assert_eq!(
            nap_interval(&[1.0], &[2.0], Direction::Higher, 1.0),
            Err(Undefined::OutOfRange)
        );
        assert!(baseline_corrected_tau(&[1.0], &[2.0], Direction::Higher).is_err());
        assert_eq!(nap(&[0.0], &[-0.0], Direction::Higher), Ok(0.5));
    }

    proptest! {
        #[test]
        fn laws(a in finite_series(1, 12), b in finite_series(1, 12)) {
            let share = nap(&a, &b, Direction::Higher)?;
            let by_pairs: u64 = a.iter().flat_map(|&a| b.iter().map(move |&b| doubled_win(a, b, Direction::Higher))).sum();
            prop_assert_eq!(share, by_pairs as f64 / (2 * a.len() * b.len()) as f64);
            prop_assert!((0.0..=1.0).contains(&share));
            prop_assert!((nap(&b, &a, Direction::Higher)? - (1.0 - share)).abs() < 1e-12);
            prop_assert!((nap(&a, &b, Direction::Lower)? - (1.0 - share)).abs() < 1e-12);
            let interval = nap_interval(&a, &b, Direction::Higher, 0.95)?;
            prop_assert!(interval.contains(share) && interval.low >= 0.0 && interval.high <= 1.0);
            // Any rising function of the scores leaves it as it is.
            let cubed = |values: &[f64]| values.iter().map(|value| value.powi(3)).collect::<Vec<f64>>();
            prop_assert_eq!(nap(&cubed(&a), &cubed(&b), Direction::Higher)?, share);
            if let Ok(error) = nap_standard_error(&a, &b, Direction::Higher) {
                prop_assert!(error.is_finite());
            }
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..6), b in prop::collection::vec(prop::num::f64::ANY, 0..6)) {
            if let Ok(share) = nap(&a, &b, Direction::Lower) {
                prop_assert!((0.0..=1.0).contains(&share));
            }
            if let Ok(corrected) = baseline_corrected_tau(&a, &b, Direction::Lower) {
                prop_assert!(corrected.corrected.is_finite() && corrected.slope.is_finite());
            }
        }
    }
}
