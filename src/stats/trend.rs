//! Does a series rise or fall over time? Mann–Kendall's test and Kendall's rank correlation, ties included.
//!
//! Source: Mann 1945, Econometrica 13:245–259; Kendall 1970, Rank Correlation Methods; the variance with ties as in
//! Gilbert 1987, Statistical Methods for Environmental Pollution Monitoring, section 16.4.

use super::Undefined;
use super::distribution::normal_two_sided;
use super::requirements::{all_finite, at_least, same_length};

/// The largest series whose orderings (n!) can be counted in 128 bits: up to here p is exact where nothing is tied.
const LONGEST_EXACT: usize = 34;

/// Mann–Kendall's test of a monotone trend in a series taken in order of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannKendall {
    /// How many values the series has.
    pub n: usize,
    /// Later values above earlier ones, less later values below: positive where the series rises.
    pub s: i64,
    /// The variance of S if nothing but chance ordered the values, ties allowed for.
    pub variance: f64,
    /// (S − sign S)/√variance: the continuity-corrected normal deviate.
    pub z: f64,
    /// Kendall's tau-b of the values with time, −1 to 1.
    pub tau_b: f64,
    /// Two-sided p.
    pub p: f64,
    /// Whether p comes from all n! orderings (no ties, n ≤ 34) rather than from the normal approximation.
    pub exact: bool,
}

/// Mann–Kendall's test of a series in order of time.
///
/// S = Σ sign(xⱼ − xᵢ) over i < j. Without ties and up to n = 34, p is the share of all orderings with |S| as large; otherwise
/// normal with continuity correction and variance [n(n−1)(2n+5) − Σ t(t−1)(2t+5)]/18, t the sizes of the groups of ties.
///
/// # Errors
/// [`Undefined::TooFew`] below three values, [`Undefined::NoSpread`] where all are equal, [`Undefined::NotFinite`].
pub fn mann_kendall(series: &[f64]) -> Result<MannKendall, Undefined> {
    let n = series.len();
    at_least(3, n)?;
    all_finite(series)?;
    let s = concordance_with_time(series);
    let ties = tie_groups(series);
    let all_pairs = pairs(n);
    let tied_pairs: f64 = ties.iter().map(|&t| pairs(t)).sum();
    if tied_pairs >= all_pairs {
        return Err(Undefined::NoSpread);
    }
    let variance_term = |t: usize| {
        let t = t as f64;
        t * (t - 1.0) * (2.0 * t + 5.0)
    };
    let variance = (variance_term(n) - ties.iter().map(|&t| variance_term(t)).sum::<f64>()) / 18.0;
    let z = (s - s.signum()) as f64 / variance.sqrt();
    let exact = ties.is_empty() && n <= LONGEST_EXACT;
    let p = if exact {
        exact_two_sided_p(n, s)
    } else {
        normal_two_sided(z)
    };
    Ok(MannKendall {
        n,
        s,
        variance,
        z,
        tau_b: s as f64 / (all_pairs * (all_pairs - tied_pairs)).sqrt(),
        p,
        exact,
    })
}

/// Kendall's tau-b of two series, −1 to 1.
///
/// tau-b = S/√((n₀ − n₁)(n₀ − n₂)): S the concordant less the discordant pairs, n₀ = n(n−1)/2, n₁ and n₂ the pairs tied in each series.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] below two pairs, [`Undefined::NoSpread`] where either series is constant,
/// [`Undefined::NotFinite`].
pub fn kendall_tau_b(x: &[f64], y: &[f64]) -> Result<f64, Undefined> {
    same_length(x.len(), y.len())?;
    at_least(2, x.len())?;
    all_finite(x)?;
    all_finite(y)?;
    let mut s = 0_i64;
    let mut untied_x = 0_u64;
    let mut untied_y = 0_u64;
    for (later, (xj, yj)) in x.iter().zip(y).enumerate() {
        for (xi, yi) in x.iter().zip(y).take(later) {
            let (dx, dy) = (sign(*xi, *xj), sign(*yi, *yj));
            s += dx * dy;
            untied_x += u64::from(dx != 0);
            untied_y += u64::from(dy != 0);
        }
    }
    if untied_x == 0 || untied_y == 0 {
        return Err(Undefined::NoSpread);
    }
    Ok(s as f64 / (untied_x as f64 * untied_y as f64).sqrt())
}

