//! Numbers as people state them: their decimals, what they agree with, and how we write ours.

use std::fmt;

/// How a stated number binds the value: exactly, or as a bound.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, Default, serde::Serialize, serde::Deserialize,
)]
pub enum Bound {
    /// `0.03`
    #[default]
    Exactly,
    /// `< 0.05`
    Below,
    /// `≤ 0.05`
    AtMost,
    /// `> 10`
    Above,
    /// `≥ 10`
    AtLeast,
}

/// A number as it was stated, with the precision at which it was stated.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Stated {
    /// The number.
    pub value: f64,
    /// Decimals stated (2 in `3.40`).
    pub decimals: u8,
    /// Stated as a bound (`< 0.05`).
    pub bound: Bound,
    /// Written with a percent sign, or in a cell shown as a percentage; `value` is then the number before the sign (35 in `35%`).
    pub percent: bool,
}

/// Claims of this many significant digits or more are copied from a computation: compared within [`EXACT`], not by rounding.
const COPIED_DIGITS: u32 = 10;
/// Relative distance within which two doubles of the same computation agree.
pub const EXACT: f64 = 1e-9;

impl Stated {
    /// A number stated at some decimals, as an equality and without a percent sign.
    pub fn new(value: f64, decimals: u8) -> Self {
        Self {
            value,
            decimals,
            bound: Bound::Exactly,
            percent: false,
        }
    }

    /// A bare stored number: its decimals are those of its shortest form of at most 15 significant digits.
    pub fn from_stored(value: f64) -> Self {
        let (value, decimals) = shortest_of_15_digits(value);
        Self::new(value, decimals)
    }

    /// The same number as a share: 85 % stated is 0.85, with two more decimals.
    #[must_use]
    pub fn percent_as_share(self) -> Self {
        Self {
            value: self.value / 100.0,
            decimals: self.decimals.saturating_add(2),
            percent: false,
            ..self
        }
    }

    /// Whether a computed value, rounded half up or half to even at the stated decimals, is the stated number, or satisfies the stated
    /// bound. Half up is half away from zero; a value within 1e-9 relative of a half rounds both ways.
    pub fn agrees(&self, computed: f64) -> bool {
        if !computed.is_finite() || !self.value.is_finite() {
            return false;
        }
        match self.bound {
            Bound::Exactly => self.equals(computed),
            Bound::Below => computed < self.value,
            Bound::AtMost => computed <= self.value || self.equals(computed),
            Bound::Above => computed > self.value,
            Bound::AtLeast => computed >= self.value || self.equals(computed),
        }
    }

    fn equals(&self, computed: f64) -> bool {
        if self.significant_digits() >= COPIED_DIGITS {
            return close(self.value, computed);
        }
        let scale = 10_f64.powi(i32::from(self.decimals));
        let stated = (self.value * scale).round();
        let (down, up) = rounded_both_ways(computed * scale);
        close_integers(stated, down) || close_integers(stated, up)
    }

    /// Whether a computed value cut off after the stated decimals is the stated number.
    pub fn is_truncation_of(&self, computed: f64) -> bool {
        let scale = 10_f64.powi(i32::from(self.decimals));
        let scaled = computed * scale;
        // 2.3 · 100 is 229.99…: a whole number missed by the last bit is that whole number.
        let nearest = scaled.round();
        let cut = if close(nearest, scaled) {
            nearest
        } else {
            scaled.trunc()
        };
        computed.is_finite() && close_integers((self.value * scale).round(), cut)
    }

    /// Significant digits stated: 3 in `0.0304`, 3 in `3.40`, 2 in `12`.
    pub fn significant_digits(&self) -> u32 {
        let scale = 10_f64.powi(i32::from(self.decimals));
        let whole = (self.value * scale).round().abs();
        if whole < 1.0 {
            1
        } else {
            decimal_digits(whole)
        }
    }

    /// Half of the last stated digit: the value lies within this of the stated number.
    pub fn half_unit(&self) -> f64 {
        0.5 * 10_f64.powi(-i32::from(self.decimals))
    }
}

/// The number at its stated decimals, with its bound and percent sign: `< 0.05`, `35%`.
impl fmt::Display for Stated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self.bound {
            Bound::Exactly => "",
            Bound::Below => "< ",
            Bound::AtMost => "≤ ",
            Bound::Above => "> ",
            Bound::AtLeast => "≥ ",
        })?;
        write!(
            f,
            "{:.*}",
            usize::from(self.decimals),
            no_negative_zero(self.value)
        )?;
        if self.percent {
            f.write_str("%")
        } else {
            Ok(())
        }
    }
}

fn decimal_digits(whole: f64) -> u32 {
    // Positive and finite here; log10 of a double is below 309.
    let mut digits = 0;
    let mut rest = whole;
    while rest >= 1.0 {
        rest /= 10.0;
        digits += 1;
    }
    digits
}

/// Whether two numbers are the same computation's, up to the last bits.
pub fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= EXACT * a.abs().max(b.abs())
}

fn close_integers(a: f64, b: f64) -> bool {
    (a - b).abs() < 0.5
}

