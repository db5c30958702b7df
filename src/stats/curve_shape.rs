//! Which shape has a practice curve? Candidate shapes fitted to session means and compared by how much they explain for their parameters.
//!
//! Shapes and their fits are in [`candidates`]; here they are compared by the small-sample Akaike criterion, AICc = n·ln(RSS/n) + 2K +
//! 2K(K+1)/(n−K−1), K counting the error variance too. Source: Burnham & Anderson 2002, Model Selection and Multimodel Inference,
//! sections 2.4 and 2.9.
//!
//! With the sessions of usual logbooks the straight line often wins by parsimony: that is no evidence of a straight line.

mod candidates;

pub use candidates::Shape;

use super::Undefined;
use super::requirements::{all_finite, at_least, finite_result};

/// Sessions without which no shape is told from another.
pub const FEWEST_SESSIONS: usize = 6;

/// One candidate shape, fitted.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeFit {
    /// Which shape.
    pub shape: Shape,
    /// Its parameters, in the order of the shape's formula; sessions count from 1.
    pub parameters: Vec<f64>,
    /// Sum of squared residuals.
    pub squared_error: f64,
    /// AICc: lower is better, and only differences mean something.
    pub aicc: f64,
    /// Akaike weight, 0–1: its share of the support among the candidates.
    pub weight: f64,
}

impl ShapeFit {
    /// What the fitted curve expects of sessions 1 to `sessions`.
    pub fn means(&self, sessions: usize) -> Vec<f64> {
        (1..=sessions)
            .map(|session| self.shape.value(session as f64, &self.parameters))
            .collect()
    }
}

/// All candidate shapes that these sessions can bear.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveShapes {
    /// The fits, best first.
    pub fits: Vec<ShapeFit>,
    /// AICc of the best straight or flat line less that of the best other shape: positive where a bend or step earns its parameters.
    pub nonlinear_gain: f64,
}

impl CurveShapes {
    /// The shape with the lowest AICc.
    pub fn best(&self) -> Option<&ShapeFit> {
        self.fits.first()
    }
}

/// Fits every shape to session means (session 1, 2, 3 …, equal weights) and compares them.
///
/// A shape is a candidate where n − K − 1 is above 0: with six sessions all but the logistic.
///
/// # Errors
/// [`Undefined::TooFew`] below six sessions, [`Undefined::NoSpread`] where all means are equal, [`Undefined::NotFinite`],
/// [`Undefined::Overflow`].
pub fn curve_shapes(session_means: &[f64]) -> Result<CurveShapes, Undefined> {
    curve_shapes_among(session_means, &Shape::ALL)
}

/// As [`curve_shapes`], of these shapes alone: at least one straight or flat, and one other.
///
/// # Errors
/// As [`curve_shapes`].
pub fn curve_shapes_among(
    session_means: &[f64],
    shapes: &[Shape],
) -> Result<CurveShapes, Undefined> {
    let n = session_means.len();
    at_least(FEWEST_SESSIONS, n)?;
    all_finite(session_means)?;
    let lowest = session_means.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = session_means
        .iter()
        .copied()
        .fold(f64::NEG_INFINITY, f64::max);
    let range = finite_result(highest - lowest)?;
    if range <= 0.0 {
        return Err(Undefined::NoSpread);
    }
    // In units of the range, so that neither level nor unit of the scores decides how well a search goes.
    let scaled: Vec<f64> = session_means
        .iter()
        .map(|mean| (mean - lowest) / range)
        .collect();
    let mut fits = Vec::with_capacity(shapes.len());
    for &shape in shapes {
        let k = shape.parameters() + 1;
        if n <= k + 1 {
            continue;
        }
        let fitted = shape.fit(&scaled);
        // A fit without any error would have infinite support: rounding sets the floor.
        let error = fitted.squared_error.max(n as f64 * 1e-26);
        fits.push(ShapeFit {
            shape,
            parameters: shape.in_scores(fitted.parameters, lowest, range),
            squared_error: finite_result(fitted.squared_error * range * range)?,
            aicc: aicc(error, n, k) + 2.0 * n as f64 * range.ln(),
            weight: 0.0,
        });
    }
    let best = |curved: bool| {
        fits.iter()
            .filter(|fit| fit.shape.is_curved() == curved)
            .map(|fit| fit.aicc)
            .fold(f64::INFINITY, f64::min)
    };
    let nonlinear_gain = finite_result(best(false) - best(true))?;
    let lowest_aicc = best(false).min(best(true));
    let support = |fit: &ShapeFit| ((lowest_aicc - fit.aicc) / 2.0).exp();
    let all: f64 = fits.iter().map(support).sum();
    for fit in &mut fits {
        fit.weight = support(fit) / all;
    }
    // Stable: of two with the same support the one with fewer parameters stays first.
    fits.sort_by(|a, b| a.aicc.total_cmp(&b.aicc));
    Ok(CurveShapes {
        fits,
        nonlinear_gain,
    })
}