/// 1 where the series rises from `earlier` to `later`, −1 where it falls, 0 where they tie.
pub(super) fn sign(earlier: f64, later: f64) -> i64 {
    i64::from(later > earlier) - i64::from(later < earlier)
}

fn concordance_with_time(series: &[f64]) -> i64 {
    series
        .iter()
        .enumerate()
        .map(|(later, &xj)| {
            series
                .iter()
                .take(later)
                .map(|xi| sign(*xi, xj))
                .sum::<i64>()
        })
        .sum()
}

fn pairs(n: usize) -> f64 {
    n as f64 * (n as f64 - 1.0) / 2.0
}

/// The sizes of the groups of equal values, single values left out.
fn tie_groups(series: &[f64]) -> Vec<usize> {
    let mut sorted = series.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted
        // In ascending order "not below the next" is equality, and 0 ties with −0.
        .chunk_by(|a, b| a >= b)
        .map(<[f64]>::len)
        .filter(|&size| size > 1)
        .collect()
}

/// The share of all n! orderings whose |S| is at least |s|, counted in whole numbers.
fn exact_two_sided_p(n: usize, s: i64) -> f64 {
    let all_pairs = n * (n - 1) / 2;
    // S = pairs − 2·inversions: the upper tail of |S| is the lower tail of inversions.
    let extremity = usize::try_from(s.unsigned_abs()).unwrap_or(usize::MAX);
    let most_inversions = all_pairs.saturating_sub(extremity) / 2;
    if extremity == 0 {
        return 1.0;
    }
    let mut orderings = vec![0_u128; most_inversions + 1];
    if let Some(first) = orderings.first_mut() {
        *first = 1;
    }
    let mut all = 1_u128;
    for size in 2..=n {
        all *= size as u128;
        // A further value adds 0 to size − 1 inversions: a moving sum, from the far end so that the old counts are still there.
        let mut cumulative = Vec::with_capacity(orderings.len());
        let mut total = 0_u128;
        for &count in &orderings {
            total += count;
            cumulative.push(total);
        }
        for (k, count) in orderings.iter_mut().enumerate() {
            let upto = cumulative.get(k).copied().unwrap_or(0);
            let before = k
                .checked_sub(size)
                .and_then(|i| cumulative.get(i).copied())
                .unwrap_or(0);
            *count = upto - before;
        }
    }
    let tail: u128 = orderings.iter().sum();
    (2.0 * (tail as f64 / all as f64)).min(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, assert_relative, finite_series};
    use proptest::prelude::*;

    fn factorial(n: u32) -> f64 {
        (1..=n).map(f64::from).product()
    }

    /// Exact fractions of Kendall's distribution (count of orderings over n!), combinatorial; Kendall 1970, appendix table 1.
    #[test]
    fn exact_upper_tails_of_kendalls_table() {
        for (n, s, count) in [
            (4, 6, 1.0),
            (5, 8, 5.0),
            (5, 10, 1.0),
            (6, 11, 20.0),
            (7, 13, 174.0),
            (8, 16, 1230.0),
            (9, 18, 13640.0),
            (10, 21, 131_635.0),
            (10, 23, 84_592.0),
        ] {
            let one_sided = count / factorial(n);
            assert_relative(exact_two_sided_p(n as usize, s), 2.0 * one_sided, 1e-15);
            assert_relative(exact_two_sided_p(n as usize, -s), 2.0 * one_sided, 1e-15);
        }
    }

    /// College of the Holy Cross, seminar handout "Mann-Kendall by hand": S = 54, Z = 2.9058; pymannkendall 1.4.3 for the digits.
    #[test]
    fn by_hand_with_one_tie() {
        let test = mann_kendall(&[
            12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7,
        ])
        .unwrap();
        assert_eq!(test.s, 54);
        assert!(!test.exact);
        assert_relative(test.variance, 332.666_666_666_666_7, 1e-14);
        assert_relative(test.z, 2.905_836_845_996_537, 1e-14);
        assert_relative(test.p, 0.003_662_723_762_882_436, 1e-12);
        assert_relative(test.tau_b, 0.596_694_189_718_616_3, 1e-14);
    }

    /// Sleep-deprivation study (Belenky et al. 2003, lme4 `sleepstudy`), three learners; SciPy 1.17.1: kendalltau(method="exact").
    #[test]
    fn exact_p_of_ten_sessions() {
        for (series, s, p) in [
            (
                [
                    249.56, 258.7047, 250.8006, 321.4398, 356.8519, 414.6901, 382.2038, 290.1486,
                    430.5853, 466.3535,
                ],
                33,
                0.002_212_852_734,
            ),
            (
                [
                    222.7339, 205.2658, 202.9778, 204.707, 207.7161, 215.9618, 213.6303, 217.7272,
                    224.2957, 237.3142,
                ],
                25,
                0.028_609_457_67,
            ),
        ] {
            let test = mann_kendall(&series).unwrap();
            assert_eq!(test.s, s);
            assert!(test.exact);
            assert_relative(test.p, p, 1e-9);
        }
    }

    /// Kendall 1970, Rank Correlation Methods, example 3.1 p. 35 (prints 0.859): S = 33 over √(41·36).
    #[test]
    fn tau_b_with_ties_in_both() {
        let x = [1.0, 2.5, 2.5, 4.5, 4.5, 6.5, 6.5, 8.0, 9.5, 9.5];
        let y = [1.0, 2.0, 4.5, 4.5, 4.5, 4.5, 8.0, 8.0, 8.0, 10.0];
        assert_relative(
            kendall_tau_b(&x, &y).unwrap(),
            0.858_955_690_387_333_3,
            1e-14,
        );
    }

    #[test]
    fn undefined_without_values_or_spread() {
        assert_eq!(
            mann_kendall(&[1.0, 2.0]),
            Err(Undefined::TooFew {
                needed: 3,
                given: 2
            })
        );
        assert_eq!(mann_kendall(&[2.0; 5]), Err(Undefined::NoSpread));
        assert_eq!(mann_kendall(&[0.0, -0.0, 0.0]), Err(Undefined::NoSpread));
        assert_eq!(
            kendall_tau_b(&[1.0, 1.0], &[1.0, 2.0]),
            Err(Undefined::NoSpread)
        );
    }

    /// The longest exact series must not overflow, and the shortest approximate one be close to it.
    #[test]
    fn exact_and_approximate_meet() {
        let ends_low = |n: usize| -> Vec<f64> {
            (0..n)
                .map(|i| if i > n - 6 { -(i as f64) } else { i as f64 })
                .collect()
        };
        let longest = mann_kendall(&ends_low(LONGEST_EXACT)).unwrap();
        assert!(longest.exact);
        assert_close(longest.p, normal_two_sided(longest.z), 2e-3);
        assert!(!mann_kendall(&ends_low(LONGEST_EXACT + 1)).unwrap().exact);
    }

    proptest! {
        #[test]
        fn reversal_flips_the_sign_and_keeps_p(series in finite_series(3, 40)) {
            let Ok(forward) = mann_kendall(&series) else { return Ok(()) };
            let backward = mann_kendall(&series.iter().rev().copied().collect::<Vec<_>>()).unwrap();
            prop_assert_eq!(forward.s, -backward.s);
            prop_assert_eq!(forward.p.to_bits(), backward.p.to_bits());
            prop_assert!((0.0..=1.0).contains(&forward.p));
            prop_assert!((-1.0..=1.0).contains(&forward.tau_b));
        }

        #[test]
        fn tau_b_with_time_is_that_of_the_test(series in finite_series(3, 40)) {
            let time: Vec<f64> = (0..series.len()).map(|i| i as f64).collect();
            let Ok(test) = mann_kendall(&series) else { return Ok(()) };
            assert_close(kendall_tau_b(&time, &series).unwrap(), test.tau_b, 1e-12);
        }
    }
}
