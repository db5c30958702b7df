//! The distributions behind p values and intervals: normal, t, F and χ², each with its tails and quantiles.
//!
//! Tails are computed as tails and never as 1 − the rest, so that small p values keep their digits. The relative error is below 1e-11 up to a
//! million degrees of freedom, by comparison with `SciPy` 1.17.1.

use std::f64::consts::{LN_2, PI, SQRT_2};

use super::Undefined;
use statrs::function::gamma::{checked_gamma_lr, checked_gamma_ur};

/// Degrees of freedom from which on t is taken for normal (they differ by less than 1e-9), and F isn't computed.
const MOST_DEGREES: f64 = 1e10;

/// The chance that a standard normal variable is at most `z`.
#[must_use]
pub fn normal_cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z / SQRT_2)
}

/// The chance that a standard normal variable exceeds `z`.
#[must_use]
pub fn normal_upper_tail(z: f64) -> f64 {
    normal_cdf(-z)
}

/// The two-sided p of a normal deviate: the chance of one as far from 0.
#[must_use]
pub fn normal_two_sided(z: f64) -> f64 {
    libm::erfc(z.abs() / SQRT_2)
}

/// The deviate that leaves 2.5 % of the standard normal on either side.
pub(super) const NORMAL_DEVIATE_95: f64 = 1.959_963_984_540_054;

/// The value that a standard normal variable stays below with probability `p`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < p < 1.
pub fn normal_quantile(p: f64) -> Result<f64, Undefined> {
    open_probability(p)?;
    let q = p.min(1.0 - p);
    // Abramowitz & Stegun 1964, 26.2.23, within 4.5e-4 of the root; two steps of Halley's method leave rounding alone.
    let t = (-2.0 * libm::log(q)).sqrt();
    let mut z = t
        - (2.515_517 + t * (0.802_853 + t * 0.010_328))
            / (1.0 + t * (1.432_788 + t * (0.189_269 + t * 0.001_308)));
    for _ in 0..3 {
        let density = libm::exp(-0.5 * z * z) / (2.0 * PI).sqrt();
        let step = (normal_upper_tail(z) - q) / density;
        z += step / (1.0 - 0.5 * z * step);
    }
    Ok(if p < 0.5 { -z } else { z })
}

/// The chance that Student's t on `df` degrees of freedom exceeds `t`; `df` needn't be whole.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless df > 0; [`Undefined::NotFinite`].
pub fn t_upper_tail(t: f64, df: f64) -> Result<f64, Undefined> {
    let both = t_two_sided(t, df)?;
    Ok(if t > 0.0 {
        0.5 * both
    } else {
        1.0 - 0.5 * both
    })
}

/// The chance that Student's t on `df` degrees of freedom lies at least as far from 0 as `t`: the two-sided p.
///
/// # Errors
/// As for [`t_upper_tail`].
pub fn t_two_sided(t: f64, df: f64) -> Result<f64, Undefined> {
    positive(df)?;
    if t.is_nan() {
        return Err(Undefined::NotFinite);
    }
    if df > MOST_DEGREES {
        return Ok(2.0 * normal_upper_tail(t.abs()));
    }
    let square = t * t;
    if square.is_infinite() {
        return Ok(0.0);
    }
    let total = df + square;
    Ok(incomplete_beta(0.5 * df, 0.5, df / total, square / total).lower)
}

/// The value that Student's t on `df` degrees of freedom stays below with probability `p`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < p < 1 and df > 0; [`Undefined::NotConverged`].
pub fn t_quantile(p: f64, df: f64) -> Result<f64, Undefined> {
    open_probability(p)?;
    positive(df)?;
    let q = p.min(1.0 - p);
    if q >= 0.5 {
        return Ok(0.0);
    }
    let log_scale = -ln_beta(0.5 * df, 0.5) - 0.5 * libm::log(df);
    let t = root_of_tail(
        q,
        normal_quantile(1.0 - q).unwrap_or(1.0).max(1e-8),
        |t| t_upper_tail(t, df),
        |t| libm::exp(log_scale - 0.5 * (df + 1.0) * libm::log1p(t * t / df)),
    )?;
    Ok(if p < 0.5 { -t } else { t })
}

