//! Does a series stay on one side of its middle longer, or change sides oftener, than chance would? Runs about the median.
//!
//! Source: Wald & Wolfowitz 1940, Annals of Mathematical Statistics 11:147–162; exact chances as in Swed & Eisenhart 1943, ibid. 14:66–87.

use std::cmp::Ordering;

use super::Undefined;
use super::distribution::normal_two_sided;
use super::requirements::finite_numbers;
use super::summary::median;

/// The most values whose arrangements (a binomial coefficient) are counted one by one.
const LONGEST_EXACT: usize = 60;

/// How often a series crosses its median.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Runs {
    /// Values above the median. Those equal to it are left out.
    pub above: usize,
    /// Values below the median.
    pub below: usize,
    /// Unbroken stretches on one side. Few where a series drifts or jumps, many where it swings from value to value.
    pub runs: usize,
    /// How many runs are expected of values in no order: 1 + 2·above·below/n.
    pub expected: f64,
    /// The variance of their number.
    pub variance: f64,
    /// (runs − expected)/√variance, without continuity correction.
    pub z: f64,
    /// Two-sided p: the share of all arrangements whose number of runs is at least as far from the expected one.
    pub p: f64,
    /// Whether p counts arrangements (up to 60 values) rather than taking z for normal.
    pub exact: bool,
}

/// Runs of a series about its median, values equal to it left out.
///
/// # Errors
/// [`Undefined::TooFew`] below two values; [`Undefined::NoSpread`] where no value lies above, or none below, the median, or where no number
/// of runs but one is possible; [`Undefined::NotFinite`].
pub fn about_median(series: &[f64]) -> Result<Runs, Undefined> {
    finite_numbers(2, series)?;
    let median = median(series)?;
    let sides: Vec<bool> = series
        .iter()
        .filter_map(|value| match value.partial_cmp(&median)? {
            Ordering::Greater => Some(true),
            Ordering::Less => Some(false),
            Ordering::Equal => None,
        })
        .collect();
    let above = sides.iter().filter(|&&above| above).count();
    let below = sides.len() - above;
    if above == 0 || below == 0 {
        return Err(Undefined::NoSpread);
    }
    let runs = 1 + sides.windows(2).filter(|pair| pair[0] != pair[1]).count();
    let (a, b) = (above as f64, below as f64);
    let n = a + b;
    let expected = 1.0 + 2.0 * a * b / n;
    let variance = 2.0 * a * b * (2.0 * a * b - n) / (n * n * (n - 1.0));
    if variance <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    let z = (runs as f64 - expected) / variance.sqrt();
    let exact = sides.len() <= LONGEST_EXACT;
    let p = if exact {
        as_far_as(runs, above, below)
    } else {
        normal_two_sided(z)
    };
    Ok(Runs {
        above,
        below,
        runs,
        expected,
        variance,
        z,
        p,
        exact,
    })
}

/// The share of arrangements with a number of runs at least as far from the expected one.
fn as_far_as(runs: usize, above: usize, below: usize) -> f64 {
    // n times the distance from 1 + 2ab/n is whole.
    let n = above + below;
    let distance = |runs: usize| (runs * n).abs_diff(n + 2 * above * below);
    let (mut far, mut all) = (0_u128, 0_u128);
    for possible in 2..=n {
        let ways = arrangements(possible, above, below);
        all += ways;
        if distance(possible) >= distance(runs) {
            far += ways;
        }
    }
    far as f64 / all as f64
}

/// In how many arrangements of two kinds there are just so many runs.
fn arrangements(runs: usize, above: usize, below: usize) -> u128 {
    let of_one_kind = |runs: usize, values: usize| choose(values - 1, runs - 1);
    if runs.is_multiple_of(2) {
        2 * of_one_kind(runs / 2, above) * of_one_kind(runs / 2, below)
    } else {
        let (more, fewer) = (runs / 2 + 1, runs / 2);
        of_one_kind(more, above) * of_one_kind(fewer, below)
            + of_one_kind(fewer, above) * of_one_kind(more, below)
    }
}

