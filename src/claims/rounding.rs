//! Rounding as people do it by hand or in a spreadsheet: a half goes away from zero.

/// The value rounded to so many decimals, a half (to within its last bits) away from zero.
pub fn half_up(value: f64, decimals: u8) -> f64 {
    let scale = 10_f64.powi(i32::from(decimals));
    let scaled = value.abs() * scale;
    if !scaled.is_finite() || scaled > 1e15 {
        return value;
    }
    let nudged = scaled + scaled * 1e-12;
    ((nudged + 0.5).floor() / scale).copysign(value)
}

#[cfg(test)]
mod tests {
    use super::half_up;

    #[test]
    fn a_half_goes_away_from_zero() {
        let cases = [
            (2.345, 2, 2.35),
            (1.005, 2, 1.01),
            (-2.5, 0, -3.0),
            (2.4, 0, 2.0),
            (0.125, 2, 0.13),
            (1e300, 2, 1e300),
        ];
        for (value, decimals, expected) in cases {
            assert!((half_up(value, decimals) - expected).abs() <= 1e-12 * expected.abs());
        }
    }
}