/// The chance that F on `df1` and `df2` degrees of freedom exceeds `f`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless both degrees of freedom are positive; [`Undefined::NotFinite`].
pub fn f_upper_tail(f: f64, df1: f64, df2: f64) -> Result<f64, Undefined> {
    f_tails(f, df1, df2).map(|tails| tails.lower)
}

/// The value that F on `df1` and `df2` degrees of freedom stays below with probability `p`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < p < 1 and both degrees of freedom are positive; [`Undefined::NotConverged`].
pub fn f_quantile(p: f64, df1: f64, df2: f64) -> Result<f64, Undefined> {
    open_probability(p)?;
    positive(df1)?;
    positive(df2)?;
    let log_scale = -ln_beta(0.5 * df1, 0.5 * df2) + 0.5 * df1 * libm::log(df1 / df2);
    let density = |f: f64| {
        libm::exp(
            log_scale + (0.5 * df1 - 1.0) * libm::log(f)
                - 0.5 * (df1 + df2) * libm::log1p(df1 * f / df2),
        )
    };
    if p < 0.5 {
        root_of_tail(
            p,
            1.0,
            |f| f_tails(f, df1, df2).map(|tails| tails.upper),
            density,
        )
    } else {
        root_of_tail(1.0 - p, 1.0, |f| f_upper_tail(f, df1, df2), density)
    }
}

/// The chance that χ² on `df` degrees of freedom exceeds `x`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless df > 0; [`Undefined::NotFinite`].
pub fn chi_square_upper_tail(x: f64, df: f64) -> Result<f64, Undefined> {
    positive(df)?;
    if x.is_nan() {
        return Err(Undefined::NotFinite);
    }
    if x <= 0.0 {
        return Ok(1.0);
    }
    if x.is_infinite() {
        return Ok(0.0);
    }
    match checked_gamma_ur(0.5 * df, 0.5 * x) {
        Ok(tail) if !tail.is_nan() => Ok(tail.clamp(0.0, 1.0)),
        _ => Err(Undefined::OutOfRange),
    }
}

/// The chance that χ² on `df` degrees of freedom is at most `x`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless df > 0; [`Undefined::NotFinite`].
pub fn chi_square_lower_tail(x: f64, df: f64) -> Result<f64, Undefined> {
    positive(df)?;
    if x.is_nan() {
        return Err(Undefined::NotFinite);
    }
    if x <= 0.0 {
        return Ok(0.0);
    }
    if x.is_infinite() {
        return Ok(1.0);
    }
    match checked_gamma_lr(0.5 * df, 0.5 * x) {
        Ok(tail) if !tail.is_nan() => Ok(tail.clamp(0.0, 1.0)),
        _ => Err(Undefined::OutOfRange),
    }
}

/// The value that χ² on `df` degrees of freedom stays below with probability `p`.
///
/// # Errors
/// [`Undefined::OutOfRange`] unless 0 < p < 1 and df > 0; [`Undefined::NotConverged`].
pub fn chi_square_quantile(p: f64, df: f64) -> Result<f64, Undefined> {
    open_probability(p)?;
    positive(df)?;
    let shape = 0.5 * df;
    let log_scale = -shape * LN_2 - libm::lgamma(shape);
    let density = |x: f64| libm::exp(log_scale + (shape - 1.0) * libm::log(x) - 0.5 * x);
    if p < 0.5 {
        let lower = |x: f64| checked_gamma_lr(shape, 0.5 * x).map_err(|_| Undefined::OutOfRange);
        root_of_tail(p, df, lower, density)
    } else {
        root_of_tail(1.0 - p, df, |x| chi_square_upper_tail(x, df), density)
    }
}

/// Both sides of a distribution: they sum to 1.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tails {
    pub(super) lower: f64,
    pub(super) upper: f64,
}

/// The tails of F as those of the beta distribution: `lower` is the chance of exceeding `f`.
fn f_tails(f: f64, df1: f64, df2: f64) -> Result<Tails, Undefined> {
    positive(df1)?;
    positive(df2)?;
    if df1.max(df2) > MOST_DEGREES {
        return Err(Undefined::OutOfRange);
    }
    if f.is_nan() {
        return Err(Undefined::NotFinite);
    }
    let scaled = df1 * f.max(0.0);
    if scaled.is_infinite() {
        return Ok(Tails {
            lower: 0.0,
            upper: 1.0,
        });
    }
    let total = df2 + scaled;
    Ok(incomplete_beta(
        0.5 * df2,
        0.5 * df1,
        df2 / total,
        scaled / total,
    ))
}

