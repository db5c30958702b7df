//! The mixed-model equations at given ratios of variances, solved; and how the criterion changes with the ratios.
//!
//! Random effects are scaled by the root of their ratio, as in Bates et al. 2015, so that a ratio of 0 is an ordinary case.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn};

use super::Effect;
use super::design::{Design, Pair};
use crate::stats::Undefined;

/// The variance of each random factor over the error variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Ratios {
    pub(super) pair: f64,
    pub(super) marker: f64,
}

impl Ratios {
    /// Moved along a step; never below 0.
    pub(super) fn moved(self, step: [f64; 2], length: f64) -> Self {
        Self {
            pair: (self.pair + length * step[0]).max(0.0),
            marker: (self.marker + length * step[1]).max(0.0),
        }
    }

    /// The larger relative difference.
    pub(super) fn distance(self, other: Self) -> f64 {
        let relative = |a: f64, b: f64| (a - b).abs() / a.max(b).max(1e-6);
        relative(self.pair, other.pair).max(relative(self.marker, other.marker))
    }
}

/// Everything at one place.
pub(super) struct Equations {
    pub(super) ratios: Ratios,
    /// −2 log restricted likelihood, error variance profiled out.
    pub(super) criterion: f64,
    /// Its derivative by each ratio.
    pub(super) slopes: [f64; 2],
    pub(super) residual_variance: f64,
    /// Inverse of the equations of markers (scaled) and fixed effects, pairs eliminated.
    inverse: DMatrix<f64>,
    /// Their solution.
    solution: DVector<f64>,
    /// Markers' equations, pairs and fixed effects eliminated: left and right side.
    markers_left: DMatrix<f64>,
    markers_right: DVector<f64>,
}

impl Equations {
    pub(super) fn solve(design: &Design, ratios: Ratios) -> Result<Self, Undefined> {
        let (markers, fixed) = (design.markers, design.fixed());
        let size = markers + fixed;
        let (left, right, squares, log_pairs) = without_pairs(design, ratios.pair);
        // Markers' columns scaled by the root of their ratio, their penalty the identity.
        let root = ratios.marker.sqrt();
        let scale = |index: usize| if index < markers { root } else { 1.0 };
        let scaled = DMatrix::from_fn(size, size, |i, j| {
            left[(i, j)] * scale(i) * scale(j) + f64::from(u8::from(i == j && i < markers))
        });
        let scaled_right = DVector::from_fn(size, |i, _| right[i] * scale(i));
        // Covariates have unit spread here: a pivot of rounding size means that they determine each other.
        let fixed_left = left.view((markers, markers), (fixed, fixed)).into_owned();
        let fixed_factor =
            well_determined(fixed_left, design.marks as f64).ok_or(Undefined::NoSpread)?;
        let factor = scaled.cholesky().ok_or(Undefined::NoSpread)?;
        let solution = factor.solve(&scaled_right);
        let freedom = (design.marks - fixed) as f64;
        let squared_error = squares - solution.dot(&scaled_right);
        if squared_error <= 1e-13 * design.squares {
            return Err(Undefined::NoSpread);
        }
        let residual_variance = squared_error / freedom;
        let log_factor = log_determinant(&factor);
        let criterion = log_pairs
            + log_factor
            + freedom * (1.0 + (std::f64::consts::TAU * residual_variance).ln());
        let inverse = factor.inverse();
        let (markers_left, markers_right) = without_fixed(&left, &right, &fixed_factor, markers);
        let mut equations = Self {
            ratios,
            criterion,
            slopes: [0.0; 2],
            residual_variance,
            inverse,
            solution,
            markers_left,
            markers_right,
        };
        equations.slopes = [equations.pair_slope(design), equations.marker_slope()];
        Ok(equations)
    }

    /// How steep the criterion is where it can still be moved.
    pub(super) fn slope_size(&self, free: [bool; 2]) -> f64 {
        let at = [self.ratios.pair, self.ratios.marker];
        (0..2)
            .filter(|&k| free[k] && (at[k] > 0.0 || self.slopes[k] < 0.0))
            .map(|k| self.slopes[k].abs() * at[k].max(1e-3))
            .fold(0.0, f64::max)
    }

