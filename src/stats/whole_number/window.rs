//! The window of numbers that round to a stated one.

use super::fraction::{Fraction, power_of_ten};
use super::{AtDecimals, Rounding};

/// The numbers that round to a stated one: within half a unit of its last digit, ends in or out as the rounding says.
pub(super) struct Window {
    pub(super) stated: Fraction,
    digits: i128,
    pub(super) low: Fraction,
    pub(super) high: Fraction,
    rounding: Rounding,
}

impl Window {
    pub(super) fn of(number: AtDecimals, rounding: Rounding) -> Option<Self> {
        let (digits, stated) = Fraction::at_decimals(number.value, number.decimals)?;
        let half_unit = Fraction::new(
            1,
            power_of_ten(usize::from(number.decimals))?.checked_mul(2)?,
        )?;
        Some(Self {
            stated,
            digits,
            low: stated.minus(half_unit)?,
            high: stated.plus(half_unit)?,
            rounding,
        })
    }

    /// Whether a number between the ends, ends included, rounds to the stated one.
    pub(super) fn includes(&self, number: Fraction) -> bool {
        if number != self.low && number != self.high {
            return true;
        }
        match self.rounding {
            Rounding::Either => true,
            Rounding::HalfEven => self.digits % 2 == 0,
            // Away from zero: only the end nearer to zero rounds here.
            Rounding::HalfUp => match self.digits.signum() {
                1 => number == self.low,
                -1 => number == self.high,
                _ => false,
            },
        }
    }
}