/// n over k, for n below 60: under 2⁵⁹.
fn choose(n: usize, k: usize) -> u128 {
    if k > n {
        return 0;
    }
    (1..=k.min(n - k)).fold(1, |product, step| {
        product * (n - step + 1) as u128 / step as u128
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        nist_sets::LEW,
        published::NILE,
        testing::{assert_close, finite_series},
    };
    use proptest::prelude::*;

    /// NIST/SEMATECH e-Handbook of Statistical Methods, 1.4.2.5, beam deflections: z 2.6938.
    #[test]
    fn beam_deflections() {
        let runs = about_median(&LEW).unwrap();
        assert_eq!((runs.above, runs.below, runs.runs), (100, 100, 120));
        assert_eq!(runs.expected, 101.0);
        assert_close(runs.variance, 49.748_743_718_592_96, 1e-14);
        assert_close(runs.z, 2.693_782_590_793_965_4, 1e-13);
        assert_close(runs.p, 0.007_064_622_954_962_975, 1e-12);
        assert!(!runs.exact);
    }

    /// The flow of the Nile, Cobb 1978, Biometrika 65:243–251; z computed with NumPy.
    #[test]
    fn flow_of_the_nile() {
        let runs = about_median(&NILE).unwrap();
        assert_eq!((runs.above, runs.below, runs.runs), (50, 50, 30));
        assert_close(runs.z, -4.221_374_183_841_087, 1e-13);
    }

    /// Swed & Eisenhart 1943: of ten and ten values 6 and 16 runs are critical at 0.025 on either side.
    #[test]
    fn ten_and_ten() {
        let total: u128 = (2..=20).map(|runs| arrangements(runs, 10, 10)).sum();
        assert_eq!(total, 184_756);
        let share = |runs: std::ops::RangeInclusive<usize>| {
            runs.map(|runs| arrangements(runs, 10, 10)).sum::<u128>() as f64 / total as f64
        };
        assert_close(share(2..=6), 0.018_521_725_952_066_508, 1e-15);
        assert_close(share(2..=7), 0.051_256_792_742_860_85, 1e-15);
        assert_close(share(16..=20), 0.018_521_725_952_066_508, 1e-15);
        assert_close(as_far_as(6, 10, 10), 2.0 * 0.018_521_725_952_066_508, 1e-15);
    }

    #[test]
    fn undefined_where_nothing_can_vary() {
        assert_eq!(about_median(&[2.0, 2.0, 2.0]), Err(Undefined::NoSpread));
        assert_eq!(about_median(&[1.0, 2.0]), Err(Undefined::NoSpread));
        assert_eq!(
            about_median(&[1.0]),
            Err(Undefined::TooFew {
                needed: 2,
                given: 1
            })
        );
    }

    proptest! {
        #[test]
        fn shift_scale_and_turning_over_move_nothing(series in finite_series(2, 30), shift in -5_i32..5) {
            let whole: Vec<f64> = series.iter().map(|value| value.round()).collect();
            let moved: Vec<f64> = whole.iter().map(|value| 3.0 * value + f64::from(shift)).collect();
            let turned: Vec<f64> = whole.iter().map(|value| -value).collect();
            match about_median(&whole) {
                Ok(runs) => {
                    prop_assert!(runs.p > 0.0 && runs.p <= 1.0 && runs.z.is_finite());
                    prop_assert_eq!(about_median(&moved)?, runs);
                    let turned = about_median(&turned)?;
                    prop_assert_eq!((turned.above, turned.below), (runs.below, runs.above));
                    prop_assert_eq!((turned.runs, turned.p), (runs.runs, runs.p));
                }
                Err(reason) => prop_assert_eq!(about_median(&moved), Err(reason)),
            }
        }
    }
}
