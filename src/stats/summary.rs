//! One block of scores in single numbers, in the unit of the scores unless said otherwise.
//!
//! Accurate to at least 13 digits on all univariate sets of NIST's Statistical Reference Datasets; see [`super::moments`] for how.

use super::{
    Undefined,
    moments::Moments,
    requirements::{finite_numbers, finite_result},
};

/// The sum.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn sum(values: &[f64]) -> Result<f64, Undefined> {
    Moments::of(values).map(|moments| moments.sum)
}

/// The arithmetic mean.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn mean(values: &[f64]) -> Result<f64, Undefined> {
    Moments::of(values).map(|moments| moments.mean)
}

/// The middle value in order of size; of an even number of values the mean of the middle two.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn median(values: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(1, values)?;
    let mut values = values.to_vec();
    let (half, even) = (values.len() / 2, values.len().is_multiple_of(2));
    let (below, upper, _) = values.select_nth_unstable_by(half, f64::total_cmp);
    match below.iter().copied().max_by(f64::total_cmp) {
        Some(lower) if even => mean(&[lower, *upper]),
        _ => mean(&[*upper]),
    }
}

/// All values that occur most often, ascending; every value where each occurs once.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn modes(values: &[f64]) -> Result<Vec<f64>, Undefined> {
    finite_numbers(1, values)?;
    // Adding zero turns −0 into 0, which is the same score.
    let mut sorted: Vec<f64> = values.iter().map(|value| value + 0.0).collect();
    sorted.sort_by(f64::total_cmp);
    let runs = || sorted.chunk_by(|a, b| a.total_cmp(b).is_eq());
    let most = runs().map(<[f64]>::len).max().unwrap_or_default();
    Ok(runs()
        .filter(|run| run.len() == most)
        .filter_map(|run| run.first().copied())
        .collect())
}

/// The smallest of the values that occur most often.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn mode(values: &[f64]) -> Result<f64, Undefined> {
    let modes = modes(values)?;
    modes.first().copied().ok_or(Undefined::TooFew {
        needed: 1,
        given: 0,
    })
}

/// The smallest value.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn minimum(values: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(1, values)?;
    Ok(values.iter().copied().fold(f64::INFINITY, f64::min))
}

/// The largest value.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn maximum(values: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(1, values)?;
    Ok(values.iter().copied().fold(f64::NEG_INFINITY, f64::max))
}

/// maximum − minimum.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers, [`Undefined::Overflow`].
pub fn range(values: &[f64]) -> Result<f64, Undefined> {
    let (low, high) = (minimum(values)?, maximum(values)?);
    let difference = super::decimal_grid::differences(&[low], &[high]);
    finite_result(difference.first().copied().unwrap_or_default())
}

/// The sample variance s², with n − 1 in the denominator (unit squared).
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers.
pub fn variance(values: &[f64]) -> Result<f64, Undefined> {
    Moments::of(values)?.variance()
}

/// The sample standard deviation s, with n − 1 in the denominator.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers.
pub fn sd(values: &[f64]) -> Result<f64, Undefined> {
    Moments::of(values)?.sd()
}

/// The standard deviation with n in the denominator: of these numbers alone, not an estimate beyond them.
///
/// # Errors
/// [`Undefined::TooFew`] for no numbers.
pub fn population_sd(values: &[f64]) -> Result<f64, Undefined> {
    let moments = Moments::of(values)?;
    Ok((moments.squared_deviations / moments.n as f64).sqrt())
}

/// The standard error of the mean, s/√n. It takes the trials to be independent.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers.
pub fn standard_error(values: &[f64]) -> Result<f64, Undefined> {
    let moments = Moments::of(values)?;
    Ok(moments.sd()? / (moments.n as f64).sqrt())
}

/// The coefficient of variation, 100·s/mean, in percent.
///
/// It has a meaning only on scales with a true zero and positive scores; whether that holds is for the caller to know.
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than two numbers, [`Undefined::ZeroDenominator`] for a mean of zero.
pub fn coefficient_of_variation(values: &[f64]) -> Result<f64, Undefined> {
    let moments = Moments::of(values)?;
    ratio(100.0 * moments.sd()?, moments.mean)
}

/// The first-order autocorrelation r₁ = Σ (xᵢ − x̄)(xᵢ₊₁ − x̄) / Σ (xᵢ − x̄)², with one mean for all (NIST/SEMATECH e-Handbook 1.3.5.12).
///
/// # Errors
/// [`Undefined::TooFew`] for fewer than three numbers (of two it is −½ whatever they are), [`Undefined::NoSpread`].
pub fn lag1_autocorrelation(values: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(3, values)?;
    let products = super::moments::lagged_products(values)?;
    ratio(products.lagged, products.squared).map_err(|_| Undefined::NoSpread)
}

