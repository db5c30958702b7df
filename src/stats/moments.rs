//! Count, sum and squared deviations of a block, from which mean, sd, t and d all follow.
//!
//! Decimals are summed as whole numbers, without any rounding before the last division; other numbers in two passes with twice the
//! precision of a double (Dekker 1971, Numerische Mathematik 18:224–242; Knuth's two-sum).

use super::{
    Undefined,
    decimal_grid::DecimalGrid,
    requirements::{finite_numbers, finite_result},
};

/// Count, sum, mean and squared deviations of a block of at least one number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// How many numbers.
    pub n: usize,
    /// Their sum.
    pub sum: f64,
    /// sum / n.
    pub mean: f64,
    /// Σ (x − mean)²: exactly 0 where all are equal, and (short of underflow) only there.
    pub squared_deviations: f64,
}

impl Moments {
    /// # Errors
    /// [`Undefined::TooFew`] for no numbers, [`Undefined::NotFinite`], [`Undefined::Overflow`] where a sum exceeds the range of a double.
    pub fn of(values: &[f64]) -> Result<Self, Undefined> {
        // Decimals are finite.
        if let Some(moments) = DecimalSums::of(values).and_then(|sums| sums.moments()) {
            return Ok(moments);
        }
        finite_numbers(1, values)?;
        Self::of_doubles(values)
    }

    /// Sample variance, with n − 1 in the denominator.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two numbers.
    pub fn variance(&self) -> Result<f64, Undefined> {
        if self.n < 2 {
            return Err(Undefined::TooFew {
                needed: 2,
                given: self.n,
            });
        }
        Ok(self.squared_deviations / (self.n - 1) as f64)
    }

    /// Sample standard deviation.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] for fewer than two numbers.
    pub fn sd(&self) -> Result<f64, Undefined> {
        self.variance().map(f64::sqrt)
    }

    /// What [`Self::of`] says of the first number, of the first two, and so on up to all of them: of decimals in one pass.
    #[must_use]
    pub fn of_starts(values: &[f64]) -> Vec<Result<Self, Undefined>> {
        Self::of_growing(values.iter(), |n| values.get(..n))
    }

    /// The same of the last number, of the last two, and so on.
    #[must_use]
    pub fn of_ends(values: &[f64]) -> Vec<Result<Self, Undefined>> {
        Self::of_growing(values.iter().rev(), |n| values.get(values.len() - n..))
    }

    /// `list` gives the numbers that there are after so many of the values.
    fn of_growing<'a>(
        values: impl Iterator<Item = &'a f64>,
        list: impl Fn(usize) -> Option<&'a [f64]>,
    ) -> Vec<Result<Self, Undefined>> {
        let mut sums: Option<DecimalSums> = None;
        values
            .zip(1..)
            .map(|(value, n)| {
                let list = list(n).unwrap_or_default();
                // A number that needs a finer grid changes the steps of all before it.
                sums = sums
                    .and_then(|sums| sums.plus(*value))
                    .or_else(|| DecimalSums::of(list));
                sums.and_then(|sums| sums.moments())
                    .map_or_else(|| Self::of(list), Ok)
            })
            .collect()
    }

    fn of_doubles(values: &[f64]) -> Result<Self, Undefined> {
        let n = values.len() as f64;
        let sum = values
            .iter()
            .fold(Doubled::default(), |sum, &value| sum.plus(value));
        let mean = sum.over(n);
        let alike = values.iter().all(|value| Some(value) == values.first());
        let squared_deviations = if alike {
            0.0
        } else {
            values
                .iter()
                .fold(Doubled::default(), |sum, &value| {
                    let deviation = mean.subtracted_from(value);
                    sum.plus_product(deviation, deviation)
                })
                .high
        };
        Ok(Self {
            n: values.len(),
            sum: finite_result(sum.high)?,
            mean: finite_result(mean.high)?,
            squared_deviations: finite_result(squared_deviations)?,
        })
    }
}

/// Sums over decimals in whole-number arithmetic; `None` where it would overflow 128 bits.
#[derive(Debug, Clone, Copy)]
struct DecimalSums {
    grid: DecimalGrid,
    n: usize,
    /// The first value, from which the others are counted so that a small spread on a large level stays small.
    origin: i64,
    /// Steps from there.
    sum: i128,
    /// Their squares.
    squares: i128,
}

impl DecimalSums {
    fn of(values: &[f64]) -> Option<Self> {
        // Mostly all have as many decimals as the first.
        let of_first = DecimalGrid::of(values.get(..1)?)?;
        Self::on(of_first, values).or_else(|| Self::on(DecimalGrid::of(values)?, values))
    }

