//! Error scores of a block against its target, in one and two dimensions.

use crate::stats::{Undefined, summary};

/// Mean of the scores less the target.
pub(super) fn constant_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    summary::mean(scores).map(|mean| mean - target)
}

/// Mean distance from the target.
pub(super) fn absolute_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    mean_of(scores, |score| (score - target).abs())
}

/// Root of the mean squared distance from the target.
pub(super) fn total_error(scores: &[f64], target: f64) -> Result<f64, Undefined> {
    mean_of(scores, |score| (score - target).powi(2)).map(f64::sqrt)
}

/// Mean distance of the landing points from the target.
pub(super) fn mean_radial_error(points: &[(f64, f64)]) -> Result<f64, Undefined> {
    mean_of(points, |(x, y)| x.hypot(y))
}

/// Distance of the landing points' centroid from the target.
pub(super) fn centroid_error(points: &[(f64, f64)]) -> Result<f64, Undefined> {
    centroid(points).map(|(x, y)| x.hypot(y))
}

/// Root of the mean squared distance of the landing points from their centroid.
pub(super) fn bivariate_variable_error(points: &[(f64, f64)]) -> Result<f64, Undefined> {
    let (mean_x, mean_y) = centroid(points)?;
    mean_of(points, |(x, y)| (x - mean_x).powi(2) + (y - mean_y).powi(2)).map(f64::sqrt)
}

fn centroid(points: &[(f64, f64)]) -> Result<(f64, f64), Undefined> {
    Ok((mean_of(points, |(x, _)| x)?, mean_of(points, |(_, y)| y)?))
}

fn mean_of<T: Copy>(items: &[T], number: impl Fn(T) -> f64) -> Result<f64, Undefined> {
    summary::mean(&items.iter().map(|item| number(*item)).collect::<Vec<_>>())
}
