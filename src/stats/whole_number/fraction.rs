//! Exact fractions of 128-bit whole numbers; a result that doesn't fit is `None`, never wrong.

/// A fraction in lowest terms with a positive denominator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Fraction {
    numerator: i128,
    denominator: i128,
}

impl Fraction {
    pub(super) const ZERO: Self = Self {
        numerator: 0,
        denominator: 1,
    };

    pub(super) fn new(numerator: i128, denominator: i128) -> Option<Self> {
        if denominator == 0 {
            return None;
        }
        let divisor = greatest_common_divisor(numerator, denominator)?;
        let sign = denominator.signum();
        Some(Self {
            numerator: (numerator / divisor).checked_mul(sign)?,
            denominator: (denominator / divisor).checked_mul(sign)?,
        })
    }

    pub(super) fn whole(number: i128) -> Self {
        Self {
            numerator: number,
            denominator: 1,
        }
    }

    /// The number that the shortest decimal form of `value` states: 0.1 is 1/10, not the nearest double.
    pub(super) fn from_shortest_decimal(value: f64) -> Option<Self> {
        if !value.is_finite() {
            return None;
        }
        let text = value.to_string();
        let (whole, decimals) = text.split_once('.').unwrap_or((&text, ""));
        let digits: i128 = format!("{whole}{decimals}").parse().ok()?;
        Self::new(digits, power_of_ten(decimals.len())?)
    }

    /// The number at so many decimals: 3.4 at 2 decimals is 340/100.
    pub(super) fn at_decimals(value: f64, decimals: u8) -> Option<(i128, Self)> {
        let exact = Self::from_shortest_decimal(value)?;
        let scale = power_of_ten(usize::from(decimals))?;
        let digits = exact.times(Self::whole(scale))?;
        // The caller's double may be 3.4000000000000004 for a stated 3.40: the stated digits count.
        let nearest = digits.plus(Self::new(1, 2)?)?.floor();
        Some((nearest, Self::new(nearest, scale)?))
    }

    pub(super) fn plus(self, other: Self) -> Option<Self> {
        let left = self.numerator.checked_mul(other.denominator)?;
        let right = other.numerator.checked_mul(self.denominator)?;
        Self::new(
            left.checked_add(right)?,
            self.denominator.checked_mul(other.denominator)?,
        )
    }

    pub(super) fn minus(self, other: Self) -> Option<Self> {
        self.plus(Self {
            numerator: other.numerator.checked_neg()?,
            ..other
        })
    }

    pub(super) fn times(self, other: Self) -> Option<Self> {
        // Reduced crosswise first, so that the products stay small.
        let first = Self::new(self.numerator, other.denominator)?;
        let second = Self::new(other.numerator, self.denominator)?;
        Self::new(
            first.numerator.checked_mul(second.numerator)?,
            first.denominator.checked_mul(second.denominator)?,
        )
    }

    pub(super) fn over(self, other: Self) -> Option<Self> {
        self.times(Self::new(other.denominator, other.numerator)?)
    }

    pub(super) fn floor(self) -> i128 {
        self.numerator.div_euclid(self.denominator)
    }

    /// The least whole number not below.
    pub(super) fn ceiling(self) -> i128 {
        self.floor() + i128::from(self.denominator != 1)
    }

    pub(super) fn signum(self) -> i128 {
        self.numerator.signum()
    }

    pub(super) fn to_f64(self) -> f64 {
        self.numerator as f64 / self.denominator as f64
    }
}

pub(super) fn power_of_ten(exponent: usize) -> Option<i128> {
    10_i128.checked_pow(u32::try_from(exponent).ok()?)
}

fn greatest_common_divisor(a: i128, b: i128) -> Option<i128> {
    let (mut a, mut b) = (a.checked_abs()?, b.checked_abs()?);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    Some(a)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_double_stands_for_the_decimal_it_prints_as() {
        assert_eq!(Fraction::from_shortest_decimal(0.1), Fraction::new(1, 10));
        assert_eq!(Fraction::from_shortest_decimal(-2.5), Fraction::new(-5, 2));
        assert_eq!(Fraction::from_shortest_decimal(1e300), None);
    }

    #[test]
    fn floors_and_ceilings_of_negatives() {
        let minus_half_seven = Fraction::new(7, -2).unwrap();
        assert_eq!(minus_half_seven.floor(), -4);
        assert_eq!(minus_half_seven.ceiling(), -3);
    }

    #[test]
    fn what_does_not_fit_is_none() {
        let large = Fraction::whole(i128::MAX);
        assert_eq!(large.plus(large), None);
        assert_eq!(large.times(Fraction::whole(2)), None);
        assert_eq!(large.over(Fraction::ZERO), None);
    }
}