/// The whole numbers that a scaled value rounds to under half-up and half-to-even: both neighbours where it lies on a half. A value within
/// 1e-9 of a half may stand on either side of it only by the last bits of a double.
fn rounded_both_ways(scaled: f64) -> (f64, f64) {
    let floor = scaled.floor();
    if (scaled - floor - 0.5).abs() <= EXACT * scaled.abs() {
        (floor, floor + 1.0)
    } else {
        let nearest = scaled.round();
        (nearest, nearest)
    }
}

/// A stored double as the shortest decimal of at most 15 significant digits, with its decimals.
fn shortest_of_15_digits(value: f64) -> (f64, u8) {
    if !value.is_finite() {
        return (value, 0);
    }
    let text = format!("{value:.14e}");
    let value: f64 = text.parse().unwrap_or(value);
    let plain = plain(value);
    let decimals = plain
        .split_once('.')
        .map_or(0, |(_, fraction)| fraction.len());
    (value, u8::try_from(decimals).unwrap_or(u8::MAX))
}

fn no_negative_zero(value: f64) -> f64 {
    if value == 0.0 { 0.0 } else { value }
}

/// A number as the shortest decimal that reads back to the same double: `3`, `2.35`, `0.1`; never `-0`.
pub fn plain(value: f64) -> String {
    Plain(value).to_string()
}

/// A number that shows itself as [`plain`] has it.
#[derive(Debug, Clone, Copy)]
pub struct Plain(pub f64);

impl std::fmt::Display for Plain {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        no_negative_zero(self.0).fmt(f)
    }
}

/// A number rounded for a sentence: at most three significant decimals, whole numbers without a point (`12.4`, `0.034`, `150`).
pub fn readable(value: f64) -> String {
    if !value.is_finite() {
        return String::from("not a number");
    }
    let magnitude = value.abs();
    let decimals = if magnitude >= 100.0 {
        1
    } else if magnitude >= 1.0 || magnitude == 0.0 {
        2
    } else if magnitude >= 0.001 {
        // Three significant digits below one: 0.0345.
        let leading = (-magnitude.log10()).ceil();
        if leading >= 3.0 {
            5
        } else if leading >= 2.0 {
            4
        } else {
            3
        }
    } else {
        6
    };
    let text = format!("{value:.decimals$}");
    let trimmed = if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if trimmed == "-0" {
        String::from("0")
    } else {
        trimmed.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_half_rounds_both_ways() {
        // 9/8 prints 1.13 (half up) or 1.12 (half to even): Brown & Heathers 2017 allow for both.
        assert!(Stated::new(1.13, 2).agrees(9.0 / 8.0));
        assert!(Stated::new(1.12, 2).agrees(9.0 / 8.0));
        // Written by a program that rounds the stored double, 1.375 may be either.
        assert!(Stated::new(1.38, 2).agrees(1.375));
        assert!(Stated::new(1.37, 2).agrees(1.375));
        assert!(!Stated::new(1.36, 2).agrees(1.375));
        // 1.005 is stored below the half: the stated half counts all the same.
        assert!(Stated::new(1.01, 2).agrees(1.005));
        assert!(Stated::new(-1.13, 2).agrees(-9.0 / 8.0));
    }

    #[test]
    fn bounds_and_long_numbers() {
        let below = Stated {
            bound: Bound::Below,
            ..Stated::new(0.05, 2)
        };
        assert!(below.agrees(0.0499));
        assert!(!below.agrees(0.05));
        assert!(Stated::new(0.0, 3).agrees(0.000_49));
        assert!(!Stated::new(0.0, 3).agrees(0.000_51));
        assert!(Stated::new(2.333_333_333_3, 10).agrees(7.0 / 3.0));
        assert!(!Stated::new(2.333_333_343_3, 10).agrees(7.0 / 3.0));
    }

    #[test]
    fn stored_numbers_are_read_at_their_shortest_form() {
        assert_eq!(Stated::from_stored(0.1 + 0.2).decimals, 1);
        assert_eq!(Stated::from_stored(2.35).decimals, 2);
        assert_eq!(Stated::from_stored(120.0).decimals, 0);
        assert_eq!(Stated::from_stored(7.0 / 3.0).decimals, 14);
    }

    #[test]
    fn truncation_is_told_from_rounding() {
        assert!(Stated::new(2.66, 2).is_truncation_of(8.0 / 3.0));
        assert!(!Stated::new(2.67, 2).is_truncation_of(8.0 / 3.0));
        assert!(Stated::new(2.3, 1).is_truncation_of(2.3));
    }

    #[test]
    fn numbers_are_written_plainly() {
        assert_eq!(plain(3.0), "3");
        assert_eq!(plain(-0.0), "0");
        assert_eq!(plain(0.1), "0.1");
        assert_eq!(readable(12.3456), "12.35");
        assert_eq!(readable(0.034_56), "0.0346");
        assert_eq!(readable(150.0), "150");
        assert_eq!(readable(-0.000_000_1), "0");
        assert_eq!(Stated::new(3.4, 2).to_string(), "3.40");
    }
}