/// The regularised incomplete beta function Iₓ(a, b) and its complement; `y` is 1 − x, known better than by subtraction.
///
/// The continued fraction of DLMF 8.17.22 by Lentz's method (Press et al. 2007, Numerical Recipes 6.4).
pub(super) fn incomplete_beta(a: f64, b: f64, x: f64, y: f64) -> Tails {
    if x <= 0.0 {
        return Tails {
            lower: 0.0,
            upper: 1.0,
        };
    }
    if y <= 0.0 {
        return Tails {
            lower: 1.0,
            upper: 0.0,
        };
    }
    let log_x = if x > 0.5 {
        libm::log1p(-y)
    } else {
        libm::log(x)
    };
    let log_y = if y > 0.5 {
        libm::log1p(-x)
    } else {
        libm::log(y)
    };
    let front = libm::exp(a * log_x + b * log_y - ln_beta(a, b));
    if x < (a + 1.0) / (a + b + 2.0) {
        let lower = (front * beta_fraction(a, b, x) / a).clamp(0.0, 1.0);
        Tails {
            lower,
            upper: 1.0 - lower,
        }
    } else {
        let upper = (front * beta_fraction(b, a, y) / b).clamp(0.0, 1.0);
        Tails {
            lower: 1.0 - upper,
            upper,
        }
    }
}

fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let away_from_zero = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away_from_zero(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    // About √max(a, b) steps are needed.
    for step in 1..20_000 {
        let m = f64::from(step);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away_from_zero(1.0 + even * d);
        c = away_from_zero(1.0 + even / c);
        fraction *= c * d;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away_from_zero(1.0 + odd * d);
        c = away_from_zero(1.0 + odd / c);
        fraction *= c * d;
        if (c * d - 1.0).abs() < 1e-16 {
            break;
        }
    }
    fraction
}

/// ln B(a, b), without the cancellation of large log-gammas.
pub(super) fn ln_beta(a: f64, b: f64) -> f64 {
    let (small, large) = (a.min(b), a.max(b));
    if large < 20.0 {
        return libm::lgamma(a) + libm::lgamma(b) - libm::lgamma(a + b);
    }
    // What Stirling's formula leaves of ln Γ(x), DLMF 5.11.1; below 1e-16 after five terms for x ≥ 20.
    let remainder = |x: f64| {
        let square = 1.0 / (x * x);
        (1.0 / 12.0
            + square
                * (-1.0 / 360.0
                    + square * (1.0 / 1260.0 + square * (-1.0 / 1680.0 + square / 1188.0))))
            / x
    };
    let of_small = libm::lgamma(small);
    of_small + small - small * libm::log(large + small) - (large - 0.5) * libm::log1p(small / large)
        + remainder(large)
        - remainder(large + small)
}

/// Where a tail probability equals `q`, for x > 0, by Newton's method on the logarithms of both, inside a bracket.
///
/// Both axes logarithmic, tails of these distributions are nearly straight or nearly parabolas, so that few steps do.
fn root_of_tail(
    q: f64,
    start: f64,
    tail: impl Fn(f64) -> Result<f64, Undefined>,
    density: impl Fn(f64) -> f64,
) -> Result<f64, Undefined> {
    let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
    let falling = tail(start * 2.0)? <= tail(start)?;
    let mut log_x = libm::log(start);
    for _ in 0..200 {
        let x = libm::exp(log_x);
        let at = tail(x)?;
        let excess = libm::log(at) - libm::log(q);
        if excess == 0.0 {
            return Ok(x);
        }
        if (excess > 0.0) == falling {
            low = log_x;
        } else {
            high = log_x;
        }
        let slope = x * density(x) / at;
        let newton = if falling {
            log_x + excess / slope
        } else {
            log_x - excess / slope
        };
        let next = if newton.is_finite() && newton > low && newton < high {
            newton
        } else if low.is_finite() && high.is_finite() {
            0.5 * (low + high)
        } else if low.is_finite() {
            low + 2.0
        } else {
            high - 2.0
        };
        if (next - log_x).abs() <= 1e-15 * (1.0 + log_x.abs()) {
            return Ok(libm::exp(next));
        }
        log_x = next;
    }
    // Rounding can keep the last two steps apart; the bracket says how near they are.
    if high - low < 1e-12 {
        return Ok(libm::exp(log_x));
    }
    Err(Undefined::NotConverged)
}