/// numerator / denominator.
///
/// # Errors
/// [`Undefined::ZeroDenominator`], [`Undefined::Overflow`].
pub(super) fn ratio(numerator: f64, denominator: f64) -> Result<f64, Undefined> {
    if denominator == 0.0 {
        return Err(Undefined::ZeroDenominator);
    }
    finite_result(numerator / denominator)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::{
        nist_sets::{LEW, LOTTERY, MAVRO, MICHELSO},
        procedures::digits_agreed,
        published::NILE,
    };
    use proptest::prelude::*;

    /// Mean, sd and r₁, certified to 15 digits by NIST/ITL, Statistical Reference Datasets, univariate.
    fn assert_certified(name: &str, values: &[f64], certified: [f64; 3]) {
        let computed = [
            mean(values).unwrap(),
            sd(values).unwrap(),
            lag1_autocorrelation(values).unwrap(),
        ];
        for (computed, certified) in computed.into_iter().zip(certified) {
            let agreed = digits_agreed(computed, certified);
            assert!(
                agreed >= 13.0,
                "{name}: {computed} for {certified}, {agreed} digits"
            );
        }
    }

    #[test]
    fn nist_observed_sets() {
        assert_certified(
            "Lottery",
            &LOTTERY,
            [
                518.958_715_596_330,
                291.699_727_470_969,
                -0.120_948_622_967_393,
            ],
        );
        assert_certified(
            "Lew",
            &LEW,
            [-177.435, 277.332_168_044_316, -0.307_304_800_605_679],
        );
        assert_certified(
            "Mavro",
            &MAVRO,
            [2.001_856, 0.000_429_123_454_003_053, 0.937_989_183_438_248],
        );
        assert_certified(
            "Michelso",
            &MICHELSO,
            [299.8524, 0.079_010_547_819_051_8, 0.535_199_668_621_283],
        );
    }

    #[test]
    fn nist_pi_digits() {
        let mut values = digits_of_pi(5_000);
        assert_eq!(values.get(..6), Some(&[3.0, 1.0, 4.0, 1.0, 5.0, 9.0][..]));
        // NIST's list, to which the certified values belong, has a 3 for the 957th digit of pi, an 8.
        assert_eq!(std::mem::replace(&mut values[956], 3.0), 8.0);
        assert_certified(
            "PiDigits",
            &values,
            [4.5348, 2.867_339_060_288_71, -0.003_550_992_872_379_72],
        );
    }

    /// These sets are defined by a rule: a level, then values a tenth above and below it in turns.
    #[test]
    fn nist_numerical_accuracy_sets() {
        assert_certified(
            "NumAcc1",
            &[10_000_001.0, 10_000_003.0, 10_000_002.0],
            [10_000_002.0, 1.0, -0.5],
        );
        for (name, level, low, high) in [
            ("NumAcc2", 1.2, 1.1, 1.3),
            ("NumAcc3", 1_000_000.2, 1_000_000.1, 1_000_000.3),
            ("NumAcc4", 10_000_000.2, 10_000_000.1, 10_000_000.3),
        ] {
            let values: Vec<f64> = std::iter::once(level)
                .chain([low, high].into_iter().cycle().take(1_000))
                .collect();
            assert_certified(name, &values, [level, 0.1, -0.999]);
        }
    }

    /// The spigot of Rabinowitz & Wagon (1995, American Mathematical Monthly 102:195–203), four digits at a time.
    fn digits_of_pi(wanted: usize) -> Vec<f64> {
        let mut mixed_radix = vec![2_000_u64; wanted / 4 * 14 + 1];
        let mut held = 0;
        let mut groups = Vec::new();
        for length in (1..=wanted / 4).rev().map(|group| group * 14) {
            let mut carry = 0;
            for place in (1..=length).rev() {
                let odd = 2 * place as u64 - 1;
                carry = carry * place as u64 + mixed_radix[place] * 10_000;
                mixed_radix[place] = carry % odd;
                carry /= odd;
            }
            groups.push(held + carry / 10_000);
            held = carry % 10_000;
        }
        // A group can overflow into the one before it.
        for index in (1..groups.len()).rev() {
            groups[index - 1] += groups[index] / 10_000;
            groups[index] %= 10_000;
        }
        groups
            .iter()
            .flat_map(|group| [1_000, 100, 10, 1].map(|power| (group / power % 10) as f64))
            .collect()
    }

    #[test]
    fn small_blocks() {
        let ratings = [2.0, 3.0, 3.0, 1.0, 2.0, 4.0];
        assert_eq!(sum(&ratings), Ok(15.0));
        assert_eq!(median(&ratings), Ok(2.5));
        assert_eq!(median(&[3.0, 1.0, 2.0]), Ok(2.0));
        assert_eq!(modes(&ratings), Ok(vec![2.0, 3.0]));
        assert_eq!(mode(&ratings), Ok(2.0));
        assert_eq!(modes(&[0.0, -0.0, 1.0]), Ok(vec![0.0]));
        assert_eq!((minimum(&ratings), maximum(&ratings)), (Ok(1.0), Ok(4.0)));
        assert_eq!(range(&[0.3, 0.1]), Ok(0.2));
        // Σ (x − 2.5)² = 5.5
        assert_eq!(variance(&ratings), Ok(1.1));
        assert!(digits_agreed(population_sd(&ratings).unwrap(), (5.5_f64 / 6.0).sqrt()) > 15.0);
        assert!(digits_agreed(standard_error(&ratings).unwrap(), (1.1_f64 / 6.0).sqrt()) > 15.0);
        let percent = coefficient_of_variation(&ratings).unwrap();
        assert!(digits_agreed(percent, 40.0 * 1.1_f64.sqrt()) > 15.0);
    }

    /// One athlete's six trials, 76.2 ± 2.8 (Hopkins 2001, ACSM, Client assessment and other new uses of reliability).
    #[test]
    fn hopkins_single_athlete() {
        let trials = [72.0, 76.0, 74.0, 79.0, 79.0, 77.0];
        assert!((mean(&trials).unwrap() - 76.2).abs() < 0.05);
        assert!((sd(&trials).unwrap() - 2.8).abs() < 0.05);
    }

    /// A hundred years of the Nile (Cobb 1978), by `SciPy` 1.17.1 and `NumPy` 2.4.6.
    #[test]
    fn nile() {
        assert!(digits_agreed(mean(&NILE).unwrap(), 919.35) > 14.0);
        assert!(digits_agreed(sd(&NILE).unwrap(), 169.227_500_6) > 9.0);
        assert!(digits_agreed(lag1_autocorrelation(&NILE).unwrap(), 0.498_408_184_1) > 9.0);
    }

    #[test]
    fn what_has_no_value_says_why() {
        let none = Undefined::TooFew {
            needed: 1,
            given: 0,
        };
        assert_eq!(mean(&[]), Err(none));
        assert_eq!(mode(&[]), Err(none));
        assert_eq!(median(&[]), Err(none));
        assert!(sd(&[3.0]).is_err());
        assert_eq!(sd(&[3.0, 3.0]), Ok(0.0));
        assert_eq!(
            coefficient_of_variation(&[-1.0, 1.0]),
            Err(Undefined::ZeroDenominator)
        );
        assert_eq!(
            lag1_autocorrelation(&[2.0, 2.0, 2.0]),
            Err(Undefined::NoSpread)
        );
    }

    proptest! {
        #[test]
        fn order_does_not_matter(mut values in prop::collection::vec(-1e6_f64..1e6, 2..30)) {
            let before = (mean(&values), sd(&values), median(&values));
            values.reverse();
            let after = (mean(&values), sd(&values), median(&values));
            prop_assert!((before.0? - after.0?).abs() <= 1e-9);
            prop_assert!((before.1? - after.1?).abs() <= 1e-9);
            prop_assert_eq!(before.2, after.2);
        }

        #[test]
        fn shift_and_scale(values in prop::collection::vec(-1e3_f64..1e3, 3..30), shift in -1e3_f64..1e3, scale in 0.1_f64..10.0) {
            let moved: Vec<f64> = values.iter().map(|value| value * scale + shift).collect();
            prop_assert!((mean(&moved)? - (mean(&values)? * scale + shift)).abs() < 1e-9);
            prop_assert!((sd(&moved)? - sd(&values)? * scale).abs() < 1e-9);
            prop_assert!((lag1_autocorrelation(&moved)? - lag1_autocorrelation(&values)?).abs() < 1e-6);
            prop_assert!(lag1_autocorrelation(&values)?.abs() <= 1.0);
        }

        #[test]
        fn no_finite_numbers_panic(values in prop::collection::vec(prop::num::f64::NORMAL | prop::num::f64::ZERO | prop::num::f64::SUBNORMAL, 0..12)) {
            for statistic in [sum, mean, median, mode, minimum, maximum, range, variance, sd, population_sd, standard_error, coefficient_of_variation, lag1_autocorrelation] {
                if let Ok(value) = statistic(&values) {
                    prop_assert!(value.is_finite());
                }
            }
        }
    }
}