    /// tr(Z′PZ) − |Z′Py|²/σ² over pairs, with P the projection of REML.
    fn pair_slope(&self, design: &Design) -> f64 {
        design
            .pairs
            .iter()
            .map(|pair| {
                let divisor = self.ratios.pair * pair.marks + 1.0;
                let residual = self.pair_residual(pair, design.markers) / divisor;
                pair.marks / divisor
                    - self.quadratic(pair, design.markers) / (divisor * divisor)
                    - residual * residual / self.residual_variance
            })
            .sum()
    }

    /// The same over markers.
    fn marker_slope(&self) -> f64 {
        let size = self.markers_left.nrows();
        let penalised = &self.markers_left * self.ratios.marker + DMatrix::identity(size, size);
        let Some(factor) = penalised.cholesky() else {
            return 0.0;
        };
        let projected = factor.solve(&self.markers_right);
        factor.solve(&self.markers_left).trace() - projected.norm_squared() / self.residual_variance
    }

    /// The sum of a pair's marks less what fixed effects and markers explain.
    fn pair_residual(&self, pair: &Pair, markers: usize) -> f64 {
        let root = self.ratios.marker.sqrt();
        let by_markers: f64 = pair
            .by_marker
            .iter()
            .map(|&(marker, count)| count * root * self.solution[marker])
            .sum();
        let by_fixed: f64 = pair
            .fixed
            .iter()
            .enumerate()
            .map(|(k, x)| x * self.solution[markers + k])
            .sum();
        pair.sum - by_markers - by_fixed
    }

    /// b′S⁻¹b, b the pair's sums over markers and fixed effects.
    fn quadratic(&self, pair: &Pair, markers: usize) -> f64 {
        let root = self.ratios.marker.sqrt();
        let entries: Vec<(usize, f64)> = pair
            .by_marker
            .iter()
            .map(|&(marker, count)| (marker, count * root))
            .chain(
                pair.fixed
                    .iter()
                    .enumerate()
                    .map(|(k, &x)| (markers + k, x)),
            )
            .collect();
        entries
            .iter()
            .map(|&(i, a)| {
                entries
                    .iter()
                    .map(|&(j, b)| a * b * self.inverse[(i, j)])
                    .sum::<f64>()
            })
            .sum()
    }

    /// Predictions of pairs, in marks.
    pub(super) fn pair_effects(&self, design: &Design) -> Vec<Effect> {
        let ratio = self.ratios.pair;
        design
            .pairs
            .iter()
            .map(|pair| {
                let divisor = ratio * pair.marks + 1.0;
                let error = ratio
                    * (1.0 / divisor
                        + ratio * self.quadratic(pair, design.markers) / (divisor * divisor));
                Effect {
                    value: design.scale * ratio * self.pair_residual(pair, design.markers)
                        / divisor,
                    standard_error: design.scale * (self.residual_variance * error).sqrt(),
                }
            })
            .collect()
    }

    /// Predictions of markers, in marks.
    pub(super) fn marker_effects(&self, design: &Design) -> Vec<Effect> {
        let root = self.ratios.marker.sqrt();
        (0..design.markers)
            .map(|marker| Effect {
                value: design.scale * root * self.solution[marker],
                standard_error: design.scale
                    * (self.residual_variance
                        * self.ratios.marker
                        * self.inverse[(marker, marker)])
                        .sqrt(),
            })
            .collect()
    }

