//! How much of the spread of marks is the pairs', how much the markers', and how severe each marker is: restricted maximum likelihood (REML).
//!
//! mark = intercept + covariates + pair (random) + marker (random) + error, pairs and markers crossed in any unbalanced design, cells missing.
//! Source: Patterson & Thompson 1971, Biometrika 58:545–554; predictions and their errors from Henderson's equations, Henderson 1975,
//! Biometrics 31:423–447; the criterion in the form of Bates et al. 2015, Journal of Statistical Software 67(1).
//!
//! A pair's equations involve only its own marks, so that pairs are eliminated one by one onto the markers: the cost grows with the number of
//! marks, and only a matrix of markers by markers is ever factored.

mod design;
mod equations;
mod fixed_markers;

use super::distribution::NORMAL_DEVIATE_95;
use super::requirements::{all_finite, at_least, finite_result, same_length};
use super::{Interval, Undefined};
use design::Design;
use equations::{Equations, Ratios};

pub use fixed_markers::{Contrast, FixedMarkers, fixed_markers, linked_groups};

/// The iteration stops where neither ratio of variances moves by more than this share of itself.
const TOLERANCE: f64 = 1e-10;
/// Newton steps after which a fit is given up.
const MOST_STEPS: usize = 200;
/// A component this many times the error variance counts as an error variance of nothing.
const LARGEST_RATIO: f64 = 1e9;

/// An estimate with its standard error, in marks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effect {
    /// The estimate or prediction.
    pub value: f64,
    /// Its standard error; of a prediction, the root of its error variance.
    pub standard_error: f64,
}

impl Effect {
    /// The 95 % interval, value ± 1.96 standard errors.
    pub fn interval(self) -> Interval {
        Interval::around(self.value, NORMAL_DEVIATE_95 * self.standard_error)
    }
}

/// The fitted model.
#[derive(Debug, Clone, PartialEq)]
pub struct VarianceComponents {
    /// How many marks.
    pub marks: usize,
    /// Variance between pairs, in squared marks; 0 where the estimate would be negative.
    pub pair_variance: f64,
    /// Variance between markers, in squared marks; 0 where the estimate would be negative, or with a single marker.
    pub marker_variance: f64,
    /// Error variance, in squared marks.
    pub residual_variance: f64,
    /// The intercept (with every covariate 0), then the slope of each covariate.
    pub fixed: Vec<Effect>,
    /// Prediction for each pair, by its number.
    pub pairs: Vec<Effect>,
    /// Prediction for each marker, by number: drawn towards 0 where few marks speak. Positive is generous.
    pub markers: Vec<Effect>,
    /// −2 log restricted likelihood.
    pub criterion: f64,
}

/// Fits the model to marks given by pair and by marker, both numbered from 0 without gaps.
///
/// # Errors
/// [`Undefined::UnequalLengths`], [`Undefined::TooFew`] with no more marks than fixed effects, or where no pair has two marks (pairs can't be told
/// from error), [`Undefined::NoSpread`] where covariates are constant or determine each other or marks leave no error,
/// [`Undefined::OutOfRange`] where a number of a pair or marker has no marks, [`Undefined::NotFinite`], [`Undefined::NotConverged`].
pub fn variance_components(
    marks: &[f64],
    pairs: &[usize],
    markers: &[usize],
    covariates: &[&[f64]],
) -> Result<VarianceComponents, Undefined> {
    same_length(marks.len(), pairs.len())?;
    same_length(marks.len(), markers.len())?;
    at_least(covariates.len() + 2, marks.len())?;
    all_finite(marks)?;
    for covariate in covariates {
        same_length(marks.len(), covariate.len())?;
        all_finite(covariate)?;
    }
    let design = Design::of(marks, pairs, markers, covariates)?;
    let ratios = settle(&design)?;
    let fit = Equations::solve(&design, ratios)?;
    let residual_variance = fit.residual_variance;
    let spread = design.scale * design.scale;
    finite_result(residual_variance * spread)?;
    Ok(VarianceComponents {
        marks: marks.len(),
        pair_variance: finite_result(ratios.pair * residual_variance * spread)?,
        marker_variance: finite_result(ratios.marker * residual_variance * spread)?,
        residual_variance: residual_variance * spread,
        fixed: fit.fixed_effects(&design),
        pairs: fit.pair_effects(&design),
        markers: fit.marker_effects(&design),
        criterion: fit.criterion + design.scale_term(),
    })
}

