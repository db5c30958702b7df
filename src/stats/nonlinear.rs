//! Least squares on a curve that isn't linear in its parameters: Levenberg–Marquardt from given starts.
//!
//! Source: Marquardt 1963, SIAM Journal 11:431–441; damping after Madsen, Nielsen & Tingleff 2004, Methods for Non-Linear Least Squares
//! Problems, algorithm 3.16, on columns scaled as in Moré 1978.

use nalgebra::{DMatrix, DVector};

use super::Undefined;
use super::requirements::{all_finite, at_least, same_length};

/// Steps after which a start is given up.
const MOST_STEPS: usize = 2_000;

/// How boldly the first step from a start is taken: a bold one is quick, a cautious one doesn't leap past the valley next to the start.
const FIRST_DAMPINGS: [f64; 2] = [1e-3, 1e3];

/// A curve with its derivatives.
pub trait Curve {
    /// How many parameters it has.
    fn parameters(&self) -> usize;
    /// Its value at `x`; writes the derivative by each parameter into `gradient`.
    fn value(&self, x: f64, parameters: &[f64], gradient: &mut [f64]) -> f64;
}

/// A curve fitted by least squares.
#[derive(Debug, Clone, PartialEq)]
pub struct NonlinearFit {
    /// The fitted parameters.
    pub parameters: Vec<f64>,
    /// Standard error of each, from the curvature at the solution and n − p; absent where n ≤ p or a parameter is not determined.
    pub standard_errors: Option<Vec<f64>>,
    /// Sum of squared residuals.
    pub squared_error: f64,
    /// √(squared error/(n − p)); absent where n ≤ p.
    pub residual_sd: Option<f64>,
}

/// The least-squares fit of `curve` to points, the best of those reached from each start.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] with fewer points than parameters or without a start, [`Undefined::NotFinite`],
/// [`Undefined::NotConverged`] where no start settles.
pub fn least_squares(
    x: &[f64],
    y: &[f64],
    curve: &impl Curve,
    starts: &[Vec<f64>],
) -> Result<NonlinearFit, Undefined> {
    same_length(x.len(), y.len())?;
    at_least(curve.parameters(), x.len())?;
    at_least(1, starts.len())?;
    all_finite(x)?;
    all_finite(y)?;
    let mut best: Option<Point> = None;
    for start in starts {
        same_length(curve.parameters(), start.len())?;
        for damping in FIRST_DAMPINGS {
            let Some(reached) = settle(x, y, curve, start, damping) else {
                continue;
            };
            if best
                .as_ref()
                .is_none_or(|best| reached.squared_error < best.squared_error)
            {
                best = Some(reached);
            }
        }
    }
    let best = best.ok_or(Undefined::NotConverged)?;
    let freedom = x.len() - curve.parameters();
    let residual_variance = (freedom > 0).then(|| best.squared_error / freedom as f64);
    Ok(NonlinearFit {
        standard_errors: residual_variance.and_then(|variance| best.standard_errors(variance)),
        residual_sd: residual_variance.map(f64::sqrt),
        squared_error: best.squared_error,
        parameters: best.parameters,
    })
}

/// A place in the space of parameters, with what the curve is like there.
struct Point {
    parameters: Vec<f64>,
    squared_error: f64,
    /// `JᵀJ`, J the derivatives of the curve.
    normal: DMatrix<f64>,
    /// Jᵀr, r the residuals.
    downhill: DVector<f64>,
}

impl Point {
    fn at(x: &[f64], y: &[f64], curve: &impl Curve, parameters: Vec<f64>) -> Option<Self> {
        let count = parameters.len();
        let mut normal = DMatrix::zeros(count, count);
        let mut downhill = DVector::zeros(count);
        let mut gradient = vec![0.0; count];
        let mut squared_error = 0.0;
        for (&x, &y) in x.iter().zip(y) {
            let residual = y - curve.value(x, &parameters, &mut gradient);
            squared_error += residual * residual;
            let gradient = DVector::from_column_slice(&gradient);
            downhill.axpy(residual, &gradient, 1.0);
            normal.ger(1.0, &gradient, &gradient, 1.0);
        }
        let usable = squared_error.is_finite()
            && normal
                .iter()
                .chain(downhill.iter())
                .all(|v: &f64| v.is_finite());
        usable.then_some(Self {
            parameters,
            squared_error,
            normal,
            downhill,
        })
    }

    fn standard_errors(&self, residual_variance: f64) -> Option<Vec<f64>> {
        let scale = self.normal.diagonal().map(f64::sqrt);
        if scale.iter().any(|&s| s <= 0.0) {
            return None;
        }
        // Scaled to a unit diagonal first: parameters differ by many powers of ten.
        let scaled = DMatrix::from_fn(scale.len(), scale.len(), |i, j| {
            self.normal[(i, j)] / (scale[i] * scale[j])
        });
        let inverse = scaled.cholesky()?.inverse();
        let errors: Vec<f64> = (0..scale.len())
            .map(|i| (inverse[(i, i)] * residual_variance).sqrt() / scale[i])
            .collect();
        errors
            .iter()
            .all(|error| error.is_finite())
            .then_some(errors)
    }
}

