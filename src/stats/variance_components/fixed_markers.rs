//! How severe each marker is beside the others, markers fixed and pairs random, with intervals that hold for small samples.
//!
//! mark = marker + covariates + pair (random) + error, fitted by REML as in the model with random markers. A standard error that takes the
//! ratio of variances for known is too small where few pairs link the markers: it is widened, and the interval is that of t with degrees of
//! freedom worked out for each marker, both after Kenward & Roger 1997, Biometrics 53:983–997 (for a single contrast their degrees of freedom
//! are those of Satterthwaite's approximation).

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix2};

use super::design::{Design, Pair};
use super::equations::{log_determinant, well_determined};
use crate::stats::distribution::t_quantile;
use crate::stats::requirements::{all_finite, at_least, finite_result, same_length};
use crate::stats::{Interval, Undefined};

/// Ratios of variances at which the search begins; the best of them is next to the summit.
const COARSE: [f64; 12] = [
    0.0, 1e-4, 1e-3, 1e-2, 0.1, 0.5, 2.0, 10.0, 100.0, 1e3, 1e5, 1e7,
];
/// Halvings of the ratio's bracket: to the last bits of a double.
const HALVINGS: usize = 120;

/// How far a marker is from the markers together, in marks; positive is generous.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Contrast {
    /// The estimate; those of all markers sum to 0.
    pub value: f64,
    /// Its standard error, widened for small samples.
    pub standard_error: f64,
    /// Degrees of freedom of its t.
    pub degrees: f64,
}

impl Contrast {
    /// The 95 % interval; none where fewer than one degree of freedom is left.
    pub fn interval(self) -> Option<Interval> {
        // Below one degree of freedom the interval has no width that means anything.
        if self.degrees < 1.0 {
            return None;
        }
        let t = t_quantile(0.975, self.degrees).ok()?;
        Some(Interval::around(self.value, t * self.standard_error))
    }
}

/// The fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct FixedMarkers {
    /// Variance between pairs, in squared marks; 0 where the estimate would be negative.
    pub pair_variance: f64,
    /// Error variance, in squared marks.
    pub residual_variance: f64,
    /// Each marker's, by number.
    pub markers: Vec<Contrast>,
}

/// Fits the model to marks given by pair and by marker, both numbered from 0 without gaps.
///
/// # Errors
/// As [`super::variance_components`]; and [`Undefined::NotLinked`] where markers are not linked by pairs that they share, so that they could
/// only be told apart by their raw means.
pub fn fixed_markers(
    marks: &[f64],
    pairs: &[usize],
    markers: &[usize],
    covariates: &[&[f64]],
) -> Result<FixedMarkers, Undefined> {
    same_length(marks.len(), pairs.len())?;
    same_length(marks.len(), markers.len())?;
    all_finite(marks)?;
    for covariate in covariates {
        same_length(marks.len(), covariate.len())?;
        all_finite(covariate)?;
    }
    let design = Design::of(marks, pairs, markers, covariates)?;
    at_least(design.markers + covariates.len() + 1, marks.len())?;
    at_least(2, design.markers)?;
    let groups = linked_groups(pairs, markers);
    if groups.iter().any(|group| groups.first() != Some(group)) {
        return Err(Undefined::NotLinked);
    }
    let fit = Fit::at(&design, ratio(&design)?)?;
    let spread = design.scale * design.scale;
    Ok(FixedMarkers {
        pair_variance: finite_result(fit.ratio * fit.residual_variance * spread)?,
        residual_variance: finite_result(fit.residual_variance * spread)?,
        markers: fit.contrasts(&design)?,
    })
}

/// Which markers are linked by pairs that they share, directly or through others: for each marker the number of its group. Marks are given by
/// pair and by marker, both numbered from 0.
pub fn linked_groups(pairs: &[usize], markers: &[usize]) -> Vec<usize> {
    let count = markers
        .iter()
        .max()
        .map_or(0, |most| most.saturating_add(1));
    let mut group: Vec<usize> = (0..count.min(markers.len())).collect();
    let mut cells: Vec<(usize, usize)> =
        pairs.iter().copied().zip(markers.iter().copied()).collect();
    cells.sort_unstable();
    for two in cells.windows(2) {
        let [(pair, a), (same, b)] = two else {
            continue;
        };
        if pair != same {
            continue;
        }
        if let (Some(&keep), Some(&gone)) = (group.get(*a), group.get(*b)) {
            for id in &mut group {
                if *id == gone {
                    *id = keep;
                }
            }
        }
    }
    group
}

