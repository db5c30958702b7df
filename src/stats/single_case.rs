//! Further nonoverlap statistics of single-case research, for readers who know these better than nap. Shares from 0 to 1 but for [`tau_u`].
//!
//! All go by single extreme trials or leave the size of the gain out; of two blocks nap uses more of the data (Parker, Vannest & Davis 2011).

use super::{Direction, Undefined, requirements::finite_numbers, summary::median};

/// Percentage of nonoverlapping data, as a share: later trials better than the best earlier one.
///
/// Source: Scruggs, Mastropieri & Casto 1987, Remedial and Special Education 8(2):24–33.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::NotFinite`].
pub fn pnd(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    let (a, b) = oriented(earlier, later, better)?;
    let best = a.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let above = b.iter().filter(|&&b| b > best).count();
    Ok(above as f64 / b.len() as f64)
}

/// Percentage exceeding the median, as a share: later trials better than the earlier median, ties half.
///
/// Source: Ma 2006, Behavior Modification 30:598–617.
///
/// # Errors
/// As for [`pnd`].
pub fn pem(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    let (a, b) = oriented(earlier, later, better)?;
    let middle = median(&a)?;
    let above = b.iter().filter(|&&b| b > middle).count();
    let level = b.iter().filter(|&&b| b >= middle).count();
    Ok((above + level) as f64 / (2.0 * b.len() as f64))
}

/// Percentage of all nonoverlapping data, as a share: what remains when the fewest trials are dropped that leave no overlap.
///
/// Source: Parker, Hagan-Burke & Vannest 2007, Journal of Special Education 40:194–204.
///
/// # Errors
/// As for [`pnd`].
pub fn pand(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    let (a, b) = oriented(earlier, later, better)?;
    Ok(most_kept(&a, &b) as f64 / (a.len() + b.len()) as f64)
}

/// Robust improvement rate difference: the share improved in the later block less that in the earlier, after dropping overlap evenly.
///
/// Source: Parker, Vannest & Brown 2009, Exceptional Children 75:135–150.
///
/// # Errors
/// As for [`pnd`].
pub fn improvement_rate_difference(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
) -> Result<f64, Undefined> {
    let (a, b) = oriented(earlier, later, better)?;
    let (m, n) = (a.len() as f64, b.len() as f64);
    let kept = most_kept(&a, &b) as f64;
    Ok((n - m + kept) / (2.0 * n) - (m + n - kept) / (2.0 * m))
}

/// Tau-U, earlier against later less the earlier trend: (`S_AB` − `S_A`)/(nA·nB). It can exceed 1: the reason to prefer baseline-corrected tau.
///
/// Source: Parker, Vannest, Davis & Sauber 2011, Behavior Therapy 42:284–299.
///
/// # Errors
/// As for [`pnd`].
pub fn tau_u(earlier: &[f64], later: &[f64], better: Direction) -> Result<f64, Undefined> {
    let (a, b) = oriented(earlier, later, better)?;
    let sign = |gain: f64| {
        if gain > 0.0 {
            1.0
        } else if gain < 0.0 {
            -1.0
        } else {
            0.0
        }
    };
    let between: f64 = a
        .iter()
        .map(|&a| b.iter().map(|&b| sign(b - a)).sum::<f64>())
        .sum();
    let trend: f64 = a
        .iter()
        .enumerate()
        .map(|(i, &first)| {
            a.iter()
                .skip(i + 1)
                .map(|&second| sign(second - first))
                .sum::<f64>()
        })
        .sum();
    Ok((between - trend) / (a.len() as f64 * b.len() as f64))
}

/// Both blocks, higher better.
fn oriented(
    earlier: &[f64],
    later: &[f64],
    better: Direction,
) -> Result<(Vec<f64>, Vec<f64>), Undefined> {
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    let orient = |values: &[f64]| values.iter().map(|&value| better.orient(value)).collect();
    Ok((orient(earlier), orient(later)))
}

/// The most trials that can stay without any earlier one at or above a later one.
fn most_kept(earlier: &[f64], later: &[f64]) -> usize {
    let (mut a, mut b) = (earlier.to_vec(), later.to_vec());
    a.sort_by(f64::total_cmp);
    b.sort_by(f64::total_cmp);
    // Keeping the i lowest earlier trials keeps all later ones above the i-th.
    let keeping = |i: usize| {
        let above = a
            .get(i.wrapping_sub(1))
            .map_or(0, |&highest| b.partition_point(|&b| b <= highest));
        i + b.len() - above
    };
    (0..=a.len()).map(keeping).max().unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        single_case_examples::CASES,
        testing::{assert_close, finite_series},
    };
    use proptest::prelude::*;

    #[test]
    fn published_cases() {
        for case in CASES {
            let (a, b, better) = (case.earlier, case.later, case.better);
            assert_close(pnd(a, b, better).unwrap(), case.pnd, 1e-9);
            assert_close(pem(a, b, better).unwrap(), case.pem, 1e-9);
            assert_close(pand(a, b, better).unwrap(), case.pand, 1e-9);
            assert_close(
                improvement_rate_difference(a, b, better).unwrap(),
                case.ird,
                1e-9,
            );
            assert_close(tau_u(a, b, better).unwrap(), case.tau_u, 1e-9);
        }
    }

    #[test]
    fn an_empty_block_has_none() {
        for statistic in [pnd, pem, pand, improvement_rate_difference, tau_u] {
            assert!(statistic(&[], &[1.0], Direction::Higher).is_err());
            assert!(statistic(&[1.0], &[], Direction::Higher).is_err());
        }
    }

    proptest! {
        #[test]
        fn shares_are_shares(a in finite_series(1, 10), b in finite_series(1, 10)) {
            for statistic in [pnd, pem, pand] {
                prop_assert!((0.0..=1.0).contains(&statistic(&a, &b, Direction::Lower)?));
            }
            // What no trial of one block overlaps in the other is all kept.
            let far: Vec<f64> = b.iter().map(|b| b + 1e4).collect();
            prop_assert_eq!(pand(&a, &far, Direction::Higher)?, 1.0);
            prop_assert_eq!(improvement_rate_difference(&a, &far, Direction::Higher)?, 1.0);
        }
    }
}
