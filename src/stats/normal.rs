//! The standard normal distribution: its tail to full double precision.

/// The two-sided p of a normal deviate: the chance of one as far from 0.
pub fn two_sided_p(z: f64) -> f64 {
    libm::erfc(z.abs() / std::f64::consts::SQRT_2)
}

/// The deviate that leaves 2.5 % of the standard normal on either side.
pub const DEVIATE_95: f64 = 1.959_963_984_540_054;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_relative;

    /// SciPy 1.17.1: `2*norm.sf(z)`.
    #[test]
    fn tails() {
        assert_relative(two_sided_p(DEVIATE_95), 0.05, 1e-14);
        assert_relative(two_sided_p(-8.0), 1.244_192_114_854_352_2e-15, 1e-12);
    }
}
