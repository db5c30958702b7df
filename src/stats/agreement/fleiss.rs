//! Fleiss' kappa: many raters, categories without order, not necessarily the same raters for everything.
//!
//! Source: Fleiss 1971, Psychological Bulletin 76:378–382; standard error without agreement: Fleiss, Nee & Landis 1979, Psychological
//! Bulletin 86:974–977 (it corrects the one of 1971); missing ratings and standard error: Gwet 2008, as for AC1.

use super::rating_counts::RatingCounts;
use crate::stats::{Interval, Undefined};

/// Fleiss' kappa with what it was made of.
#[derive(Debug, Clone, PartialEq)]
pub struct FleissKappa {
    /// How many things had a rating.
    pub things: usize,
    /// Mean share of pairs of raters who agree, 0–1.
    pub observed: f64,
    /// Agreement to expect by chance from all raters' use of the categories, 0–1.
    pub expected: f64,
    /// (observed − expected)/(1 − expected).
    pub kappa: f64,
    /// Standard error over things; absent with a single one.
    pub standard_error: Option<f64>,
    /// 95 % interval by Student's t over things, within −1 to 1; absent with a single one.
    pub interval: Option<Interval>,
    /// Standard error if only chance made raters agree; absent where things have different numbers of ratings.
    pub null_standard_error: Option<f64>,
}

/// Fleiss' kappa of ratings given thing by thing, one place a rater, missing ones `None`. Categories are the scores seen.
///
/// # Errors
/// [`Undefined::TooFew`] where nothing was rated twice, [`Undefined::OneCategory`], [`Undefined::NotFinite`].
pub fn fleiss_kappa(things: &[Vec<Option<f64>>]) -> Result<FleissKappa, Undefined> {
    let counts = RatingCounts::of(things)?;
    let shares = counts.shares();
    let expected: f64 = shares.iter().map(|share| share * share).sum();
    let found = counts.coefficient(expected, &shares)?;
    let null_standard_error =
        counts
            .raters_of_each()
            .filter(|&raters| raters > 1.0)
            .map(|raters| {
                let spread: f64 = shares.iter().map(|p| p * (1.0 - p)).sum();
                let skew: f64 = shares.iter().map(|p| p * (1.0 - p) * (1.0 - 2.0 * p)).sum();
                let ratings = counts.things() as f64 * raters * (raters - 1.0);
                (2.0 * (spread * spread - skew).max(0.0) / ratings).sqrt() / spread
            });
    Ok(FleissKappa {
        things: counts.things(),
        observed: found.observed,
        expected: found.expected,
        kappa: found.value,
        standard_error: found.standard_error,
        interval: found.interval,
        null_standard_error,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{FLEISS_1971, KRIPPENDORFF_C, things_of_observers};
    use crate::stats::testing::{assert_close, assert_relative};

    /// Ratings behind a table of things by categories.
    fn ratings<const K: usize>(counts: &[[usize; K]]) -> Vec<Vec<Option<f64>>> {
        counts
            .iter()
            .map(|row| {
                row.iter()
                    .enumerate()
                    .flat_map(|(category, &count)| {
                        std::iter::repeat_n(Some(category as f64), count)
                    })
                    .collect()
            })
            .collect()
    }

    /// Fleiss 1971 (.430); statsmodels 0.15.0 for the digits, the 1979 standard error by its formula.
    #[test]
    fn thirty_patients_by_six_raters() {
        let found = fleiss_kappa(&ratings(&FLEISS_1971)).unwrap();
        assert_relative(found.kappa, 0.430_244_520_060_140_74, 1e-12);
        assert_relative(found.observed, 0.555_555_555_555_555_5, 1e-12);
        assert_relative(found.expected, 0.219_938_271_604_938_28, 1e-12);
        assert_relative(
            found.null_standard_error.unwrap(),
            0.024_373_932_099_411_154,
            1e-12,
        );
    }

    /// The example of the encyclopedia, asserted as 0.210 in the tests of statsmodels.
    #[test]
    fn ten_subjects_by_fourteen_raters() {
        let found = fleiss_kappa(&ratings(&[
            [0, 0, 0, 0, 14],
            [0, 2, 6, 4, 2],
            [0, 0, 3, 5, 6],
            [0, 3, 9, 2, 0],
            [2, 2, 8, 1, 1],
            [7, 7, 0, 0, 0],
            [3, 2, 6, 3, 0],
            [2, 5, 3, 2, 2],
            [6, 5, 2, 1, 0],
            [0, 2, 2, 3, 7],
        ]))
        .unwrap();
        assert_relative(found.kappa, 0.209_930_704_421_955_22, 1e-12);
    }

    /// Gwet 2008 as printed in the README of irrCAC: 0.76117, standard error 0.15302.
    #[test]
    fn ratings_missing() {
        let found = fleiss_kappa(&things_of_observers(&KRIPPENDORFF_C)).unwrap();
        assert_relative(found.kappa, 0.761_169_275_422_411_2, 1e-12);
        assert_close(found.standard_error.unwrap(), 0.153_02, 5e-6);
        assert!(found.null_standard_error.is_none());
    }

    #[test]
    fn undefined_without_pairs_or_categories() {
        assert_eq!(
            fleiss_kappa(&[vec![Some(1.0), None]]),
            Err(Undefined::TooFew {
                needed: 1,
                given: 0
            })
        );
        assert_eq!(
            fleiss_kappa(&[vec![Some(1.0), Some(1.0)]]),
            Err(Undefined::OneCategory)
        );
    }
}