    fn on(grid: DecimalGrid, values: &[f64]) -> Option<Self> {
        let none = Self {
            grid,
            n: 0,
            origin: grid.steps(*values.first()?)?,
            sum: 0,
            squares: 0,
        };
        values
            .iter()
            .try_fold(none, |sums, value| sums.plus(*value))
    }

    /// With one more value; `None` also where the grid doesn't hold it.
    fn plus(self, value: f64) -> Option<Self> {
        let offset = i128::from(self.grid.steps(value)? - self.origin);
        Some(Self {
            n: self.n + 1,
            sum: self.sum + offset,
            // At most 2·10^15 steps apart: the square of that fits.
            squares: self.squares.checked_add(offset * offset)?,
            ..self
        })
    }

    fn moments(&self) -> Option<Moments> {
        let n = self.n as i128;
        let n_times_deviations = n
            .checked_mul(self.squares)?
            .checked_sub(self.sum.checked_mul(self.sum)?)?;
        let total = self.sum + n * i128::from(self.origin);
        let (count, per_unit) = (self.n as f64, self.grid.per_unit());
        Some(Moments {
            n: self.n,
            sum: total as f64 / per_unit,
            mean: total as f64 / (count * per_unit),
            squared_deviations: n_times_deviations as f64 / count / per_unit / per_unit,
        })
    }
}

/// Sums of products of deviations from the mean.
#[derive(Debug, Clone, Copy)]
pub(super) struct LaggedProducts {
    /// Σ dᵢ·dᵢ₊₁
    pub(super) lagged: f64,
    /// Σ dᵢ²
    pub(super) squared: f64,
}

/// Sums of products of each deviation from the mean with the next one and with itself, both on one scale of no meaning of its own.
pub(super) fn lagged_products(values: &[f64]) -> Result<LaggedProducts, Undefined> {
    finite_numbers(1, values)?;
    let exact = || {
        let grid = DecimalGrid::of(values)?;
        let n = values.len() as i128;
        let origin = grid.steps(*values.first()?)?;
        let offsets = values
            .iter()
            .map(|&value| Some(i128::from(grid.steps(value)? - origin)))
            .collect::<Option<Vec<i128>>>()?;
        let sum: i128 = offsets.iter().sum();
        // n times each deviation is whole.
        let deviation = |offset: i128| n.checked_mul(offset)?.checked_sub(sum);
        let (mut lagged, mut squared) = (0_i128, 0_i128);
        let mut previous = None;
        for &offset in &offsets {
            let this = deviation(offset)?;
            if let Some(previous) = previous {
                lagged = lagged.checked_add(this.checked_mul(previous)?)?;
            }
            squared = squared.checked_add(this.checked_mul(this)?)?;
            previous = Some(this);
        }
        Some(LaggedProducts {
            lagged: lagged as f64,
            squared: squared as f64,
        })
    };
    if let Some(products) = exact() {
        return Ok(products);
    }
    let moments = Moments::of(values)?;
    let mean = values
        .iter()
        .fold(Doubled::default(), |sum, &value| sum.plus(value))
        .over(moments.n as f64);
    let deviations: Vec<Doubled> = values
        .iter()
        .map(|&value| mean.subtracted_from(value))
        .collect();
    let lagged = deviations
        .windows(2)
        .fold(Doubled::default(), |sum, pair| match pair {
            [first, second] => sum.plus_product(*first, *second),
            _ => sum,
        });
    Ok(LaggedProducts {
        lagged: finite_result(lagged.high)?,
        squared: moments.squared_deviations,
    })
}

/// The mean of `later` minus that of `earlier`, rounded once where both are decimals.
///
/// # Errors
/// As for [`Moments::of`].
pub fn difference_of_means(earlier: &[f64], later: &[f64]) -> Result<f64, Undefined> {
    finite_numbers(1, earlier)?;
    finite_numbers(1, later)?;
    let exact = || {
        let grid = DecimalGrid::of(earlier)?.refined(later)?;
        let total = |values: &[f64]| {
            values.iter().try_fold(0_i128, |sum, &value| {
                Some(sum + i128::from(grid.steps(value)?))
            })
        };
        let (before, after) = (earlier.len() as i128, later.len() as i128);
        let steps = total(later)?
            .checked_mul(before)?
            .checked_sub(total(earlier)?.checked_mul(after)?)?;
        Some(steps as f64 / (before as f64 * after as f64 * grid.per_unit()))
    };
    exact().map_or_else(
        || finite_result(Moments::of(later)?.mean - Moments::of(earlier)?.mean),
        Ok,
    )
}

/// An unevaluated sum of two doubles: about 32 significant digits.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Doubled {
    pub(super) high: f64,
    low: f64,
}