/// The ratio of pairs' variance to that of errors at which the restricted likelihood is highest: where its slope vanishes, or 0.
fn ratio(design: &Design) -> Result<f64, Undefined> {
    let fits = COARSE
        .into_iter()
        .map(|ratio| Fit::at(design, ratio))
        .collect::<Result<Vec<_>, _>>()?;
    let best = fits
        .iter()
        .enumerate()
        .min_by(|(_, a), (_, b)| a.criterion.total_cmp(&b.criterion))
        .map_or(0, |(index, _)| index);
    let slope = fits.get(best).map_or(0.0, |fit| fit.slope);
    if best == 0 && slope >= 0.0 {
        return Ok(0.0);
    }
    let neighbour = if slope > 0.0 {
        best.checked_sub(1)
    } else {
        Some(best + 1)
    };
    // Still falling at the last: pairs and markers explain every mark.
    let neighbour = neighbour
        .and_then(|index| COARSE.get(index))
        .ok_or(Undefined::NoSpread)?;
    let here = COARSE.get(best).copied().unwrap_or(0.0);
    let (mut low, mut high) = (here.min(*neighbour), here.max(*neighbour));
    for _ in 0..HALVINGS {
        let middle = if low > 0.0 {
            (low * high).sqrt()
        } else {
            f64::midpoint(low, high)
        };
        if middle <= low || middle >= high {
            break;
        }
        if Fit::at(design, middle)?.slope > 0.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    Ok(f64::midpoint(low, high))
}

/// The columns of the fixed part: markers, then covariates without the intercept that the markers span.
fn columns(pair: &Pair, markers: usize) -> impl Iterator<Item = (usize, f64)> {
    let covariates = pair.fixed.iter().skip(1).enumerate();
    pair.by_marker
        .iter()
        .copied()
        .chain(covariates.map(move |(k, x)| (markers + k, *x)))
}

/// The sum over pairs of x x′ times a factor, x the pair's sums over the fixed columns.
fn over_pairs(design: &Design, size: usize, factor: impl Fn(&Pair) -> f64) -> DMatrix<f64> {
    let mut sum = DMatrix::zeros(size, size);
    for pair in &design.pairs {
        let factor = factor(pair);
        for (i, a) in columns(pair, design.markers) {
            for (j, b) in columns(pair, design.markers) {
                sum[(i, j)] += factor * a * b;
            }
        }
    }
    sum
}

/// The model at one ratio of variances.
struct Fit {
    ratio: f64,
    /// −2 log restricted likelihood up to a constant, error variance profiled out.
    criterion: f64,
    /// Its derivative by the ratio.
    slope: f64,
    residual_variance: f64,
    solution: DVector<f64>,
    /// Inverse of the equations of the fixed part, pairs eliminated.
    inverse: DMatrix<f64>,
    /// Products of the fixed columns with each other.
    products: DMatrix<f64>,
}

impl Fit {
    fn at(design: &Design, ratio: f64) -> Result<Self, Undefined> {
        let (products, mut right) = equations(design);
        let size = right.len();
        let divisor = |pair: &Pair| ratio * pair.marks + 1.0;
        let left = &products - over_pairs(design, size, |pair| ratio / divisor(pair));
        let mut squares = design.squares;
        let mut log_pairs = 0.0;
        for pair in &design.pairs {
            let weight = ratio / divisor(pair);
            for (i, x) in columns(pair, design.markers) {
                right[i] -= weight * x * pair.sum;
            }
            squares -= weight * pair.sum * pair.sum;
            log_pairs += divisor(pair).ln();
        }
        let factor: Cholesky<f64, Dyn> =
            well_determined(left, design.marks as f64).ok_or(Undefined::NoSpread)?;
        let solution = factor.solve(&right);
        let freedom = (design.marks - size) as f64;
        let squared_error = squares - solution.dot(&right);
        if squared_error <= 1e-13 * design.squares {
            return Err(Undefined::NoSpread);
        }
        let residual_variance = squared_error / freedom;
        let log_factor = log_determinant(&factor);
        let inverse = factor.inverse();
        let slope = design
            .pairs
            .iter()
            .map(|pair| {
                let x: Vec<(usize, f64)> = columns(pair, design.markers).collect();
                let fitted: f64 = x.iter().map(|&(i, a)| a * solution[i]).sum();
                let quadratic: f64 = x
                    .iter()
                    .flat_map(|&(i, a)| x.iter().map(move |&(j, b)| (i, j, a * b)))
                    .map(|(i, j, product)| product * inverse[(i, j)])
                    .sum();
                let divisor = divisor(pair);
                let residual = (pair.sum - fitted) / divisor;
                pair.marks / divisor
                    - quadratic / (divisor * divisor)
                    - residual * residual / residual_variance
            })
            .sum();
        Ok(Self {
            ratio,
            criterion: log_pairs + log_factor + freedom * residual_variance.ln(),
            slope,
            residual_variance,
            solution,
            inverse,
            products,
        })
    }

    /// Each marker less the mean of all, in marks.
    fn contrasts(&self, design: &Design) -> Result<Vec<Contrast>, Undefined> {
        let small = self.small_sample(design)?;
        let k = design.markers as f64;
        let size = self.solution.len();
        (0..design.markers)
            .map(|marker| {
                let contrast = DVector::from_fn(size, |i, _| {
                    if i < design.markers {
                        f64::from(u8::from(i == marker)) - 1.0 / k
                    } else {
                        0.0
                    }
                });
                let of = |matrix: &DMatrix<f64>| (matrix * &contrast).dot(&contrast);
                let variance = of(&small.covariance);
                let gradient = nalgebra::Vector2::new(of(&small.slopes[0]), of(&small.slopes[1]));
                let spread = (small.of_components * gradient).dot(&gradient);
                Ok(Contrast {
                    value: finite_result(design.scale * contrast.dot(&self.solution))?,
                    standard_error: finite_result(
                        design.scale * of(&small.widened).max(variance).sqrt(),
                    )?,
                    degrees: finite_result(2.0 * variance * variance / spread)?,
                })
            })
            .collect()
    }

    /// The quantities of Kenward & Roger 1997, section 3: V is linear in both components, so that their R vanishes. V of a pair of n marks
    /// has the eigenvalue σ²d = σ²(1 + n·ratio) along the 1s and σ² across them.
    fn small_sample(&self, design: &Design) -> Result<SmallSample, Undefined> {
        let size = self.solution.len();
        let s = self.residual_variance;
        let d = |pair: &Pair| self.ratio * pair.marks + 1.0;
        let along = |factor: &dyn Fn(&Pair) -> f64| over_pairs(design, size, factor);
        let of_error =
            |power: i32| &self.products - along(&|pair| (1.0 - d(pair).powi(-power)) / pair.marks);
        let covariance = &self.inverse * s;
        // First derivatives of the information: by the pairs' component, and by that of errors.
        let p = [
            along(&|pair| d(pair).powi(-2)) / -(s * s),
            of_error(2) / -(s * s),
        ];
        let cubed = s * s * s;
        let mixed = along(&|pair| d(pair).powi(-3)) / cubed;
        let q = [
            [
                along(&|pair| pair.marks * d(pair).powi(-3)) / cubed,
                mixed.clone(),
            ],
            [mixed, of_error(3) / cubed],
        ];
        let trace = |f: &dyn Fn(&Pair) -> f64| design.pairs.iter().map(f).sum::<f64>() / (s * s);
        let crossed = trace(&|pair| pair.marks * d(pair).powi(-2));
        let traces = [
            [trace(&|pair| (pair.marks / d(pair)).powi(2)), crossed],
            [crossed, trace(&|pair| pair.marks - 1.0 + d(pair).powi(-2))],
        ];
        let information = Matrix2::from_fn(|i, j| {
            0.5 * (traces[i][j] - 2.0 * (&covariance * &q[i][j]).trace()
                + (&covariance * &p[i] * &covariance * &p[j]).trace())
        });
        let of_components = information.try_inverse().ok_or(Undefined::NoSpread)?;
        let mut bias = DMatrix::zeros(size, size);
        for i in 0..2 {
            for j in 0..2 {
                bias += (&q[i][j] - &p[i] * &covariance * &p[j]) * of_components[(i, j)];
            }
        }
        let widened = &covariance + (&covariance * bias * &covariance) * 2.0;
        let slopes = p.map(|p| &covariance * p * &covariance);
        Ok(SmallSample {
            covariance,
            widened,
            slopes,
            of_components,
        })
    }
}

struct SmallSample {
    /// Covariance of the fixed part with the components taken for known.
    covariance: DMatrix<f64>,
    /// The same with what estimating them adds.
    widened: DMatrix<f64>,
    /// How the covariance changes with each component, up to sign.
    slopes: [DMatrix<f64>; 2],
    /// Covariance of the components.
    of_components: Matrix2<f64>,
}

/// Products of the fixed columns with each other, and with the marks; pairs not yet eliminated.
fn equations(design: &Design) -> (DMatrix<f64>, DVector<f64>) {
    let markers = design.markers;
    let covariates = design.fixed() - 1;
    let mut left = DMatrix::zeros(markers + covariates, markers + covariates);
    for (marker, (marks, sums)) in design
        .marker_marks
        .iter()
        .zip(&design.marker_fixed)
        .enumerate()
    {
        left[(marker, marker)] = *marks;
        for (k, sum) in sums.iter().skip(1).enumerate() {
            left[(marker, markers + k)] = *sum;
            left[(markers + k, marker)] = *sum;
        }
    }
    for (i, products) in design.fixed_products.iter().skip(1).enumerate() {
        for (j, product) in products.iter().skip(1).enumerate() {
            left[(markers + i, markers + j)] = *product;
        }
    }
    let sums = design.marker_sums.iter();
    let right = sums.chain(design.fixed_sums.iter().skip(1)).copied();
    (left, DVector::from_iterator(markers + covariates, right))
}

#[cfg(test)]
mod tests {
    use super::super::tests::{EVIDENCE, MARKERS, MARKS, PAIRS};
    use super::*;
    use crate::stats::published::SHROUT_FLEISS;
    use crate::stats::testing::{assert_close, assert_relative};

    /// The marks of the unbalanced example. statsmodels 0.15.0, MixedLM("mark ~ C(marker, Sum) + evidence", groups = pair), REML: estimates
    /// and components to the digits at which its optimisers agree. Standard errors and degrees of freedom: Kenward & Roger's formulas on the
    /// dense 25 × 25 matrices in NumPy 2.4.6.
    #[test]
    fn unbalanced_with_cells_missing() {
        let fit = fixed_markers(&MARKS, &PAIRS, &MARKERS, &[&EVIDENCE]).unwrap();
        for (found, expected) in fit
            .markers
            .iter()
            .zip([1.833_208_19, -2.884_396_94, 1.139_663_96])
        {
            assert_close(found.value, expected, 1e-7);
        }
        assert_relative(fit.pair_variance, 29.249_172_6, 1e-7);
        assert_relative(fit.residual_variance, 2.697_674_40, 1e-7);
        for (found, (value, error, degrees)) in fit.markers.iter().zip([
            (
                1.833_208_188_543_668_2,
                0.924_314_104_053_060_8,
                8.451_326_250_116_828,
            ),
            (
                -2.884_396_938_832_492_4,
                0.984_957_085_176_827_8,
                9.459_670_591_553_781,
            ),
            (
                1.139_663_960_834_352_6,
                0.653_578_604_462_489,
                8.539_821_123_060_186,
            ),
            (
                -0.088_475_210_545_527_1,
                0.652_186_154_923_488_4,
                8.742_318_043_868_23,
            ),
        ]) {
            assert_relative(found.value, value, 1e-9);
            assert_relative(found.standard_error, error, 1e-8);
            assert_relative(found.degrees, degrees, 1e-8);
        }
        let sum: f64 = fit.markers.iter().map(|marker| marker.value).sum();
        assert_close(sum, 0.0, 1e-12);
    }

    /// Balanced, everything is exact: deviations of the judges' means, √(MSE(1 − 1/k)/n) with (n − 1)(k − 1) degrees of freedom
    /// (Shrout & Fleiss 1979, Psychological Bulletin 86:420–428, MSE 1.02).
    #[test]
    fn balanced_it_is_the_analysis_of_variance() {
        let marks: Vec<f64> = SHROUT_FLEISS.iter().flatten().copied().collect();
        let pairs: Vec<usize> = (0..24).map(|i| i / 4).collect();
        let markers: Vec<usize> = (0..24).map(|i| i % 4).collect();
        let fit = fixed_markers(&marks, &pairs, &markers, &[]).unwrap();
        let deviations = [2.375, -2.791_666_667, -0.958_333_333_3, 1.375];
        for (found, deviation) in fit.markers.iter().zip(deviations) {
            assert_close(found.value, deviation, 1e-8);
            assert_relative(
                found.standard_error,
                (1.019_444_444_444_f64 * 0.75 / 6.0).sqrt(),
                1e-8,
            );
            assert_relative(found.degrees, 15.0, 1e-8);
        }
    }

    #[test]
    fn markers_who_share_no_pair_are_not_compared() {
        let marks = [10.0, 12.0, 15.0, 14.0, 20.0, 22.0, 18.0, 17.0];
        let pairs = [0, 0, 1, 1, 2, 2, 3, 3];
        let apart = fixed_markers(&marks, &pairs, &[0, 1, 0, 1, 2, 3, 2, 3], &[]);
        assert_eq!(apart, Err(Undefined::NotLinked));
        let groups = linked_groups(&pairs, &[0, 1, 0, 1, 2, 3, 2, 3]);
        assert!(groups[0] == groups[1] && groups[2] == groups[3] && groups[1] != groups[2]);
        assert!(fixed_markers(&marks, &pairs, &[0, 1, 1, 2, 2, 3, 0, 3], &[]).is_ok());
        // One marker alone is beside nobody, and marks that leave no error tell nothing.
        assert!(fixed_markers(&marks, &pairs, &[0; 8], &[]).is_err());
        assert!(fixed_markers(&[1.0, 2.0, 5.0, 6.0], &[0, 0, 1, 1], &[0, 1, 0, 1], &[]).is_err());
    }
}
