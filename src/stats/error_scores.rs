//! Error scores about a target, in the unit of the scores: how far off, to which side, how scattered.
//!
//! The divisor is n throughout, as the field has it, so that E² = CE² + VE² and mean RE² = SRE² + BVE² hold.
//! Sources: Schutz & Roy 1973, Journal of Motor Behavior 5:141–153; Henry 1975, Journal of Motor Behavior 7:243–247;
//! in two dimensions Hancock, Butler & Fischman 1995, Journal of Motor Behavior 27:241–250.

use super::{
    Undefined,
    moments::{Moments, difference_of_means},
    requirements::{all_finite, finite_numbers, finite_result, same_length},
    summary::population_sd,
};

/// Constant error CE: mean of x − T. Positive is beyond the target.
///
/// # Errors
/// [`Undefined::TooFew`] for no scores; [`Undefined::NotFinite`].
pub fn constant_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    difference_of_means(&[target], scores)
}

/// Absolute error AE: mean of |x − T|.
///
/// # Errors
/// As for [`constant_error`].
pub fn absolute_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    Ok(Moments::of(&distances(scores, target)?)?.mean)
}

/// Variable error VE: √(mean of (x − x̄)²), the scatter about the learner's own mean; needs no target.
///
/// # Errors
/// [`Undefined::TooFew`] for no scores; [`Undefined::NotFinite`].
pub fn variable_error(scores: &[f64]) -> Result<f64, Undefined> {
    population_sd(scores)
}

/// Total error E: √(mean of (x − T)²).
///
/// # Errors
/// As for [`constant_error`].
pub fn total_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    root_mean_square(&distances(scores, target)?)
}

/// |x − T| for every score: what is compared where the target is best.
///
/// # Errors
/// [`Undefined::TooFew`] for no scores; [`Undefined::NotFinite`].
pub fn distances(scores: &[f64], target: f64) -> Result<Vec<f64>, Undefined> {
    finite_numbers(1, scores)?;
    all_finite(&[target])?;
    let targets = vec![target; scores.len()];
    Ok(super::decimal_grid::differences(&targets, scores)
        .into_iter()
        .map(f64::abs)
        .collect())
}

/// The error scores of landing points, relative to a target at (0, 0).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RadialErrors {
    /// MRE: mean distance from the target.
    pub mean_radial_error: f64,
    /// SRE: distance of the centre of the points from the target, the bias.
    pub subject_centroid_radial_error: f64,
    /// BVE: √(mean of squared distances from the centre of the points), the scatter.
    pub bivariate_variable_error: f64,
    /// √(mean of squared distances from the target).
    pub root_mean_square_radial_error: f64,
}

/// The two-dimensional error scores of landing points `x`, `y`.
///
/// # Errors
/// [`Undefined::UnequalLengths`]; [`Undefined::TooFew`] for no points; [`Undefined::NotFinite`]; [`Undefined::Overflow`].
pub fn radial_errors(x: &[f64], y: &[f64]) -> Result<RadialErrors, Undefined> {
    same_length(x.len(), y.len())?;
    let (of_x, of_y) = (Moments::of(x)?, Moments::of(y)?);
    let n = of_x.n as f64;
    let radii: Vec<f64> = x
        .iter()
        .zip(y)
        .map(|(&x, &y)| radial_distance(x, y))
        .collect();
    let mean_radius = finite_result(radii.iter().map(|radius| radius / n).sum())?;
    let squares: f64 = x.iter().zip(y).map(|(x, y)| x * x + y * y).sum();
    Ok(RadialErrors {
        mean_radial_error: mean_radius,
        subject_centroid_radial_error: finite_result(radial_distance(of_x.mean, of_y.mean))?,
        bivariate_variable_error: finite_result(
            ((of_x.squared_deviations + of_y.squared_deviations) / n).sqrt(),
        )?,
        root_mean_square_radial_error: finite_result((squares / n).sqrt())?,
    })
}

/// √(x² + y²): how far from the target at (0, 0) a point lies.
#[must_use]
pub fn radial_distance(x: f64, y: f64) -> f64 {
    libm::hypot(x, y)
}