fn open_probability(p: f64) -> Result<(), Undefined> {
    if p > 0.0 && p < 1.0 {
        Ok(())
    } else {
        Err(Undefined::OutOfRange)
    }
}

fn positive(df: f64) -> Result<(), Undefined> {
    if df > 0.0 && df.is_finite() {
        Ok(())
    } else {
        Err(Undefined::OutOfRange)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_relative;
    use proptest::prelude::*;

    /// `SciPy` 1.17.1: `norm.cdf`, `norm.ppf`.
    /// SciPy 1.17.1: `2*norm.sf(z)`.
    #[test]
    fn normal_tails_on_both_sides() {
        assert_relative(normal_two_sided(NORMAL_DEVIATE_95), 0.05, 1e-14);
        assert_relative(normal_two_sided(-8.0), 1.244_192_114_854_352_2e-15, 1e-12);
    }

    #[test]
    fn normal() {
        for (z, expected) in [
            (-37.0, 5.725_571_222_523_927e-300),
            (-20.0, 2.753_624_118_606_155_6e-89),
            (-5.0, 2.866_515_718_791_933e-7),
            (-1.96, 0.024_997_895_148_220_435),
            (0.3, 0.617_911_422_188_952_6),
            (2.5, 0.993_790_334_674_223_8),
        ] {
            assert_relative(normal_cdf(z), expected, 1e-12);
            assert_relative(normal_upper_tail(-z), expected, 1e-12);
        }
        for (p, expected) in [
            (1e-300, -37.047_096_299_361_2),
            (1e-10, -6.361_340_902_404_056),
            (0.025, -1.959_963_984_540_054_5),
            (0.3, -0.524_400_512_708_041),
            (0.6, 0.253_347_103_135_799_7),
            (0.975, 1.959_963_984_540_054),
            (0.9999, 3.719_016_485_455_709),
        ] {
            assert_relative(normal_quantile(p).unwrap(), expected, 1e-13);
        }
    }

    /// `SciPy` 1.17.1: `2*t.sf(abs(t), df)`, `t.ppf`.
    #[test]
    fn student() {
        for (t, df, expected) in [
            (4.062_127_682_999, 9.0, 0.002_832_890_199_011_983_3),
            (-1.860_813_467, 17.776_473_52, 0.079_394_140_255_813_5),
            (0.001, 3.0, 0.999_264_894_969_460_9),
            (50.0, 4.0, 9.574_453_656_969_67e-7),
            (12.5, 1.0, 0.050_821_347_332_231_794),
            (2.0, 1e5, 0.045_502_963_457_506_51),
            (1.5, 2.5, 0.247_836_453_086_296_18),
            (6.5, 998.5, 1.266_269_361_325_338e-10),
            (3.0, 1e6, 0.002_699_862_541_421_8),
        ] {
            assert_relative(t_two_sided(t, df).unwrap(), expected, 1e-11);
        }
        for (p, df, expected) in [
            (0.975, 1.0, 12.706_204_736_174_694),
            (0.975, 9.0, 2.262_157_162_798_205),
            (0.95, 17.776_473_52, 1.735_245_653_764_711_8),
            (1e-8, 1.0, -31_830_988.618_379_06),
            (0.995, 2.5, 7.163_728_138_948_783),
            (0.51, 7.0, 0.025_977_941_569_516_962),
            (0.975, 1e6, 1.959_966_356_814_107),
            (0.025, 1e5, -1.959_987_707_534_61),
            (1e-12, 30.0, -11.397_217_523_311_413),
        ] {
            assert_relative(t_quantile(p, df).unwrap(), expected, 1e-11);
        }
    }

    /// `SciPy` 1.17.1: `f.sf`, `f.ppf`.
    #[test]
    fn fisher() {
        for (f, df1, df2, expected) in [
            (11.027_247_96, 5.0, 15.0, 0.000_134_566_516_237_569_8),
            (1.794_678_492, 5.0, 18.0, 0.164_768_808_394_266_44),
            (0.2, 3.0, 40.0, 0.895_767_479_604_416_7),
            (250.0, 2.0, 7.0, 3.092_539_691_868_365_6e-7),
            (1.01, 1000.0, 1200.0, 0.434_020_850_194_149_43),
            (5_436_385.54, 1.0, 34.0, 4.654_040_864_083_834e-90),
        ] {
            assert_relative(f_upper_tail(f, df1, df2).unwrap(), expected, 1e-12);
        }
        for (p, df1, df2, expected) in [
            (0.975, 5.0, 15.0, 3.576_415_349_279_060_7),
            (0.025, 5.0, 15.0, 0.155_575_963_078_487_03),
            (0.95, 1.0, 1.0, 161.447_638_797_588_2),
            (0.99, 2.7, 11.3, 6.360_847_532_011_325),
            (0.025, 100.0, 3.0, 0.307_728_397_367_039_44),
        ] {
            assert_relative(f_quantile(p, df1, df2).unwrap(), expected, 1e-12);
        }
    }

    /// `SciPy` 1.17.1: `chi2.sf`, `chi2.ppf`.
    #[test]
    fn chi_square() {
        for (x, df, expected) in [
            (3.84, 1.0, 0.050_043_521_248_705_19),
            (38.713_527_85, 7.0, 2.216_418_044_651_781e-6),
            (0.5, 10.0, 0.999_993_388_289_439),
            (150.0, 30.0, 6.706_952_523_937_869e-18),
            (1000.0, 1000.0, 0.494_052_853_829_239_64),
        ] {
            assert_relative(chi_square_upper_tail(x, df).unwrap(), expected, 1e-12);
        }
        // `chi2.cdf`.
        for (x, df, expected) in [
            (0.0036, 9.0, 8.496_301_691_850_983e-15),
            (31.8, 108.0, 5.672_718_125_496_86e-14),
            (9.0, 9.0, 0.562_725_811_086_133),
        ] {
            assert_relative(chi_square_lower_tail(x, df).unwrap(), expected, 1e-11);
        }
        for (p, df, expected) in [
            (0.025, 4.0, 0.484_418_557_087_929_9),
            (0.975, 4.0, 11.143_286_781_877_796),
            (0.95, 1.0, 3.841_458_820_694_124),
            (1e-8, 3.0, 1.122_333_097_304_999e-5),
            (0.5, 100.0, 99.334_129_235_988_46),
        ] {
            assert_relative(chi_square_quantile(p, df).unwrap(), expected, 1e-12);
        }
    }

    #[test]
    fn out_of_range_is_said() {
        assert_eq!(normal_quantile(1.0), Err(Undefined::OutOfRange));
        assert_eq!(t_quantile(0.5, 3.0), Ok(0.0));
        assert_eq!(t_two_sided(1.0, 0.0), Err(Undefined::OutOfRange));
        assert_eq!(t_two_sided(f64::NAN, 3.0), Err(Undefined::NotFinite));
        assert_eq!(t_two_sided(1e200, 3.0), Ok(0.0));
        assert_eq!(chi_square_upper_tail(-1.0, 3.0), Ok(1.0));
        assert_eq!(chi_square_lower_tail(-1.0, 3.0), Ok(0.0));
    }

    proptest! {
        #[test]
        fn quantiles_undo_tails(p in 1e-6_f64..0.999_999, df1 in 0.5_f64..200.0, df2 in 0.5_f64..200.0) {
            let t = t_quantile(p, df1)?;
            prop_assert!((t_upper_tail(-t, df1)? - p).abs() < 1e-11 * p.max(1e-3));
            let x = chi_square_quantile(p, df1)?;
            prop_assert!((1.0 - chi_square_upper_tail(x, df1)? - p).abs() < 1e-11);
            let f = f_quantile(p, df1, df2)?;
            prop_assert!((1.0 - f_upper_tail(f, df1, df2)? - p).abs() < 1e-11);
            let z = normal_quantile(p)?;
            prop_assert!((normal_cdf(z) - p).abs() < 1e-14);
        }

        #[test]
        fn tails_are_probabilities(t in prop::num::f64::ANY, df1 in prop::num::f64::ANY, df2 in prop::num::f64::ANY) {
            for tail in [t_two_sided(t, df1), t_upper_tail(t, df1), f_upper_tail(t, df1.min(1e8), df2.min(1e8)), chi_square_upper_tail(t, df1)].into_iter().flatten() {
                prop_assert!((0.0..=1.0).contains(&tail), "{}", tail);
            }
        }
    }
}
