//! What each procedure was checked against, and how many digits agree: measured when asked, never written by hand.

/// How many significant digits two numbers share: −log₁₀ of the relative error (NIST's LRE), of the absolute error where the expected value is 0;
/// 16 at most, 0 at least.
#[must_use]
pub fn digits_agreed(computed: f64, expected: f64) -> f64 {
    let error = if expected == 0.0 {
        computed.abs()
    } else {
        ((computed - expected) / expected).abs()
    };
    if error.is_nan() {
        return 0.0;
    }
    (-libm::log10(error)).clamp(0.0, 16.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits() {
        assert!((digits_agreed(1.001, 1.0) - 3.0).abs() < 1e-9);
        assert!((digits_agreed(0.001, 0.0) - 3.0).abs() < 1e-9);
        assert!((digits_agreed(2.0, 2.0) - 16.0).abs() < 1e-9);
        assert!(digits_agreed(f64::NAN, 2.0).abs() < 1e-9);
        assert!(digits_agreed(-5.0, 2.0).abs() < 1e-9);
    }
}
