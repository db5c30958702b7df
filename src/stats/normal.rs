//! The standard normal distribution: tail and quantile to full double precision.

use statrs::distribution::{ContinuousCDF, Normal};

/// The two-sided p of a normal deviate: the chance of one as far from 0.
pub fn two_sided_p(z: f64) -> f64 {
    libm::erfc(z.abs() / std::f64::consts::SQRT_2)
}

/// The deviate below which a share `p` of the standard normal lies; for p = 0.975, 1.959964.
pub fn quantile(p: f64) -> f64 {
    Normal::standard().inverse_cdf(p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_relative;

    /// SciPy 1.17.1: 2*norm.sf(z), norm.ppf(p).
    #[test]
    fn tails_and_quantiles() {
        assert_relative(two_sided_p(1.959_963_984_540_054), 0.05, 1e-14);
        assert_relative(two_sided_p(-8.0), 1.244_192_114_854_352_2e-15, 1e-12);
        assert_relative(quantile(0.975), 1.959_963_984_540_054, 1e-14);
    }
}
