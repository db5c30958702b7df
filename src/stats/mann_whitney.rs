//! Mann & Whitney's U (Wilcoxon's rank sum): do trials of one block tend to be above those of the other?

use super::{
    Undefined,
    arrangements::{Method, share_of_choices},
    distribution::normal_upper_tail,
    ranks::{doubled_mid_ranks, tie_term},
    requirements::finite_numbers,
};

/// Trials of both blocks together up to which p is exact.
const MOST_EXACT: usize = 40;

/// U with its p.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MannWhitney {
    /// Pairs of trials in which the later one is above the earlier, ties half: 0 to nA·nB. The U of the other block is nA·nB − u.
    pub u: f64,
    /// The share of all arrangements with a U at least as far from nA·nB/2: two-sided.
    pub p: f64,
    /// Exact up to 40 trials together, else normal with tie and continuity correction.
    pub method: Method,
}

/// U of two blocks and its two-sided p, on mid-ranks: exact, ties included, up to 40 trials together, else by the normal approximation
/// with tie and continuity correction.
///
/// Source: Mann & Whitney 1947, Annals of Mathematical Statistics 18:50–60; ties as in Lehmann 1975, Nonparametrics, chapter 1.
///
/// # Errors
/// [`Undefined::TooFew`] for an empty block; [`Undefined::NotFinite`].
pub fn mann_whitney(earlier: &[f64], later: &[f64]) -> Result<MannWhitney, Undefined> {
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    let both: Vec<f64> = later.iter().chain(earlier).copied().collect();
    let ranks = doubled_mid_ranks(&both);
    let rank_sum: i64 = ranks.iter().take(later.len()).sum();
    let (m, n) = (earlier.len() as f64, later.len() as f64);
    let u = 0.5 * rank_sum as f64 - 0.5 * n * (n + 1.0);
    if both.len() <= MOST_EXACT
        && let Some(p) = share_of_choices(&ranks, later.len(), rank_sum, 0)
    {
        return Ok(MannWhitney {
            u,
            p,
            method: Method::Exact,
        });
    }
    let all = m + n;
    let variance = m * n / 12.0 * ((all + 1.0) - tie_term(&both) / (all * (all - 1.0)));
    let distance = ((u - 0.5 * m * n).abs() - 0.5).max(0.0);
    // All tied: nothing is further from the middle than anything else.
    let p = if variance > 0.0 {
        (2.0 * normal_upper_tail(distance / variance.sqrt())).min(1.0)
    } else {
        1.0
    };
    Ok(MannWhitney {
        u,
        p,
        method: Method::Normal,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        Direction,
        nonoverlap::nap,
        published::{DRUG_1, DRUG_2},
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// Permeability, Hollander & Wolfe 1973, Nonparametric Statistical Methods, table 4.1 (the example of R's `wilcox.test`).
    #[test]
    fn without_ties() {
        let x = [0.8, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46];
        let y = [1.15, 0.88, 0.9, 0.74, 1.21];
        let test = mann_whitney(&y, &x).unwrap();
        assert_eq!((test.u, test.method), (35.0, Method::Exact));
        assert_relative(test.p, 0.254_412_254_4, 1e-9);
    }

    /// Student's sleep data as two groups, R's exactRankTests 0.8-35 `wilcox.exact`.
    #[test]
    fn with_ties() {
        let test = mann_whitney(&DRUG_2, &DRUG_1).unwrap();
        assert_eq!((test.u, test.method), (25.5, Method::Exact));
        assert_relative(test.p, 0.065_816_536_4, 1e-9);
    }

    /// Three times the sleep data are out of exact reach: `SciPy` 1.17.1 `stats.mannwhitneyu(method="asymptotic")`.
    #[test]
    fn by_the_normal_approximation() {
        let (a, b) = (DRUG_1.repeat(3), DRUG_2.repeat(3));
        let test = mann_whitney(&a, &b).unwrap();
        assert_eq!(test.method, Method::Normal);
        assert_eq!(test.u, 670.5);
        assert_relative(test.p, 0.001_114_620_213_468_659_8, 1e-9);
    }

    #[test]
    fn all_alike() {
        assert_eq!(mann_whitney(&[2.0; 5], &[2.0; 5]).unwrap().p, 1.0);
        assert_eq!(mann_whitney(&[2.0; 50], &[2.0; 50]).unwrap().p, 1.0);
        assert!(mann_whitney(&[], &[2.0]).is_err());
    }

    proptest! {
        #[test]
        fn laws(a in finite_series(1, 25), b in finite_series(1, 25)) {
            let (there, back) = (mann_whitney(&a, &b)?, mann_whitney(&b, &a)?);
            prop_assert!((0.0..=1.0).contains(&there.p));
            prop_assert!((there.p - back.p).abs() < 1e-12);
            let pairs = (a.len() * b.len()) as f64;
            prop_assert_eq!(there.u + back.u, pairs);
            prop_assert!((there.u / pairs - nap(&a, &b, Direction::Higher)?).abs() < 1e-12);
            let mut reversed = a.clone();
            reversed.reverse();
            prop_assert_eq!(mann_whitney(&reversed, &b)?, there);
        }
    }
}
