//! Wilcoxon's signed ranks: do the later trials of pairs tend to be above the earlier ones?

use super::{
    Undefined,
    arrangements::{Method, share_of_signs},
    decimal_grid::differences,
    distribution::normal_upper_tail,
    ranks::{doubled_mid_ranks, tie_term},
    requirements::{all_finite, finite_numbers, same_length},
};

/// Trials of both blocks together up to which p is exact: 20 pairs.
const MOST_EXACT: usize = 40;

/// The sum of positive ranks with its p.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wilcoxon {
    /// The sum of the ranks of later − earlier where that is positive, 0 to n(n + 1)/2.
    pub positive_rank_sum: f64,
    /// The sum of the ranks of the negative differences.
    pub negative_rank_sum: f64,
    /// How many pairs differ: pairs without a difference are dropped.
    pub pairs: usize,
    /// The share of all signs with a sum at least as far from the middle: two-sided.
    pub p: f64,
    /// Exact up to 20 pairs, else normal with tie and continuity correction.
    pub method: Method,
}

/// The signed-rank sum of pairs and its two-sided p, on mid-ranks, pairs without a difference dropped: exact, ties included, up to 20 pairs,
/// else by the normal approximation with tie and continuity correction.
///
/// Source: Wilcoxon 1945, Biometrics Bulletin 1:80–83; Hollander & Wolfe 1973, Nonparametric Statistical Methods, 3.1.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for no pair; [`Undefined::NoSpread`] where no pair differs; [`Undefined::Overflow`].
pub fn wilcoxon(earlier: &[f64], later: &[f64]) -> Result<Wilcoxon, Undefined> {
    same_length(earlier.len(), later.len())?;
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    // Gains of decimals are decimals, so that equal gains tie.
    let gains: Vec<f64> = differences(earlier, later)
        .into_iter()
        .filter(|&gain| gain != 0.0)
        .collect();
    all_finite(&gains).map_err(|_| Undefined::Overflow)?;
    if gains.is_empty() {
        return Err(Undefined::NoSpread);
    }
    let sizes: Vec<f64> = gains.iter().map(|gain| gain.abs()).collect();
    let ranks = doubled_mid_ranks(&sizes);
    let positive: i64 = ranks
        .iter()
        .zip(&gains)
        .filter(|&(_, &gain)| gain > 0.0)
        .map(|(rank, _)| rank)
        .sum();
    let n = gains.len() as f64;
    let exact = (earlier.len() + later.len() <= MOST_EXACT)
        .then(|| share_of_signs(&ranks, positive, 0))
        .flatten();
    let positive_rank_sum = 0.5 * positive as f64;
    let p = exact.unwrap_or_else(|| {
        let variance = n * (n + 1.0) * (2.0 * n + 1.0) / 24.0 - tie_term(&sizes) / 48.0;
        let distance = ((positive_rank_sum - 0.25 * n * (n + 1.0)).abs() - 0.5).max(0.0);
        (2.0 * normal_upper_tail(distance / variance.sqrt())).min(1.0)
    });
    Ok(Wilcoxon {
        positive_rank_sum,
        negative_rank_sum: 0.5 * n * (n + 1.0) - positive_rank_sum,
        pairs: gains.len(),
        p,
        method: if exact.is_some() {
            Method::Exact
        } else {
            Method::Normal
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        published::{DARWIN, DRUG_1, DRUG_2},
        testing::{assert_relative, finite_series},
    };
    use proptest::prelude::*;

    /// Darwin's maize, R's `wilcox.test` and `SciPy` 1.17.1.
    #[test]
    fn darwin() {
        let test = wilcoxon(&[0.0; 15], &DARWIN).unwrap();
        assert_eq!(
            (test.positive_rank_sum, test.negative_rank_sum),
            (96.0, 24.0)
        );
        assert_relative(test.p, 0.041_259_765_62, 1e-9);
    }

    #[expect(clippy::approx_constant, reason = "a score of 3.14")]
    /// Hamilton's depression factor, Hollander & Wolfe 1973, table 3.1 (the example of R's `wilcox.test`).
    #[test]
    fn depression() {
        let before = [1.83, 0.5, 1.62, 2.48, 1.68, 1.88, 1.55, 3.06, 1.3];
        let after = [0.878, 0.647, 0.598, 2.05, 1.06, 1.29, 1.06, 3.14, 1.29];
        let test = wilcoxon(&after, &before).unwrap();
        assert_eq!(test.positive_rank_sum, 40.0);
        assert_relative(test.p, 0.039_062_5, 1e-12);
    }

    /// One pair of Student's sleep data is equal, and gains tie: R's exactRankTests `wilcox.exact`.
    #[test]
    fn zeros_are_dropped_and_ties_shared() {
        let test = wilcoxon(&DRUG_1, &DRUG_2).unwrap();
        assert_eq!((test.positive_rank_sum, test.pairs), (45.0, 9));
        assert_eq!(test.p, 2.0 / 512.0);
        assert_eq!(test.method, Method::Exact);
    }

    /// Three times the sleep data: `SciPy` 1.17.1 `stats.wilcoxon(method="asymptotic", correction=True)`.
    #[test]
    fn by_the_normal_approximation() {
        let (a, b) = (
            DRUG_1.repeat(3),
            [DRUG_2.to_vec(), DARWIN[..10].to_vec(), DRUG_2.to_vec()].concat(),
        );
        let test = wilcoxon(&a, &b).unwrap();
        assert_eq!(test.method, Method::Normal);
        assert_eq!(test.positive_rank_sum, 378.0);
        assert_relative(test.p, 7.014_174_809_141_472e-5, 1e-9);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(wilcoxon(&[1.0], &[1.0]), Err(Undefined::NoSpread));
        assert_eq!(wilcoxon(&[1.0], &[]), Err(Undefined::UnequalLengths));
        assert!(wilcoxon(&[], &[]).is_err());
        assert_eq!(wilcoxon(&[-1e308], &[1e308]), Err(Undefined::Overflow));
    }

    proptest! {
        #[test]
        fn swapping_the_blocks_swaps_the_sums(pairs in prop::collection::vec((-3..6_i32, -3..6_i32), 1..25)) {
            let (a, b): (Vec<f64>, Vec<f64>) = pairs.into_iter().map(|(a, b)| (f64::from(a) / 10.0, f64::from(b) / 10.0)).unzip();
            match (wilcoxon(&a, &b), wilcoxon(&b, &a)) {
                (Ok(there), Ok(back)) => {
                    prop_assert_eq!(there.positive_rank_sum, back.negative_rank_sum);
                    prop_assert!((there.p - back.p).abs() < 1e-12);
                    prop_assert!((0.0..=1.0).contains(&there.p));
                }
                (there, back) => prop_assert_eq!(there, back),
            }
        }

        #[test]
        fn no_series_panics(a in finite_series(0, 30)) {
            let _ = wilcoxon(&a, &vec![0.0; a.len()]);
        }
    }
}
