//! Cohen's kappa of two raters, plain and weighted.
//!
//! Source: Cohen 1960, Educational and Psychological Measurement 20:37–46; Cohen 1968, Psychological Bulletin 70:213–220; large-sample
//! standard errors from Fleiss, Cohen & Everitt 1969, Psychological Bulletin 72:323–327.

use crate::stats::distribution::NORMAL_DEVIATE_95;
use crate::stats::requirements::{all_finite, at_least, same_length};
use crate::stats::{Interval, Undefined};

/// How disagreements count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weights {
    /// Every disagreement alike.
    Plain,
    /// By the difference of the two scores.
    Linear,
    /// By the squared difference of the two scores.
    Quadratic,
}

/// Kappa with what it was made of.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kappa {
    /// How many things both rated.
    pub n: usize,
    /// Observed agreement, 0–1 (weighted where the kappa is).
    pub observed: f64,
    /// Agreement to expect by chance from each rater's own use of the categories, 0–1.
    pub expected: f64,
    /// (observed − expected)/(1 − expected): 1 is perfect, 0 is chance.
    pub kappa: f64,
    /// Large-sample standard error.
    pub standard_error: f64,
    /// Standard error if only chance made them agree: for a test of kappa = 0.
    pub null_standard_error: f64,
    /// Large-sample 95 % interval, kappa ± 1.96 standard errors, cut where kappa itself ends, at −1 and 1: with few things the plain interval
    /// reaches beyond what kappa can be (R's irrCAC cuts its intervals at 1 too; its README prints 0.461 to 1).
    pub interval: Interval,
}

/// Cohen's kappa of two raters of the same things, categories being the scores seen.
///
/// Weights come from the scores themselves, so that 1 and 4 differ more than 1 and 2 whatever lies between.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] below two things, [`Undefined::OneCategory`] where both used one and the same score
/// throughout, [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn cohen_kappa(first: &[f64], second: &[f64], weights: Weights) -> Result<Kappa, Undefined> {
    same_length(first.len(), second.len())?;
    at_least(2, first.len())?;
    all_finite(first)?;
    all_finite(second)?;
    let mut scores: Vec<f64> = first.iter().chain(second).copied().collect();
    scores.sort_by(f64::total_cmp);
    scores.dedup_by(|later, earlier| later <= earlier);
    let category = |score: f64| scores.partition_point(|&other| other < score);
    let range = match (scores.first(), scores.last()) {
        (Some(lowest), Some(highest)) => highest - lowest,
        _ => 0.0,
    };
    if !range.is_finite() {
        return Err(Undefined::OutOfRange);
    }
    if range <= 0.0 {
        return Err(Undefined::OneCategory);
    }
    let pairs: Vec<(usize, usize)> = first
        .iter()
        .zip(second)
        .map(|(&a, &b)| (category(a), category(b)))
        .collect();
    kappa_of_pairs(&pairs, scores.len(), |row, column| {
        let score = |category: usize| scores.get(category).copied().unwrap_or(0.0);
        let difference = (score(row) - score(column)).abs() / range;
        match weights {
            Weights::Plain => f64::from(u8::from(row == column)),
            Weights::Linear => 1.0 - difference,
            Weights::Quadratic => 1.0 - difference * difference,
        }
    })
}

