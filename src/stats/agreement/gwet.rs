//! Gwet's AC1: agreement of many raters where one category is so common that kappa breaks down.
//!
//! Source: Gwet 2008, British Journal of Mathematical and Statistical Psychology 61:29–48.

use super::rating_counts::RatingCounts;
use crate::stats::{Interval, Undefined};

/// AC1 with what it was made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Ac1 {
    /// How many things had a rating.
    pub things: usize,
    /// Mean share of pairs of raters who agree, 0–1.
    pub observed: f64,
    /// Agreement to expect by chance, Σ π(1 − π)/(q − 1) over the q categories, 0–1.
    pub expected: f64,
    /// (observed − expected)/(1 − expected).
    pub value: f64,
    /// Standard error over things; absent with a single one.
    pub standard_error: Option<f64>,
    /// 95 % interval by Student's t over things, within −1 to 1; absent with a single one.
    pub interval: Option<Interval>,
}

/// Gwet's AC1 of ratings given thing by thing, one place a rater, missing ones `None`. Categories are the scores seen.
///
/// # Errors
/// [`Undefined::TooFew`] where nothing was rated twice, [`Undefined::OneCategory`], [`Undefined::NotFinite`].
pub fn gwet_ac1(things: &[Vec<Option<f64>>]) -> Result<Ac1, Undefined> {
    let counts = RatingCounts::of(things)?;
    let others = counts.categories as f64 - 1.0;
    let shares = counts.shares();
    let expected = shares
        .iter()
        .map(|share| share * (1.0 - share))
        .sum::<f64>()
        / others;
    let chances: Vec<f64> = shares.iter().map(|share| (1.0 - share) / others).collect();
    let found = counts.coefficient(expected, &chances)?;
    Ok(Ac1 {
        things: counts.things(),
        observed: found.observed,
        expected: found.expected,
        value: found.value,
        standard_error: found.standard_error,
        interval: found.interval,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{KRIPPENDORFF_C, things_of_observers};
    use crate::stats::testing::{assert_close, assert_relative};

    /// Gwet 2008 as printed in the README of irrCAC: 0.77544, standard error 0.14295, interval 0.461 to 1.
    #[test]
    fn four_raters_with_ratings_missing() {
        let found = gwet_ac1(&things_of_observers(&KRIPPENDORFF_C)).unwrap();
        assert_relative(found.observed, 0.818_181_818_181_818_2, 1e-12);
        assert_relative(found.expected, 0.190_321_180_555_555_55, 1e-12);
        assert_relative(found.value, 0.775_444_068_126_995, 1e-12);
        assert_close(found.standard_error.unwrap(), 0.142_95, 5e-6);
        let interval = found.interval.unwrap();
        assert_close(interval.low, 0.461, 5e-4);
        assert_close(interval.high, 1.0, 0.0);
    }

    #[test]
    fn undefined_of_one_category() {
        assert_eq!(
            gwet_ac1(&[vec![Some(1.0), Some(1.0)]]),
            Err(Undefined::OneCategory)
        );
        assert!(
            gwet_ac1(&[vec![Some(1.0), Some(2.0)]])
                .unwrap()
                .interval
                .is_none()
        );
    }
}