/// Newton's method on the ratios of the components to the error variance, which stay at 0 where the likelihood falls from there.
fn settle(design: &Design) -> Result<Ratios, Undefined> {
    let free = [true, design.markers > 1];
    // The best of a coarse grid is next to the highest summit.
    let coarse = [0.0, 0.1, 1.0, 10.0];
    let mut here: Option<Equations> = None;
    for pair in coarse {
        for marker in coarse
            .into_iter()
            .take(if free[1] { coarse.len() } else { 1 })
        {
            let there = Equations::solve(design, Ratios { pair, marker })?;
            if here
                .as_ref()
                .is_none_or(|here| there.criterion < here.criterion)
            {
                here = Some(there);
            }
        }
    }
    let mut here = here.ok_or(Undefined::NotConverged)?;
    for _ in 0..MOST_STEPS {
        let step = newton_step(design, &here, free)?;
        let mut length = 1.0;
        let mut moved = None;
        for _ in 0..60 {
            let ratios = here.ratios.moved(step, length);
            let there = Equations::solve(design, ratios)?;
            // Within rounding of the criterion a smaller slope is the better sign.
            let rounding = 1e-11 * (1.0 + here.criterion.abs());
            if there.criterion < here.criterion - rounding
                || (there.criterion <= here.criterion + rounding
                    && there.slope_size(free) <= here.slope_size(free))
            {
                moved = Some(there);
                break;
            }
            length /= 2.0;
        }
        let Some(there) = moved else {
            return Ok(here.ratios);
        };
        let change = here.ratios.distance(there.ratios);
        here = there;
        if here.ratios.pair > LARGEST_RATIO || here.ratios.marker > LARGEST_RATIO {
            return Err(Undefined::NoSpread);
        }
        if change <= TOLERANCE {
            return Ok(here.ratios);
        }
    }
    Err(Undefined::NotConverged)
}

/// The step to where the slopes would vanish, curvature taken from the slopes at two neighbouring places; downhill where that fails.
fn newton_step(design: &Design, here: &Equations, free: [bool; 2]) -> Result<[f64; 2], Undefined> {
    let at = [here.ratios.pair, here.ratios.marker];
    let slope = here.slopes;
    // At the edge and pushed against it: stays there.
    let active: Vec<usize> = (0..2)
        .filter(|&k| free[k] && (at[k] > 0.0 || slope[k] < 0.0))
        .collect();
    let mut curvature = [[0.0; 2]; 2];
    for &k in &active {
        let nudge = 1e-5 * at[k].max(1e-3);
        let mut step = [0.0; 2];
        step[k] = nudge;
        let above = Equations::solve(design, here.ratios.moved(step, 1.0))?.slopes;
        let below = if at[k] > nudge {
            Equations::solve(design, here.ratios.moved(step, -1.0))?.slopes
        } else {
            slope
        };
        let width = if at[k] > nudge { 2.0 * nudge } else { nudge };
        for &j in &active {
            curvature[j][k] = (above[j] - below[j]) / width;
        }
    }
    let mut step = [0.0; 2];
    match active.as_slice() {
        [] => {}
        &[k] => step[k] = safe_step(at[k], slope[k], curvature[k][k]),
        _ => {
            let cross = f64::midpoint(curvature[0][1], curvature[1][0]);
            let determinant = curvature[0][0] * curvature[1][1] - cross * cross;
            if curvature[0][0] > 0.0 && determinant > 0.0 {
                step[0] = -(curvature[1][1] * slope[0] - cross * slope[1]) / determinant;
                step[1] = -(curvature[0][0] * slope[1] - cross * slope[0]) / determinant;
            } else {
                for k in 0..2 {
                    step[k] = safe_step(at[k], slope[k], curvature[k][k]);
                }
            }
        }
    }
    Ok(step)
}