/// Kappa of pairs of category numbers below `categories`, with any weights of agreement (1 for full, 0 for none).
fn kappa_of_pairs(
    pairs: &[(usize, usize)],
    categories: usize,
    agreement: impl Fn(usize, usize) -> f64,
) -> Result<Kappa, Undefined> {
    let n = pairs.len() as f64;
    let mut rows = vec![0.0; categories];
    let mut columns = vec![0.0; categories];
    for &(row, column) in pairs {
        if let (Some(row), Some(column)) = (rows.get_mut(row), columns.get_mut(column)) {
            *row += 1.0 / n;
            *column += 1.0 / n;
        }
    }
    // Mean weight of each rater's category against the other's use of all.
    let row_weights: Vec<f64> = (0..categories)
        .map(|row| {
            columns
                .iter()
                .enumerate()
                .map(|(column, p)| p * agreement(row, column))
                .sum()
        })
        .collect();
    let column_weights: Vec<f64> = (0..categories)
        .map(|column| {
            rows.iter()
                .enumerate()
                .map(|(row, p)| p * agreement(row, column))
                .sum()
        })
        .collect();
    let at = |weights: &[f64], category: usize| weights.get(category).copied().unwrap_or(0.0);
    let observed = pairs
        .iter()
        .map(|&(row, column)| agreement(row, column))
        .sum::<f64>()
        / n;
    let expected: f64 = rows.iter().zip(&row_weights).map(|(p, w)| p * w).sum();
    let beyond_chance = 1.0 - expected;
    if beyond_chance <= f64::EPSILON {
        return Err(Undefined::OneCategory);
    }
    let kappa = (observed - expected) / beyond_chance;
    let square = pairs
        .iter()
        .map(|&(row, column)| {
            let mean_weight = at(&row_weights, row) + at(&column_weights, column);
            (agreement(row, column) - mean_weight * (1.0 - kappa)).powi(2)
        })
        .sum::<f64>()
        / n;
    let null_square: f64 = rows
        .iter()
        .enumerate()
        .flat_map(|(row, p)| {
            columns
                .iter()
                .enumerate()
                .map(move |(column, q)| (row, column, p * q))
        })
        .map(|(row, column, share)| {
            let mean_weight = at(&row_weights, row) + at(&column_weights, column);
            share * (agreement(row, column) - mean_weight).powi(2)
        })
        .sum();
    let error =
        |square: f64, centre: f64| ((square - centre * centre).max(0.0) / n).sqrt() / beyond_chance;
    let standard_error = error(square, kappa - expected * (1.0 - kappa));
    Ok(Kappa {
        n: pairs.len(),
        observed,
        expected,
        kappa,
        standard_error,
        null_standard_error: error(null_square, expected),
        interval: within_bounds(
            kappa,
            Interval::around(kappa, NORMAL_DEVIATE_95 * standard_error),
        ),
    })
}