fn root_mean_square(values: &[f64]) -> Result<f64, Undefined> {
    let squares: f64 = values.iter().map(|value| value * value).sum();
    finite_result((squares / values.len() as f64).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_relative, finite_series};
    use proptest::prelude::*;

    /// Ten trials at producing 2,000 ms, a student laboratory's table (its printed VE of 256.70 breaks the identity: one square was mistyped).
    #[test]
    fn interval_production() {
        let scores = [
            2130.0, 2250.0, 2140.0, 2300.0, 1600.0, 1280.0, 2150.0, 1890.0, 1810.0, 2430.0,
        ];
        assert_eq!(constant_error(&scores, 2000.0), Ok(-2.0));
        assert_eq!(absolute_error(&scores, 2000.0), Ok(282.0));
        assert_relative(variable_error(&scores).unwrap(), 335.105_953_4, 1e-9);
        assert_relative(total_error(&scores, 2000.0).unwrap(), 335.111_921_6, 1e-9);
    }

    /// A published class laboratory: 93, 103, 99, 105, 96 to a target of 100 have CE −0.8 and VE 4.4.
    #[test]
    fn class_laboratory() {
        let scores = [93.0, 103.0, 99.0, 105.0, 96.0];
        assert_eq!(constant_error(&scores, 100.0), Ok(-0.8));
        assert_eq!(absolute_error(&scores, 100.0), Ok(4.0));
        assert!((variable_error(&scores).unwrap() - 4.4).abs() < 0.01);
    }

    /// Made of 3–4–5 triangles, by hand.
    #[test]
    fn triangles() {
        let errors =
            radial_errors(&[3.0, -3.0, 0.0, 6.0, 4.0], &[4.0, 4.0, -5.0, 8.0, 3.0]).unwrap();
        assert_relative(errors.mean_radial_error, 6.0, 1e-15);
        assert_relative(
            errors.subject_centroid_radial_error,
            11.84_f64.sqrt(),
            1e-15,
        );
        assert_relative(errors.bivariate_variable_error, 28.16_f64.sqrt(), 1e-15);
        assert_relative(errors.root_mean_square_radial_error, 40_f64.sqrt(), 1e-15);

        let square = radial_errors(&[1.0, 1.0, -1.0, -1.0], &[1.0, -1.0, 1.0, -1.0]).unwrap();
        assert_eq!(square.subject_centroid_radial_error, 0.0);
        assert_relative(square.mean_radial_error, 2_f64.sqrt(), 1e-15);
        assert_relative(square.bivariate_variable_error, 2_f64.sqrt(), 1e-15);

        let repeated = radial_errors(&[3.0; 4], &[4.0; 4]).unwrap();
        assert_eq!(repeated.bivariate_variable_error, 0.0);
        assert_eq!(repeated.subject_centroid_radial_error, 5.0);
    }

    #[test]
    fn what_has_no_value_says_why() {
        assert!(constant_error(&[], 1.0).is_err());
        assert_eq!(total_error(&[1.0], f64::NAN), Err(Undefined::NotFinite));
        assert_eq!(radial_errors(&[1.0], &[]), Err(Undefined::UnequalLengths));
        assert_eq!(variable_error(&[1.0]), Ok(0.0));
    }

    proptest! {
        /// E² = CE² + VE² and |CE| ≤ AE ≤ E (Schutz & Roy 1973).
        #[test]
        fn one_dimension(scores in finite_series(1, 20), target in -100.0..100.0) {
            let (ce, ae, ve, e) = (constant_error(&scores, target)?, absolute_error(&scores, target)?, variable_error(&scores)?, total_error(&scores, target)?);
            let tolerance = 1e-9 * (1.0 + e * e);
            prop_assert!((e * e - (ce * ce + ve * ve)).abs() < tolerance);
            prop_assert!(ce.abs() <= ae + tolerance && ae <= e + tolerance);
            prop_assert!(ce.abs() <= ae + tolerance);
        }

        /// mean RE² = SRE² + BVE² and SRE ≤ MRE ≤ RMS.
        #[test]
        fn two_dimensions(points in prop::collection::vec((-50.0..50.0, -50.0..50.0), 1..20)) {
            let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
            let errors = radial_errors(&x, &y)?;
            let (sre, bve, rms) = (errors.subject_centroid_radial_error, errors.bivariate_variable_error, errors.root_mean_square_radial_error);
            prop_assert!((rms * rms - (sre * sre + bve * bve)).abs() < 1e-9 * (1.0 + rms * rms));
            prop_assert!(sre <= errors.mean_radial_error + 1e-9 && errors.mean_radial_error <= rms + 1e-9);
        }

        /// In one dimension of the two, the scores are those of one.
        #[test]
        fn a_line_in_the_plane(scores in finite_series(1, 20)) {
            let errors = radial_errors(&scores, &vec![0.0; scores.len()])?;
            prop_assert!((errors.mean_radial_error - absolute_error(&scores, 0.0)?).abs() < 1e-9);
            prop_assert!((errors.bivariate_variable_error - variable_error(&scores)?).abs() < 1e-9);
        }

        #[test]
        fn no_numbers_panic_or_give_nan(a in prop::collection::vec(prop::num::f64::ANY, 0..5), b in prop::collection::vec(prop::num::f64::ANY, 0..5), target in prop::num::f64::ANY) {
            for value in [constant_error(&a, target), absolute_error(&a, target), variable_error(&a), total_error(&a, target), radial_errors(&a, &b).map(|errors| errors.mean_radial_error + errors.root_mean_square_radial_error)].into_iter().flatten() {
                prop_assert!(!value.is_nan());
            }
        }
    }
}