/// A step along one ratio: Newton's where the criterion is convex, else some way downhill.
fn safe_step(at: f64, slope: f64, curvature: f64) -> f64 {
    if curvature > 0.0 {
        -slope / curvature
    } else {
        -slope.signum() * (at + 0.01)
    }
}

/// The unbalanced example of the tests, for the table of procedures.
#[cfg(test)]
pub(super) fn unbalanced_example() -> Result<VarianceComponents, Undefined> {
    variance_components(
        &tests::MARKS,
        &tests::PAIRS,
        &tests::MARKERS,
        &[&tests::EVIDENCE],
    )
}

/// The same marks with markers fixed.
#[cfg(test)]
pub(super) fn severity_example() -> Result<FixedMarkers, Undefined> {
    fixed_markers(
        &tests::MARKS,
        &tests::PAIRS,
        &tests::MARKERS,
        &[&tests::EVIDENCE],
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::published::{
        DYESTUFF, DYESTUFF2, MACHINES, PENICILLIN, SHROUT_FLEISS, SLEEPSTUDY, WINE_BITTERNESS,
    };
    use crate::stats::testing::{assert_close, assert_relative};
    use proptest::prelude::*;

    /// A full table of rows by columns: marks, row numbers, column numbers.
    fn table<const K: usize>(rows: &[[f64; K]]) -> (Vec<f64>, Vec<usize>, Vec<usize>) {
        let marks = rows.iter().flatten().copied().collect();
        let pairs = (0..rows.len() * K).map(|i| i / K).collect();
        let markers = (0..rows.len() * K).map(|i| i % K).collect();
        (marks, pairs, markers)
    }

    /// Rows as pairs, one marker.
    fn one_way<const K: usize>(rows: &[[f64; K]]) -> VarianceComponents {
        let (marks, pairs, _) = table(rows);
        variance_components(&marks, &pairs, &vec![0; marks.len()], &[]).unwrap()
    }

    /// Balanced: REML is the analysis of variance, (11271.5 − 2451.25)/5; R 4.2.2 lme4 1.1-31 for the rest.
    #[test]
    fn six_batches_of_dyestuff() {
        let fit = one_way(&DYESTUFF);
        assert_relative(fit.pair_variance, 1764.05, 1e-9);
        assert_relative(fit.residual_variance, 2451.25, 1e-9);
        assert_relative(fit.fixed[0].value, 1527.5, 1e-12);
        assert_relative(fit.fixed[0].standard_error, 19.383_412_18, 5e-9);
        assert_relative(fit.criterion, 319.654_276_8, 1e-9);
        let predictions = [
            -17.606_851_35,
            0.391_263_363_4,
            28.562_225_52,
            -23.084_538_44,
            56.733_187_69,
            -44.995_286_79,
        ];
        for (found, expected) in fit.pairs.iter().zip(predictions) {
            assert_relative(found.value, expected, 1e-8);
        }
        assert_eq!((fit.marker_variance, fit.markers[0].value), (0.0, 0.0));
    }

    /// The analysis of variance gives −1.32: REML gives 0, and the error variance is that of all yields; R 4.2.2 lme4 1.1-31.
    #[test]
    fn a_negative_component_is_zero() {
        let fit = one_way(&DYESTUFF2);
        assert_eq!(fit.pair_variance, 0.0);
        assert_relative(fit.residual_variance, 13.806_309_63, 1e-8);
        assert_relative(fit.criterion, 161.828_277_8, 1e-9);
        assert!(fit.pairs.iter().all(|pair| pair.value == 0.0));
    }

    /// Balanced: the closed form (lme4's own optimiser is off in the fifth digit). Errors by Henderson's equations.
    #[test]
    fn plates_by_samples_of_penicillin() {
        let (marks, pairs, markers) = table(&PENICILLIN);
        let fit = variance_components(&marks, &pairs, &markers, &[]).unwrap();
        assert_relative(fit.pair_variance, 0.716_908_212_560_386, 1e-8);
        assert_relative(fit.marker_variance, 3.730_917_874_396_139_3, 1e-8);
        assert_relative(fit.residual_variance, 0.302_415_458_937_198_07, 1e-9);
        assert_relative(fit.fixed[0].value, 22.972_222_222_222_22, 1e-12);
        // lme4 prints 0.808595 from its own components; this is √(sample/6 + plate/24 + residual/144).
        assert_relative(fit.fixed[0].standard_error, 0.808_573_390_987, 1e-9);
        assert_relative(fit.criterion, 330.860_589, 1e-8);
        for (found, expected) in fit.markers.iter().zip([
            2.187_057_967_4,
            -1.010_476_149_5,
            1.937_899_464_8,
            -0.096_894_973_2,
            -0.013_842_139,
            -3.003_744_170_5,
        ]) {
            assert_close(found.value, expected, 1e-8);
        }
        for (found, expected) in fit.pairs.iter().zip([
            0.804_547_044_4,
            0.804_547_044_4,
            0.181_671_913_3,
            0.337_390_696,
            0.025_953_130_5,
            -0.441_203_217_9,
            -1.375_515_914_7,
            0.804_547_044_4,
            -0.752_640_783_5,
            -0.752_640_783_5,
            0.960_265_827_2,
            0.493_109_478_8,
            1.427_422_175_6,
            0.493_109_478_8,
            0.960_265_827_2,
            0.025_953_130_5,
            -0.285_484_435_1,
            -0.285_484_435_1,
            -1.375_515_914_7,
            0.960_265_827_2,
            -0.908_359_566_3,
            -0.285_484_435_1,
            -0.596_922_000_7,
            -1.219_797_131_9,
        ]) {
            assert_close(found.value, expected, 1e-8);
        }
    }

    /// Shrout & Fleiss 1979 as marker severity, and Randall 1989: closed form, agreeing with lme4 1.1-31.
    #[test]
    fn severity_of_judges() {
        let (marks, pairs, markers) = table(&SHROUT_FLEISS);
        let fit = variance_components(&marks, &pairs, &markers, &[]).unwrap();
        assert_relative(fit.marker_variance, 5.244_444_444, 1e-8);
        assert_relative(fit.pair_variance, 2.555_555_556, 1e-8);
        assert_relative(fit.residual_variance, 1.019_444_444, 1e-8);
        let predictions = [2.300_470_29, -2.704_061_56, -0.928_259_94, 1.331_851_22];
        for (found, prediction) in fit.markers.iter().zip(predictions) {
            assert_close(found.value, prediction, 1e-7);
        }
        let (marks, pairs, markers) = table(&WINE_BITTERNESS);
        let fit = variance_components(&marks, &pairs, &markers, &[]).unwrap();
        assert_relative(fit.marker_variance, 72.539_186_51, 1e-8);
        assert_relative(fit.pair_variance, 190.911_706_3, 1e-8);
        assert_relative(fit.markers[0].value, 12.786_873_59, 1e-7);
    }

    /// R 4.2.2 lme4 1.1-31: Reaction ~ Days + (1 | Subject).
    #[test]
    fn a_covariate() {
        let (marks, pairs, _) = table(&SLEEPSTUDY);
        let days: Vec<f64> = (0..marks.len()).map(|i| (i % 10) as f64).collect();
        let fit = variance_components(&marks, &pairs, &vec![0; marks.len()], &[&days]).unwrap();
        assert_relative(fit.pair_variance, 1_378.178_514, 1e-7);
        assert_relative(fit.residual_variance, 960.456_578_6, 1e-7);
        assert_relative(fit.fixed[0].value, 251.405_104_8, 1e-9);
        assert_relative(fit.fixed[1].value, 10.467_285_96, 1e-9);
        assert_relative(fit.fixed[0].standard_error, 9.746_716_269, 1e-7);
        assert_relative(fit.fixed[1].standard_error, 0.804_221_428_9, 1e-7);
    }

    /// R 4.2.2 lme4 1.1-31: score ~ Machine + (1 | Worker) + (1 | Worker:Machine).
    #[test]
    fn nested_factors_and_two_covariates() {
        let (marks, pairs, _) = table(&MACHINES);
        let workers: Vec<usize> = pairs.iter().map(|cell| cell / 3).collect();
        let on = |machine: usize| -> Vec<f64> {
            pairs
                .iter()
                .map(|cell| f64::from(u8::from(cell % 3 == machine)))
                .collect()
        };
        let fit = variance_components(&marks, &pairs, &workers, &[&on(1), &on(2)]).unwrap();
        assert_relative(fit.marker_variance, 22.858_444_7, 1e-6);
        assert_relative(fit.pair_variance, 13.909_456_86, 1e-6);
        assert_relative(fit.residual_variance, 0.924_629_627, 1e-7);
        assert_relative(fit.criterion, 215.687_568, 1e-8);
        for (found, (value, error)) in fit.fixed.iter().zip([
            (52.355_555_56, 2.485_830_225),
            (7.966_666_667, 2.176_975_481),
            (13.916_666_67, 2.176_975_481),
        ]) {
            assert_relative(found.value, value, 1e-8);
            assert_relative(found.standard_error, error, 1e-6);
        }
    }

    pub(super) const MARKS: [f64; 25] = [
        22.5, 26.0, 22.0, 26.0, 30.0, 28.0, 22.5, 42.0, 24.5, 26.5, 16.5, 21.5, 30.5, 37.0, 39.0,
        41.5, 26.0, 28.0, 26.0, 18.0, 16.0, 23.5, 22.5, 25.0, 40.0,
    ];
    pub(super) const PAIRS: [usize; 25] = [
        0, 1, 1, 2, 2, 2, 3, 4, 5, 6, 7, 7, 8, 9, 9, 9, 10, 10, 10, 11, 11, 12, 12, 12, 13,
    ];
    pub(super) const MARKERS: [usize; 25] = [
        3, 2, 3, 3, 0, 2, 1, 2, 3, 1, 1, 3, 3, 1, 2, 3, 3, 2, 0, 2, 1, 2, 3, 0, 2,
    ];
    pub(super) const EVIDENCE: [f64; 25] = [
        14.0, 15.0, 15.0, 14.0, 14.0, 14.0, 5.0, 19.0, 13.0, 18.0, 9.0, 9.0, 10.0, 18.0, 18.0,
        18.0, 7.0, 7.0, 7.0, 5.0, 5.0, 10.0, 10.0, 10.0, 15.0,
    ];

    /// Unbalanced, cells missing, a covariate: the dense likelihood and Henderson's equations in NumPy 2.4.6, root of the slopes by SciPy 1.17.1.
    #[test]
    fn unbalanced_with_cells_missing() {
        let fit = variance_components(&MARKS, &PAIRS, &MARKERS, &[&EVIDENCE]).unwrap();
        assert_relative(fit.pair_variance, 29.610_895_346_864_602, 1e-8);
        assert_relative(fit.marker_variance, 2.465_392_606_006_38, 1e-8);
        assert_relative(fit.residual_variance, 2.787_477_074_681_001_4, 1e-8);
        assert_relative(fit.criterion, 137.013_320_445_863_5, 1e-10);
        let all = |effects: &[Effect], values: &[f64], errors: &[f64]| {
            for ((found, value), error) in effects.iter().zip(values).zip(errors) {
                assert_close(found.value, *value, 1e-7);
                assert_close(found.standard_error, *error, 1e-7);
            }
        };
        all(
            &fit.fixed,
            &[14.503_341_794_104_903, 1.073_161_415_728_816],
            &[4.415_149_658_602_573, 0.332_584_467_071_665_8],
        );
        all(
            &fit.markers,
            &[
                1.095_521_940_924_683_7,
                -1.868_057_870_263_825_7,
                0.899_377_582_622_626_9,
                -0.126_841_653_283_335_63,
            ],
            &[
                1.092_287_642_823_698,
                1.109_468_068_939_284_4,
                0.981_392_818_158_746_1,
                0.979_617_016_489_915_4,
            ],
        );
        all(
            &fit.pairs,
            &[
                -6.307_035_376_994_975,
                -6.672_945_868_100_214,
                -2.084_866_629_814_826,
            ],
            &[
                2.216_152_051_730_585_3,
                2.044_442_153_700_164_7,
                1.852_387_120_937_365_2,
            ],
        );
    }

    #[test]
    fn undefined_without_second_marks_or_spread() {
        let marks = [1.0, 2.0, 3.0, 4.0];
        let fit = |marks: &[f64], pairs: &[usize], markers: &[usize]| {
            variance_components(marks, pairs, markers, &[])
        };
        assert!(matches!(
            fit(&marks, &[0, 1, 2, 3], &[0, 1, 0, 1]),
            Err(Undefined::TooFew { .. })
        ));
        assert_eq!(
            fit(&[2.0; 4], &[0, 0, 1, 1], &[0, 1, 0, 1]),
            Err(Undefined::NoSpread)
        );
        assert_eq!(
            fit(&marks, &[0, 0, 5, 1], &[0, 1, 0, 1]),
            Err(Undefined::OutOfRange)
        );
        assert_eq!(
            variance_components(
                &marks,
                &[0, 0, 1, 1],
                &[0, 1, 0, 1],
                &[&[1.0, 2.0, 3.0, 4.0], &[2.0, 4.0, 6.0, 8.0]]
            ),
            Err(Undefined::NoSpread)
        );
        // Pairs and markers explain every mark.
        assert!(fit(&[1.0, 2.0, 5.0, 6.0], &[0, 0, 1, 1], &[0, 1, 0, 1]).is_err());
    }

    /// Markers who share no pair have predictions all the same.
    #[test]
    fn markers_without_a_link() {
        let marks = [10.0, 12.0, 15.0, 14.0, 20.0, 22.0, 18.0, 17.0];
        let fit = variance_components(
            &marks,
            &[0, 0, 1, 1, 2, 2, 3, 3],
            &[0, 1, 0, 1, 2, 3, 2, 3],
            &[],
        )
        .unwrap();
        assert!(fit.markers.iter().all(|marker| marker.value.is_finite()));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(32))]

        #[test]
        fn finite_and_moves_with_the_marks(
            cells in prop::collection::vec((0..6_usize, 0..4_usize, 0..20_i32), 8..40), shift in -30..30_i32,
        ) {
            // Every number used at least once.
            let pairs: Vec<usize> = (0..6).chain(cells.iter().map(|c| c.0)).collect();
            let markers: Vec<usize> = [0, 1, 2, 3, 0, 1].into_iter().chain(cells.iter().map(|c| c.1)).collect();
            let marks: Vec<f64> = [3, 9, 4, 8, 5, 1].into_iter().chain(cells.iter().map(|c| c.2)).map(f64::from).collect();
            let Ok(fit) = variance_components(&marks, &pairs, &markers, &[]) else { return Ok(()) };
            prop_assert!(fit.pair_variance >= 0.0 && fit.marker_variance >= 0.0 && fit.residual_variance > 0.0);
            for effect in fit.pairs.iter().chain(&fit.markers).chain(&fit.fixed) {
                prop_assert!(effect.value.is_finite() && effect.standard_error.is_finite());
            }
            let moved: Vec<f64> = marks.iter().map(|mark| 2.0 * mark + f64::from(shift)).collect();
            let other = variance_components(&moved, &pairs, &markers, &[]).unwrap();
            assert_close(4.0 * fit.pair_variance, other.pair_variance, 1e-5 * (1.0 + other.pair_variance));
            assert_close(4.0 * fit.residual_variance, other.residual_variance, 1e-6 * other.residual_variance);
        }
    }
}
