//! Whether a computation, ended as it is, gives the stated number.

use super::computation::Ending;
use super::rounding::half_up;
use crate::number::{Bound, Stated};

/// Whole numbers up to here are compared digit by digit.
const MOST: f64 = 1e15;

/// A stated number, ready to be compared with many values.
#[derive(Debug, Clone, Copy)]
pub struct Matcher {
    stated: Stated,
    /// No value farther from the number than this rounds to it.
    reach: f64,
}

impl Matcher {
    /// Compares with this number.
    pub fn new(stated: Stated) -> Self {
        // Rounding moves the value by half a unit and the stated number by as much, beside their last bits.
        let reach = 3.0 * stated.half_unit() + 1e-6 * stated.value.abs();
        Self {
            stated,
            reach: if stated.bound == Bound::Exactly {
                reach
            } else {
                f64::INFINITY
            },
        }
    }

    /// Whether the value gives the stated number when it ends like this.
    pub fn gives(&self, ending: Ending, value: f64) -> bool {
        let far = ending == Ending::Rounded && (value - self.stated.value).abs() > self.reach;
        !far && gives(&self.stated, ending, value)
    }
}

/// Whether the value gives the stated number when it ends like this.
fn gives(stated: &Stated, ending: Ending, value: f64) -> bool {
    match ending {
        Ending::Rounded => stated.agrees(value),
        _ if stated.bound != Bound::Exactly => false,
        Ending::Truncated => stated.is_truncation_of(value) || cut_by_a_program(stated, value),
        Ending::PointMoved(places) => stated.agrees(value * 10_f64.powi(i32::from(places))),
        Ending::DigitsSwapped => digit_by_digit(stated, value, swapped),
        Ending::OneDigitWrong => digit_by_digit(stated, value, one_wrong),
    }
}

/// Whether the value cut off as programs cut it off, a mean of 12.83 being 12.829 999…, is the stated number.
fn cut_by_a_program(stated: &Stated, value: f64) -> bool {
    let scale = 10_f64.powi(i32::from(stated.decimals));
    let below = value.abs() * scale * (1.0 - 1e-12);
    (below.trunc() - (stated.value.abs() * scale).round()).abs() < 0.5
        && (stated.value == 0.0 || (stated.value < 0.0) == (value < 0.0))
}

/// How many numbers an ending could have given, for how surprising it is that it gave this one.
pub fn ways(stated: &Stated, ending: Ending) -> f64 {
    let digits = f64::from(stated.significant_digits());
    match ending {
        Ending::DigitsSwapped => (digits - 1.0).max(1.0),
        Ending::OneDigitWrong => 9.0 * digits,
        _ => 1.0,
    }
}

/// Compares the digits of the stated number with those of the value rounded alike. A stated number may have lost zeros at its end
/// (2.50 stored as 2.5), so the value is tried at up to two more decimals.
fn digit_by_digit(stated: &Stated, value: f64, alike: impl Fn(&[u64], &[u64]) -> bool) -> bool {
    if (stated.value < 0.0) != (value < 0.0) && stated.value != 0.0 && value != 0.0 {
        return false;
    }
    (0..=2).any(|more| {
        let decimals = stated.decimals.saturating_add(more);
        let scale = 10_f64.powi(i32::from(decimals));
        let typed = (stated.value.abs() * scale).round();
        let Some(typed) = digits(typed, decimals) else {
            return false;
        };
        let up = (half_up(value.abs(), decimals) * scale).round();
        // A half may have been rounded down.
        let down = (value.abs() * scale * (1.0 - 1e-12)).round();
        let gives = |right: f64| digits(right, decimals).is_some_and(|right| alike(&typed, &right));
        gives(up) || (down < up && gives(down))
    })
}

/// The digits of a whole number, with zeros before it so that there is one before the point.
fn digits(whole: f64, decimals: u8) -> Option<Vec<u64>> {
    if !(0.0..MOST).contains(&whole) {
        return None;
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole, positive and below 10^15"
    )]
    let mut rest = whole as u64;
    let least = usize::from(decimals) + 1;
    let mut digits = Vec::with_capacity(least.max(16));
    while rest > 0 || digits.len() < least {
        digits.push(rest % 10);
        rest /= 10;
    }
    digits.reverse();
    Some(digits)
}

/// Two neighbouring digits changed places.
fn swapped(typed: &[u64], right: &[u64]) -> bool {
    // A zero that is not written can't change places: 1.0 does not become 10.
    if typed.len() > right.len() {
        return false;
    }
    let length = right.len();
    let digit = |number: &[u64], place: usize| {
        place
            .checked_sub(length - number.len())
            .and_then(|place| number.get(place).copied())
            .unwrap_or(0)
    };
    let differing: Vec<usize> = (0..length)
        .filter(|place| digit(typed, *place) != digit(right, *place))
        .collect();
    match differing.as_slice() {
        [a, b] => {
            *b == a + 1
                && digit(typed, *a) == digit(right, *b)
                && digit(typed, *b) == digit(right, *a)
        }
        _ => false,
    }
}

/// Exactly one digit is another.
fn one_wrong(typed: &[u64], right: &[u64]) -> bool {
    typed.len() == right.len() && typed.iter().zip(right).filter(|(a, b)| a != b).count() == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_compared_where_they_stand() {
        let swapped = |stated: Stated, value| gives(&stated, Ending::DigitsSwapped, value);
        assert!(swapped(Stated::new(2.53, 2), 2.35));
        assert!(swapped(Stated::new(3.25, 2), 2.35));
        // 2.05 typed as 2.50 and stored as 2.5.
        assert!(swapped(Stated::new(2.5, 1), 2.05));
        assert!(swapped(Stated::new(1.5, 1), 10.5));
        assert!(!swapped(Stated::new(5.32, 2), 2.35));
        assert!(!swapped(Stated::new(10.0, 0), 1.047));
        assert!(!swapped(Stated::new(-2.53, 2), 2.35));
        let wrong = |stated: Stated, value| gives(&stated, Ending::OneDigitWrong, value);
        assert!(wrong(Stated::new(2.85, 2), 2.345));
        assert!(wrong(Stated::new(-12.4, 1), -17.4));
        assert!(!wrong(Stated::new(2.4, 1), 12.4));
        assert!(!wrong(Stated::new(2.35, 2), 2.35));
        let moved =
            |places, stated: Stated, value| gives(&stated, Ending::PointMoved(places), value);
        assert!(moved(1, Stated::new(23.5, 1), 2.345));
        assert!(moved(-2, Stated::new(0.023, 3), 2.345));
        assert!(!moved(1, Stated::new(2.35, 2), 2.345));
    }

    #[test]
    fn a_bound_is_no_string_of_digits() {
        let below = Stated {
            bound: Bound::Below,
            ..Stated::new(0.05, 2)
        };
        assert!(gives(&below, Ending::Rounded, 0.04));
        assert!(!gives(&below, Ending::OneDigitWrong, 0.08));
    }
}