/// AICc from a sum of squared residuals, without the constant n(1 + ln 2π); `k` counts the error variance. Needs n − k − 1 above 0.
fn aicc(squared_error: f64, n: usize, k: usize) -> f64 {
    let (size, k) = (n as f64, k as f64);
    size * (squared_error / size).ln() + 2.0 * k + 2.0 * k * (k + 1.0) / (size - k - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, assert_relative, finite_series};
    use proptest::prelude::*;

    /// AICc of the certified residual sums of NIST StRD Misra1a, Misra1b, `DanWood`, `BoxBOD` (K = 3), by Burnham & Anderson's formula.
    #[test]
    fn aicc_of_certified_residuals() {
        assert_close(aicc(1.245_513_889_4e-1, 14, 3), -57.709_319_01, 1e-8);
        assert_close(aicc(7.546_468_153_3e-2, 14, 3), -64.724_069_98, 1e-8);
        assert_close(aicc(4.317_308_408_3e-3, 6, 3), -25.421_295_56, 1e-8);
        assert_close(aicc(1.168_008_876_6e3, 6, 3), 49.627_777_76, 1e-8);
    }

    /// Twelve invented sessions; every residual sum by SciPy 1.17.1 `curve_fit` from many starts.
    #[test]
    fn residuals_of_every_shape_agree_with_scipy() {
        let means = [1.2, 1.9, 2.1, 2.6, 2.5, 2.9, 3.0, 3.3, 3.1, 3.2, 3.4, 3.35];
        let shapes = curve_shapes(&means).unwrap();
        let scipy: [(Shape, f64, &[f64]); 5] = [
            (Shape::Flat, 5.110_625_000_000_001, &[2.7125]),
            (
                Shape::Line,
                0.766_180_069_930_070_2,
                &[1.579_545_454_545_454_1, 0.174_300_699_300_699_16],
            ),
            (
                Shape::Power,
                0.134_932_122_793_091_58,
                &[
                    14.609_904_326_128_87,
                    -13.415_413_579_403_639,
                    -0.072_946_949_295_999_42,
                ],
            ),
            (
                Shape::Exponential,
                0.136_578_558_821_891_54,
                &[
                    3.478_745_978_922_545_2,
                    -2.883_066_861_860_820_4,
                    0.262_443_960_711_285_84,
                ],
            ),
            (
                Shape::Step,
                1.275_555_555_555_555_6,
                &[1.733_333_333_333_333_2, 3.038_888_888_888_889, 3.0],
            ),
        ];
        for (shape, squared_error, parameters) in scipy {
            let fit = shapes.fits.iter().find(|fit| fit.shape == shape).unwrap();
            assert_relative(fit.squared_error, squared_error, 1e-9);
            for (found, expected) in fit.parameters.iter().zip(parameters) {
                assert_relative(*found, *expected, 1e-5);
            }
        }
        assert_eq!(shapes.best().unwrap().shape, Shape::Power);
        assert_close(shapes.fits.iter().map(|fit| fit.weight).sum(), 1.0, 1e-12);
        assert!(shapes.nonlinear_gain > 10.0);
    }

    /// Fourteen invented sessions of an S; SciPy 1.17.1 `curve_fit`. (Where means show no S, SciPy takes the midpoint far outside the sessions;
    /// here it stays within.)
    #[test]
    fn an_s_agrees_with_scipy() {
        let means = [
            1.1, 1.0, 1.2, 1.15, 1.4, 1.6, 2.0, 2.45, 2.8, 2.9, 3.05, 3.0, 3.15, 3.1,
        ];
        let shapes = curve_shapes(&means).unwrap();
        let best = shapes.best().unwrap();
        assert_eq!(best.shape, Shape::Logistic);
        assert_relative(best.squared_error, 0.033_224_502_681_999_72, 1e-9);
        for (found, expected) in best.parameters.iter().zip([
            1.062_694_859_735_404_5,
            2.042_196_493_415_857_6,
            0.851_859_532_706_273_9,
            7.142_252_248_672_398,
        ]) {
            assert_relative(*found, expected, 1e-5);
        }
    }

    #[test]
    fn finds_the_shape_that_made_the_means() {
        let wobble = |i: usize| 0.01 * ((i * 37 % 11) as f64 - 5.0);
        let curve = |f: fn(f64) -> f64| -> Vec<f64> {
            (0..16).map(|i| f(i as f64 + 1.0) + wobble(i)).collect()
        };
        for (shape, means) in [
            (Shape::Flat, curve(|_| 2.0)),
            (Shape::Line, curve(|x| 1.0 + 0.2 * x)),
            (Shape::Power, curve(|x| 4.0 - 3.0 * x.powf(-0.6))),
            (Shape::Exponential, curve(|x| 4.0 - 3.0 * (-0.35 * x).exp())),
            (
                Shape::Logistic,
                curve(|x| 1.0 + 2.0 / (1.0 + (-0.9 * (x - 8.0)).exp())),
            ),
            (Shape::Step, curve(|x| if x < 9.0 { 1.0 } else { 3.0 })),
        ] {
            assert_eq!(curve_shapes(&means).unwrap().best().unwrap().shape, shape);
        }
    }

    #[test]
    fn six_sessions_bear_no_logistic_and_a_perfect_line_is_a_line() {
        let shapes = curve_shapes(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0]).unwrap();
        assert!(shapes.fits.iter().all(|fit| fit.shape != Shape::Logistic));
        assert_eq!(shapes.best().unwrap().shape, Shape::Line);
        assert_close(shapes.best().unwrap().parameters[1], 1.0, 1e-12);
        assert!(shapes.nonlinear_gain < 0.0);
    }

    #[test]
    fn undefined_without_sessions_or_spread() {
        assert_eq!(
            curve_shapes(&[1.0; 5]),
            Err(Undefined::TooFew {
                needed: 6,
                given: 5
            })
        );
        assert_eq!(curve_shapes(&[1.0; 6]), Err(Undefined::NoSpread));
        assert!(curve_shapes(&[f64::MAX, f64::MIN, 0.0, 0.0, 0.0, 0.0]).is_err());
    }

    proptest! {
        /// Neither level nor unit nor direction of the scores matters to the comparison.
        #[test]
        fn shift_and_scale_change_no_weight(means in finite_series(6, 14)) {
            let Ok(shapes) = curve_shapes(&means) else { return Ok(()) };
            prop_assert!(shapes.fits.iter().all(|fit| fit.aicc.is_finite() && (0.0..=1.0).contains(&fit.weight)));
            let moved: Vec<f64> = means.iter().map(|mean| 1.0 + 4.0 * mean).collect();
            let other = curve_shapes(&moved).unwrap();
            assert_close(shapes.nonlinear_gain, other.nonlinear_gain, 1e-4);
        }
    }
}