/// An interval about a kappa, cut at −1 and 1; it holds the kappa still where rounding put that a hair beyond.
fn within_bounds(kappa: f64, interval: Interval) -> Interval {
    Interval {
        low: interval.low.max(-1.0).min(kappa),
        high: interval.high.min(1.0).max(kappa),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, assert_relative};
    use proptest::prelude::*;

    /// The ratings behind a square table of counts, categories 1, 2, 3 …
    fn ratings<const K: usize>(counts: [[usize; K]; K]) -> (Vec<f64>, Vec<f64>) {
        let mut first = Vec::new();
        let mut second = Vec::new();
        for (row, counts) in counts.iter().enumerate() {
            for (column, &count) in counts.iter().enumerate() {
                first.extend(std::iter::repeat_n(row as f64 + 1.0, count));
                second.extend(std::iter::repeat_n(column as f64 + 1.0, count));
            }
        }
        (first, second)
    }

    fn pairs<const K: usize>(counts: [[usize; K]; K]) -> Vec<(usize, usize)> {
        let (first, second) = ratings(counts);
        let category = |score: &f64| (1..=K).find(|&k| k as f64 >= *score).unwrap() - 1;
        first
            .iter()
            .zip(&second)
            .map(|(a, b)| (category(a), category(b)))
            .collect()
    }

    /// Four published 4 × 4 tables; statsmodels 0.15.0: `cohens_kappa`, `wt` none, linear, quadratic.
    #[test]
    fn published_ordinal_tables() {
        // Westlund & Kurland 1953 as in Landis & Koch 1977: neurologists of Winnipeg, then of New Orleans.
        let winnipeg = [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]];
        let new_orleans = [[5, 3, 0, 0], [3, 11, 4, 0], [2, 13, 3, 4], [1, 2, 4, 14]];
        // Hout, Duncan & Sobel 1987; Agresti, mammograms.
        let couples = [[7, 7, 2, 3], [2, 8, 3, 7], [1, 5, 4, 9], [2, 8, 9, 14]];
        let mammograms = [[34, 10, 2, 0], [6, 8, 8, 2], [2, 5, 4, 12], [0, 1, 2, 14]];
        for (table, expected) in [
            (
                winnipeg,
                [
                    (0.207_942_464_040_024_98, 0.050_455_365_240_876_99),
                    (0.379_730_547_986_678_7, 0.051_666_826_218_333_96),
                    (0.524_576_464_331_839_4, 0.060_055_098_831_795_62),
                ],
            ),
            (
                new_orleans,
                [
                    (0.296_516_567_544_605, 0.078_503_870_672_370_42),
                    (0.477_272_727_272_727_2, 0.073_030_986_851_097_59),
                    (0.625_581_395_348_837_3, 0.078_731_873_814_061_94),
                ],
            ),
            (
                couples,
                [
                    (0.129_330_254_041_570_42, 0.068_598_532_480_708_59),
                    (0.237_380_627_557_980_84, 0.078_316_334_778_372_83),
                    (0.332_045_586_246_861_2, 0.097_297_521_958_604_62),
                ],
            ),
            (
                mammograms,
                [
                    (0.371_284_865_112_025_63, 0.060_333_228_166_901_676),
                    (0.596_369_254_538_431_8, 0.049_229_640_189_493_66),
                    (0.764_119_601_328_903_6, 0.039_960_908_397_010_116),
                ],
            ),
        ] {
            let (first, second) = ratings(table);
            for (weights, (kappa, error)) in [Weights::Plain, Weights::Linear, Weights::Quadratic]
                .into_iter()
                .zip(expected)
            {
                let found = cohen_kappa(&first, &second, weights).unwrap();
                assert_relative(found.kappa, kappa, 1e-12);
                assert_relative(found.standard_error, error, 1e-12);
            }
        }
    }

    /// Cohen 1968 reports kappa .492 and weighted .348 for disagreement weights 0, 1, 3, 6; statsmodels 0.15.0 for the digits.
    #[test]
    fn weights_of_cohen_1968() {
        let table = [[88, 14, 18], [10, 40, 10], [2, 6, 12]];
        let (first, second) = ratings(table);
        let plain = cohen_kappa(&first, &second, Weights::Plain).unwrap();
        assert_relative(plain.kappa, 0.491_525_423_728_813_47, 1e-12);
        assert_relative(plain.standard_error, 0.051_001_815_576_077_86, 1e-12);
        assert_relative(plain.null_standard_error, 0.051_978_936_356_595_444, 1e-12);
        assert_relative(plain.interval.low, 0.391_563_702_053_546_9, 1e-12);
        assert_relative(plain.interval.high, 0.591_487_145_404_08, 1e-12);
        let linear = cohen_kappa(&first, &second, Weights::Linear).unwrap();
        assert_relative(linear.kappa, 0.473_684_210_526_315_8, 1e-12);
        let quadratic = cohen_kappa(&first, &second, Weights::Quadratic).unwrap();
        assert_relative(quadratic.kappa, 0.454_545_454_545_454_6, 1e-12);
        let disagreement = [[0.0, 1.0, 3.0], [1.0, 0.0, 6.0], [3.0, 6.0, 0.0]];
        let weighted = kappa_of_pairs(&pairs(table), 3, |row, column| {
            1.0 - disagreement[row][column] / 6.0
        })
        .unwrap();
        assert_relative(weighted.kappa, 0.347_826_086_956_521_73, 1e-12);
        assert_relative(weighted.standard_error, 0.075_504_015_254_822_96, 1e-12);
    }

    /// Fleiss, Cohen & Everitt 1969 (kappa .429); statsmodels 0.15.0 for the digits.
    #[test]
    fn weights_of_fleiss_cohen_and_everitt() {
        let table = [[106, 10, 4], [22, 28, 10], [2, 12, 6]];
        let (first, second) = ratings(table);
        let plain = cohen_kappa(&first, &second, Weights::Plain).unwrap();
        assert_relative(plain.kappa, 0.428_571_428_571_428_4, 1e-12);
        assert_relative(plain.standard_error, 0.053_711_004_869_167_35, 1e-12);
        assert_relative(plain.null_standard_error, 0.055_512_454_936_358_43, 1e-12);
        let agreement = [
            [1.0, 0.0, 4.0 / 9.0],
            [0.0, 1.0, 6.0 / 9.0],
            [4.0 / 9.0, 6.0 / 9.0, 1.0],
        ];
        let weighted =
            kappa_of_pairs(&pairs(table), 3, |row, column| agreement[row][column]).unwrap();
        assert_relative(weighted.kappa, 0.507_060_333_761_232_4, 1e-12);
        assert_relative(weighted.standard_error, 0.056_994_150_151_972_03, 1e-12);
        assert_relative(
            weighted.null_standard_error,
            0.065_335_703_017_550_48,
            1e-12,
        );
    }

    /// statsmodels 0.15.0: `cohens_kappa`, whose intervals are not cut: 0.5945 to 1.1198, and −1.2290 to −0.1044.
    #[test]
    fn an_interval_ends_where_kappa_does() {
        let (first, second) = ratings([[2, 0, 0], [0, 2, 0], [0, 1, 1]]);
        let high = cohen_kappa(&first, &second, Weights::Quadratic).unwrap();
        assert_relative(high.kappa, 0.857_142_857_142_857_1, 1e-12);
        assert_relative(high.standard_error, 0.133_998_065_330_559_1, 1e-12);
        assert_relative(high.interval.low, 0.594_511_475_096_915_9, 1e-12);
        assert_close(high.interval.high, 1.0, 0.0);
        let (first, second) = ratings([[0, 3], [2, 1]]);
        let low = cohen_kappa(&first, &second, Weights::Plain).unwrap();
        assert_relative(low.kappa, -0.666_666_666_666_666_6, 1e-12);
        assert_close(low.interval.low, -1.0, 0.0);
        assert_relative(low.interval.high, -0.104_377_194_702_259_63, 1e-9);
    }

    /// SAS printout quoted in the tests of statsmodels: a category that the second rater never used.
    #[test]
    fn a_category_one_rater_never_used() {
        let (first, second) = ratings([[0, 4, 1], [0, 8, 0], [0, 1, 5]]);
        let plain = cohen_kappa(&first, &second, Weights::Plain).unwrap();
        assert_relative(plain.kappa, 0.484_162_895_927_601_87, 1e-12);
        assert_close(plain.standard_error, 0.1380, 5e-5);
        assert_close(plain.null_standard_error, 0.1484, 5e-5);
        assert_close(plain.interval.low, 0.2137, 5e-5);
        assert_close(plain.interval.high, 0.7547, 5e-5);
        let linear = cohen_kappa(&first, &second, Weights::Linear).unwrap();
        assert_relative(linear.kappa, 0.470_119_521_912_350_6, 1e-12);
        assert_close(linear.standard_error, 0.1457, 5e-5);
        assert_close(linear.null_standard_error, 0.1426, 5e-5);
    }

    /// R irr `kappa2` on anxiety ratings, as quoted in the tests of statsmodels; there categories are the ranks of the levels seen.
    #[test]
    fn two_raters_of_anxiety() {
        let second = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4];
        let third = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2];
        let rank = |score: &i32| f64::from(if *score == 6 { 5 } else { *score });
        let (second, third): (Vec<f64>, Vec<f64>) = (
            second.iter().map(rank).collect(),
            third.iter().map(rank).collect(),
        );
        for (weights, kappa, z) in [
            (Weights::Plain, -0.006_289_308, -0.060_406_7),
            (Weights::Linear, 0.145_907_5, 1.282_472),
            (Weights::Quadratic, 0.252_032_5, 1.437_451),
        ] {
            let found = cohen_kappa(&second, &third, weights).unwrap();
            assert_close(found.kappa, kappa, 6e-8);
            assert_close(found.kappa / found.null_standard_error, z, 6e-7);
        }
    }

    #[test]
    fn undefined_of_one_category() {
        assert_eq!(
            cohen_kappa(&[2.0; 5], &[2.0; 5], Weights::Plain),
            Err(Undefined::OneCategory)
        );
        assert_eq!(
            cohen_kappa(&[2.0], &[3.0], Weights::Plain),
            Err(Undefined::TooFew {
                needed: 2,
                given: 1
            })
        );
        assert_eq!(
            cohen_kappa(&[1e308, 0.0], &[0.0, -1e308], Weights::Linear),
            Err(Undefined::OutOfRange)
        );
        // Each its own single category: no better than chance, and defined.
        assert_close(
            cohen_kappa(&[2.0; 5], &[3.0; 5], Weights::Quadratic)
                .unwrap()
                .kappa,
            0.0,
            1e-15,
        );
    }

    proptest! {
        #[test]
        fn swapping_raters_and_moving_scores_change_nothing(
            ratings in prop::collection::vec((1..5_i32, 1..5_i32), 2..40), shift in -9..9_i32,
        ) {
            let first: Vec<f64> = ratings.iter().map(|r| f64::from(r.0)).collect();
            let second: Vec<f64> = ratings.iter().map(|r| f64::from(r.1)).collect();
            let moved = |scores: &[f64]| scores.iter().map(|s| 3.0 * s + f64::from(shift)).collect::<Vec<_>>();
            for weights in [Weights::Plain, Weights::Linear, Weights::Quadratic] {
                let Ok(found) = cohen_kappa(&first, &second, weights) else { continue };
                let swapped = cohen_kappa(&second, &first, weights).unwrap();
                assert_close(found.kappa, swapped.kappa, 1e-12);
                let scaled = cohen_kappa(&moved(&first), &moved(&second), weights).unwrap();
                assert_close(found.kappa, scaled.kappa, 1e-12);
                assert_close(found.standard_error, scaled.standard_error, 1e-12);
                prop_assert!(found.kappa <= 1.0 + 1e-12 && found.interval.contains(found.kappa));
            }
        }
    }
}