/// Walks downhill from one start until neither error nor parameters move.
fn settle(
    x: &[f64],
    y: &[f64],
    curve: &impl Curve,
    start: &[f64],
    first_damping: f64,
) -> Option<Point> {
    let mut here = Point::at(x, y, curve, start.to_vec())?;
    let mut scale = here.normal.diagonal();
    let mut damping = first_damping;
    let mut growth = 2.0;
    for _ in 0..MOST_STEPS {
        // The largest curvature seen, so that a direction that goes flat is not run along.
        scale.zip_apply(&here.normal.diagonal(), |seen, now| *seen = seen.max(now));
        let floor = scale.max() * f64::EPSILON;
        let mut damped = here.normal.clone();
        for (i, curvature) in scale.iter().enumerate() {
            damped[(i, i)] += damping * curvature.max(floor.max(f64::MIN_POSITIVE));
        }
        let step = damped.cholesky().map(|factor| factor.solve(&here.downhill));
        let Some(step) = step.filter(|step| step.iter().all(|d| d.is_finite())) else {
            damping *= growth;
            growth *= 2.0;
            if damping > 1e30 {
                return None;
            }
            continue;
        };
        let moved: Vec<f64> = here
            .parameters
            .iter()
            .zip(step.iter())
            .map(|(p, d)| p + d)
            .collect();
        let still = moved
            .iter()
            .zip(&here.parameters)
            .all(|(a, b)| (a - b).abs() <= 1e-15 * (a.abs() + 1e-300));
        let expected_gain = step.dot(&here.downhill)
            + damping
                * step
                    .iter()
                    .zip(scale.iter())
                    .map(|(d, c)| d * d * c)
                    .sum::<f64>();
        let there = Point::at(x, y, curve, moved);
        let gain = there.as_ref().map_or(f64::NEG_INFINITY, |there| {
            here.squared_error - there.squared_error
        });
        match there {
            Some(there) if gain >= 0.0 => {
                let settled = expected_gain <= 1e-28 * here.squared_error
                    || gain <= 0.0 && expected_gain <= 1e-20 * here.squared_error;
                here = there;
                if settled || still || here.squared_error <= 0.0 {
                    return Some(here);
                }
                let ratio = gain / expected_gain;
                damping = (damping * (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0)).max(1e-15);
                growth = 2.0;
            }
            _ => {
                // No further gain within rounding is the bottom.
                if still || expected_gain <= 1e-15 * here.squared_error {
                    return Some(here);
                }
                damping *= growth;
                growth *= 2.0;
            }
        }
    }
    None
}

/// A curve given by how many parameters it has and its value: central differences, precise enough for the certified digits.
#[cfg(test)]
pub(super) struct ByValue(pub(super) usize, pub(super) fn(f64, &[f64]) -> f64);

#[cfg(test)]
impl Curve for ByValue {
    fn parameters(&self) -> usize {
        self.0
    }

    fn value(&self, x: f64, parameters: &[f64], gradient: &mut [f64]) -> f64 {
        let mut moved = parameters.to_vec();
        for (i, slot) in gradient.iter_mut().enumerate() {
            let h = 1e-5 * parameters[i].abs().max(1e-6);
            moved[i] = parameters[i] + h;
            let above = (self.1)(x, &moved);
            moved[i] = parameters[i] - h;
            let below = (self.1)(x, &moved);
            moved[i] = parameters[i];
            *slot = (above - below) / (2.0 * h);
        }
        (self.1)(x, parameters)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{
        CHWIRUT2_X, CHWIRUT2_Y, DAN_WOOD_X, DAN_WOOD_Y, MISRA1_X, MISRA1_Y,
    };
    use crate::stats::testing::assert_relative;

    struct Certified<'a> {
        parameters: &'a [f64],
        standard_errors: &'a [f64],
        squared_error: f64,
    }

    #[track_caller]
    fn assert_certified(fit: &NonlinearFit, certified: &Certified) {
        for (found, expected) in fit.parameters.iter().zip(certified.parameters) {
            assert_relative(*found, *expected, 1e-7);
        }
        for (found, expected) in fit
            .standard_errors
            .as_ref()
            .unwrap()
            .iter()
            .zip(certified.standard_errors)
        {
            assert_relative(*found, *expected, 1e-6);
        }
        assert_relative(fit.squared_error, certified.squared_error, 1e-9);
    }

    /// NIST StRD Misra1a, exponential approach, from each certified start.
    #[test]
    fn misra1a() {
        let curve = ByValue(2, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
        for start in [vec![500.0, 1e-4], vec![250.0, 5e-4]] {
            let fit = least_squares(&MISRA1_X, &MISRA1_Y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[2.389_421_291_8e2, 5.501_564_318_1e-4],
                    standard_errors: &[2.707_007_524_1, 7.266_868_843_6e-6],
                    squared_error: 1.245_513_889_4e-1,
                },
            );
            assert_relative(fit.residual_sd.unwrap(), 1.018_787_633_0e-1, 1e-8);
        }
    }