    /// The intercept with every covariate 0, and slopes, in marks and units of the covariates.
    pub(super) fn fixed_effects(&self, design: &Design) -> Vec<Effect> {
        let fixed = design.fixed();
        // Each effect as a combination of the effects of centred, scaled columns.
        let mut combinations = DMatrix::<f64>::zeros(fixed, fixed);
        combinations[(0, 0)] = 1.0;
        for (k, (centre, scale)) in design.covariate_centres.iter().enumerate() {
            combinations[(0, k + 1)] = -centre / scale;
            combinations[(k + 1, k + 1)] = 1.0 / scale;
        }
        let values = &combinations * self.solution.rows(design.markers, fixed);
        let covariance = &combinations
            * self
                .inverse
                .view((design.markers, design.markers), (fixed, fixed))
            * combinations.transpose();
        (0..fixed)
            .map(|k| Effect {
                value: design.scale * values[k] + if k == 0 { design.centre } else { 0.0 },
                standard_error: design.scale
                    * (self.residual_variance * covariance[(k, k)].max(0.0)).sqrt(),
            })
            .collect()
    }
}

/// Equations of markers and fixed effects with pairs eliminated: left side, right side, squared marks, and the pairs' log determinant.
fn without_pairs(design: &Design, ratio: f64) -> (DMatrix<f64>, DVector<f64>, f64, f64) {
    let (markers, fixed) = (design.markers, design.fixed());
    let mut left = DMatrix::zeros(markers + fixed, markers + fixed);
    let mut right = DVector::zeros(markers + fixed);
    for (marker, (marks, sums)) in design
        .marker_marks
        .iter()
        .zip(&design.marker_fixed)
        .enumerate()
    {
        left[(marker, marker)] = *marks;
        for (k, sum) in sums.iter().enumerate() {
            left[(marker, markers + k)] = *sum;
            left[(markers + k, marker)] = *sum;
        }
    }
    for (i, products) in design.fixed_products.iter().enumerate() {
        for (j, product) in products.iter().enumerate() {
            left[(markers + i, markers + j)] = *product;
        }
    }
    for (slot, sum) in right
        .iter_mut()
        .zip(design.marker_sums.iter().chain(&design.fixed_sums))
    {
        *slot = *sum;
    }
    let mut squares = design.squares;
    let mut log_determinant = 0.0;
    let mut entries: Vec<(usize, f64)> = Vec::new();
    for pair in &design.pairs {
        let divisor = ratio * pair.marks + 1.0;
        log_determinant += divisor.ln();
        let weight = ratio / divisor;
        entries.clear();
        entries.extend_from_slice(&pair.by_marker);
        entries.extend(
            pair.fixed
                .iter()
                .enumerate()
                .map(|(k, &x)| (markers + k, x)),
        );
        for &(i, a) in &entries {
            for &(j, b) in &entries {
                left[(i, j)] -= weight * a * b;
            }
            right[i] -= weight * a * pair.sum;
        }
        squares -= weight * pair.sum * pair.sum;
    }
    (left, right, squares, log_determinant)
}

/// Equations of markers alone.
fn without_fixed(
    left: &DMatrix<f64>,
    right: &DVector<f64>,
    fixed_factor: &Cholesky<f64, Dyn>,
    markers: usize,
) -> (DMatrix<f64>, DVector<f64>) {
    let fixed = left.nrows() - markers;
    let cross = left.view((markers, 0), (fixed, markers)).into_owned();
    let solved = fixed_factor.solve(&cross);
    let fixed_right = right.rows(markers, fixed).into_owned();
    (
        left.view((0, 0), (markers, markers)) - cross.tr_mul(&solved),
        right.rows(0, markers) - solved.tr_mul(&fixed_right),
    )
}

/// The logarithm of the determinant of what was factored.
pub(super) fn log_determinant(factor: &Cholesky<f64, Dyn>) -> f64 {
    factor
        .l_dirty()
        .diagonal()
        .iter()
        .map(|pivot| 2.0 * pivot.ln())
        .sum()
}

/// The factor of a matrix no pivot of which is nothing but rounding of numbers of size `size`.
pub(super) fn well_determined(matrix: DMatrix<f64>, size: f64) -> Option<Cholesky<f64, Dyn>> {
    matrix.cholesky().filter(|factor| {
        factor
            .l_dirty()
            .diagonal()
            .iter()
            .all(|pivot| pivot * pivot > 1e-10 * size)
    })
}