impl Doubled {
    pub(super) fn plus(self, value: f64) -> Self {
        let (high, error) = two_sum(self.high, value);
        let (high, low) = two_sum(high, self.low + error);
        Self { high, low }
    }

    /// self + x·y, where the low halves of x and y enter to first order.
    pub(super) fn plus_product(self, x: Self, y: Self) -> Self {
        let product = x.high * y.high;
        let error = libm::fma(x.high, y.high, -product) + (x.high * y.low + x.low * y.high);
        let sum = self.plus(product);
        let (high, low) = two_sum(sum.high, sum.low + error);
        Self { high, low }
    }

    pub(super) fn over(self, divisor: f64) -> Self {
        let high = self.high / divisor;
        let remainder = libm::fma(-high, divisor, self.high);
        let low = (remainder + self.low) / divisor;
        let (high, low) = two_sum(high, low);
        Self { high, low }
    }

    /// value − self.
    pub(super) fn subtracted_from(self, value: f64) -> Self {
        let (high, error) = two_sum(value, -self.high);
        let (high, low) = two_sum(high, error - self.low);
        Self { high, low }
    }
}

/// The rounded sum and what rounding lost (Knuth, The Art of Computer Programming 2, 4.2.2).
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let of_b = sum - a;
    let error = (a - (sum - of_b)) + (b - of_b);
    (sum, error)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::procedures::digits_agreed;
    use proptest::prelude::*;

    #[test]
    fn a_mean_of_decimals_is_the_decimal() {
        // As doubles, 0.1 + 0.2 + 0.3 sum to 0.6000000000000001.
        let moments = Moments::of(&[0.1, 0.2, 0.3]).unwrap();
        assert_eq!([moments.sum, moments.mean], [0.6, 0.2]);
        assert_eq!(difference_of_means(&[0.1], &[0.3]), Ok(0.2));
    }

    #[test]
    fn equal_numbers_have_no_spread() {
        let third = 1.0 / 3.0;
        assert_eq!(Moments::of(&[third; 7]).unwrap().squared_deviations, 0.0);
        assert_eq!(Moments::of(&[0.1; 7]).unwrap().squared_deviations, 0.0);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert_eq!(
            Moments::of(&[]),
            Err(Undefined::TooFew {
                needed: 1,
                given: 0
            })
        );
        assert_eq!(Moments::of(&[1.0, f64::NAN]), Err(Undefined::NotFinite));
        assert_eq!(Moments::of(&[1e308, 1e308]), Err(Undefined::Overflow));
        assert_eq!(
            Moments::of(&[1.0]).unwrap().variance(),
            Err(Undefined::TooFew {
                needed: 2,
                given: 1
            })
        );
    }

    proptest! {
        /// The two ways of computing agree where both apply: a third of a decimal is none.
        #[test]
        fn decimals_and_doubles_agree(steps in prop::collection::vec(-10_000_i32..10_000, 2..40)) {
            let decimals: Vec<f64> = steps.iter().map(|&step| f64::from(step) / 100.0).collect();
            let exact = Moments::of(&decimals).unwrap();
            let doubles = Moments::of_doubles(&decimals).unwrap();
            prop_assert!((exact.mean - doubles.mean).abs() <= 1e-14 * 100.0);
            prop_assert!(exact.squared_deviations == doubles.squared_deviations
                || digits_agreed(doubles.squared_deviations, exact.squared_deviations) > 12.0);
        }

        /// Of whole numbers, hundredths, and thirds, which are no decimals.
        #[test]
        fn runs_from_either_end_are_what_they_are_by_themselves(
            scores in prop::collection::vec((-1_000_i32..1_000, prop::sample::select(vec![1.0, 100.0, 3.0])), 0..12)
        ) {
            let values: Vec<f64> = scores.iter().map(|(score, parts)| f64::from(*score) / parts).collect();
            let of = |runs: Vec<&[f64]>| -> Vec<_> { runs.into_iter().map(Moments::of).collect() };
            let starts = (1..=values.len()).map(|n| &values[..n]).collect();
            prop_assert_eq!(Moments::of_starts(&values), of(starts));
            let ends = (0..values.len()).rev().map(|first| &values[first..]).collect();
            prop_assert_eq!(Moments::of_ends(&values), of(ends));
        }

        #[test]
        fn any_numbers_are_computed_or_refused(values in prop::collection::vec(prop::num::f64::ANY, 0..20)) {
            if let Ok(moments) = Moments::of(&values) {
                prop_assert!(moments.sum.is_finite() && moments.mean.is_finite());
                prop_assert!(moments.squared_deviations >= 0.0 && moments.squared_deviations.is_finite());
            }
            if let Ok(products) = lagged_products(&values) {
                prop_assert!(products.lagged.is_finite() && products.squared.is_finite());
            }
        }
    }
}