    /// NIST StRD Misra1b, from each certified start.
    #[test]
    fn misra1b() {
        let curve = ByValue(2, |x, b| b[0] * (1.0 - (1.0 + b[1] * x / 2.0).powi(-2)));
        for start in [vec![500.0, 1e-4], vec![300.0, 2e-4]] {
            let fit = least_squares(&MISRA1_X, &MISRA1_Y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[3.379_974_616_3e2, 3.903_909_128_7e-4],
                    standard_errors: &[3.164_395_020_7, 4.254_732_183_4e-6],
                    squared_error: 7.546_468_153_3e-2,
                },
            );
        }
    }

    /// NIST StRD `DanWood`, power law, from each certified start.
    #[test]
    fn dan_wood() {
        let curve = ByValue(2, |x, b| b[0] * x.powf(b[1]));
        for start in [vec![1.0, 5.0], vec![0.7, 4.0]] {
            let fit = least_squares(&DAN_WOOD_X, &DAN_WOOD_Y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[7.688_622_617_6e-1, 3.860_405_587_1],
                    standard_errors: &[1.828_197_386_0e-2, 5.172_661_091_3e-2],
                    squared_error: 4.317_308_408_3e-3,
                },
            );
        }
    }

    /// NIST StRD `BoxBOD`, exponential approach: from the far start MINPACK stops at a false minimum of 9771.5.
    #[test]
    fn box_bod() {
        let (x, y) = (
            [1.0, 2.0, 3.0, 5.0, 7.0, 10.0],
            [109.0, 149.0, 149.0, 191.0, 213.0, 224.0],
        );
        let curve = ByValue(2, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
        for start in [vec![1.0, 1.0], vec![100.0, 0.75]] {
            let fit = least_squares(&x, &y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[2.138_094_088_9e2, 5.472_374_854_2e-1],
                    standard_errors: &[1.235_451_517_6e1, 1.045_599_323_7e-1],
                    squared_error: 1.168_008_876_6e3,
                },
            );
        }
    }

    /// NIST StRD MGH09, a ratio of quadratics with a false minimum at infinity.
    #[test]
    fn mgh09() {
        let x = [
            4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625,
        ];
        let y = [
            0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246,
        ];
        let curve = ByValue(4, |x, b| {
            b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3])
        });
        for start in [vec![25.0, 39.0, 41.5, 39.0], vec![0.25, 0.39, 0.415, 0.39]] {
            let fit = least_squares(&x, &y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[
                        1.928_069_345_8e-1,
                        1.912_823_287_3e-1,
                        1.230_565_069_3e-1,
                        1.360_623_306_8e-1,
                    ],
                    standard_errors: &[
                        1.143_531_222_7e-2,
                        1.963_322_091_1e-1,
                        8.084_203_123_2e-2,
                        9.002_554_230_8e-2,
                    ],
                    squared_error: 3.075_056_038_5e-4,
                },
            );
        }
    }

    /// NIST StRD Chwirut2, from each certified start.
    #[test]
    fn chwirut2() {
        let curve = ByValue(3, |x, b| (-b[0] * x).exp() / (b[1] + b[2] * x));
        for start in [vec![0.1, 0.01, 0.02], vec![0.15, 0.008, 0.010]] {
            let fit = least_squares(&CHWIRUT2_X, &CHWIRUT2_Y, &curve, &[start]).unwrap();
            assert_certified(
                &fit,
                &Certified {
                    parameters: &[1.665_766_653_7e-1, 5.165_329_128_6e-3, 1.215_000_709_6e-2],
                    standard_errors: &[3.830_328_681_0e-2, 6.662_160_512_6e-4, 1.530_423_476_7e-3],
                    squared_error: 5.130_480_294_1e2,
                },
            );
        }
    }

    #[test]
    fn undefined_without_points_or_starts() {
        let line = ByValue(2, |x, b| b[0] + b[1] * x);
        let start = [vec![0.0, 0.0]];
        assert!(matches!(
            least_squares(&[1.0], &[1.0], &line, &start),
            Err(Undefined::TooFew { .. })
        ));
        assert!(matches!(
            least_squares(&[1.0, 2.0], &[1.0, 2.0], &line, &[]),
            Err(Undefined::TooFew { .. })
        ));
        let exact = least_squares(&[1.0, 2.0], &[1.0, 2.0], &line, &start).unwrap();
        assert!(exact.residual_sd.is_none() && exact.standard_errors.is_none());
        let nowhere = ByValue(1, |_, b| (b[0] - 1e9).ln());
        assert_eq!(
            least_squares(&[1.0], &[1.0], &nowhere, &[vec![0.0]]),
            Err(Undefined::NotConverged)
        );
    }
}
