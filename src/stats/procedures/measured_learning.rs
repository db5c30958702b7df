//! Measures the digits of the procedures of learning and of agreement; values and their places are those of the tests beside each.

use super::measured::worst;
use crate::stats::Undefined;
use crate::stats::agreement::cohen::{Weights, cohen_kappa};
use crate::stats::agreement::fleiss::fleiss_kappa;
use crate::stats::agreement::gwet::gwet_ac1;
use crate::stats::agreement::krippendorff::{Level, krippendorff_alpha};
use crate::stats::change_point::{level_break, pettitt};
use crate::stats::concordance::concordance;
use crate::stats::correlation::{partial, pearson, spearman};
use crate::stats::curve_shape::{Shape, curve_shapes};
use crate::stats::icc::intraclass_correlations;
use crate::stats::isotonic::{Monotone, monotone_fit};
use crate::stats::limits_of_agreement::limits_of_agreement;
use crate::stats::nonlinear::{ByValue, least_squares};
use crate::stats::published::{
    CHWIRUT2_X, CHWIRUT2_Y, DAN_WOOD_X, DAN_WOOD_Y, DYESTUFF, FLEISS_1971, KRIPPENDORFF_C,
    MISRA1_X, MISRA1_Y, NILE, PEAK_FLOW_MINI, PEAK_FLOW_WRIGHT, PENICILLIN, SHROUT_FLEISS,
    things_of_observers,
};
use crate::stats::robust::RobustCentre;
use crate::stats::trend::{kendall_tau_b, mann_kendall};
use crate::stats::variance_components::{
    severity_example, unbalanced_example, variance_components,
};
use crate::stats::whole_number::{AtDecimals, Divisor, Rounding, SteppedScale};

/// All digits where the answer is the published one, none otherwise.
fn right(answers: &[bool]) -> f64 {
    if answers.iter().all(|&answer| answer) {
        16.0
    } else {
        0.0
    }
}

#[expect(clippy::too_many_lines, reason = "a list")]
pub(super) fn measurements() -> Result<Vec<(&'static str, f64)>, Undefined> {
    let exact = mann_kendall(&[1.0, 2.0, 3.0, 5.0, 4.0, 7.0, 6.0, 8.0, 10.0, 9.0])?;
    let tied = mann_kendall(&[
        12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7,
    ])?;
    let nile = pettitt(&NILE)?;
    let broken = level_break(&NILE)?;
    let mut certified = Vec::new();
    let mut fit = |x: &[f64],
                   y: &[f64],
                   curve: &ByValue,
                   starts: [&[f64]; 2],
                   parameters: &[f64],
                   error: f64| {
        for start in starts {
            let fit = least_squares(x, y, curve, &[start.to_vec()])?;
            certified.extend(
                fit.parameters
                    .iter()
                    .copied()
                    .zip(parameters.iter().copied()),
            );
            certified.push((fit.squared_error, error));
        }
        Ok::<(), Undefined>(())
    };
    let approach = ByValue(2, |x, b| b[0] * (1.0 - (-b[1] * x).exp()));
    fit(
        &MISRA1_X,
        &MISRA1_Y,
        &approach,
        [&[500.0, 1e-4], &[250.0, 5e-4]],
        &[2.389_421_291_8e2, 5.501_564_318_1e-4],
        1.245_513_889_4e-1,
    )?;
    fit(
        &MISRA1_X,
        &MISRA1_Y,
        &ByValue(2, |x, b| b[0] * (1.0 - (1.0 + b[1] * x / 2.0).powi(-2))),
        [&[500.0, 1e-4], &[300.0, 2e-4]],
        &[3.379_974_616_3e2, 3.903_909_128_7e-4],
        7.546_468_153_3e-2,
    )?;
    fit(
        &DAN_WOOD_X,
        &DAN_WOOD_Y,
        &ByValue(2, |x, b| b[0] * x.powf(b[1])),
        [&[1.0, 5.0], &[0.7, 4.0]],
        &[7.688_622_617_6e-1, 3.860_405_587_1],
        4.317_308_408_3e-3,
    )?;
    fit(
        &[1.0, 2.0, 3.0, 5.0, 7.0, 10.0],
        &[109.0, 149.0, 149.0, 191.0, 213.0, 224.0],
        &approach,
        [&[1.0, 1.0], &[100.0, 0.75]],
        &[2.138_094_088_9e2, 5.472_374_854_2e-1],
        1.168_008_876_6e3,
    )?;
    fit(
        &[
            4.0, 2.0, 1.0, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625,
        ],
        &[
            0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246,
        ],
        &ByValue(4, |x, b| {
            b[0] * (x * x + x * b[1]) / (x * x + x * b[2] + b[3])
        }),
        [&[25.0, 39.0, 41.5, 39.0], &[0.25, 0.39, 0.415, 0.39]],
        &[
            1.928_069_345_8e-1,
            1.912_823_287_3e-1,
            1.230_565_069_3e-1,
            1.360_623_306_8e-1,
        ],
        3.075_056_038_5e-4,
    )?;
    fit(
        &CHWIRUT2_X,
        &CHWIRUT2_Y,
        &ByValue(3, |x, b| (-b[0] * x).exp() / (b[1] + b[2] * x)),
        [&[0.1, 0.01, 0.02], &[0.15, 0.008, 0.010]],
        &[1.665_766_653_7e-1, 5.165_329_128_6e-3, 1.215_000_709_6e-2],
        5.130_480_294_1e2,
    )?;
    let shapes = curve_shapes(&[1.2, 1.9, 2.1, 2.6, 2.5, 2.9, 3.0, 3.3, 3.1, 3.2, 3.4, 3.35])?;
    let error_of = |shape: Shape| {
        shapes
            .fits
            .iter()
            .find(|fit| fit.shape == shape)
            .map_or(f64::NAN, |fit| fit.squared_error)
    };
    let rising = monotone_fit(
        &[1.0, 3.0, 2.0, 4.0, 3.5, 3.0, 6.0, 5.0],
        &[10.0, 10.0, 5.0, 8.0, 10.0, 10.0, 1.0, 9.0],
        Monotone::Rising,
    )?;
    let winnipeg: [[usize; 4]; 4] = [[38, 5, 0, 1], [33, 11, 3, 0], [10, 14, 5, 6], [3, 7, 3, 10]];
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for (row, counts) in winnipeg.iter().enumerate() {
        for (column, &count) in counts.iter().enumerate() {
            first.extend(std::iter::repeat_n(row as f64, count));
            second.extend(std::iter::repeat_n(column as f64, count));
        }
    }
    let kappa = |weights| cohen_kappa(&first, &second, weights);
    let (plain, linear, quadratic) = (
        kappa(Weights::Plain)?,
        kappa(Weights::Linear)?,
        kappa(Weights::Quadratic)?,
    );
    let patients: Vec<Vec<Option<f64>>> = FLEISS_1971
        .iter()
        .map(|row| {
            (0_u8..)
                .zip(row)
                .flat_map(|(k, &count)| std::iter::repeat_n(Some(f64::from(k)), count))
                .collect()
        })
        .collect();
    let fleiss = fleiss_kappa(&patients)?;
    let observers = things_of_observers(&KRIPPENDORFF_C);
    let ac1 = gwet_ac1(&observers)?;
    let alpha = |level| krippendorff_alpha(&observers, level).map(|found| found.alpha);
    let judges: Vec<Vec<f64>> = SHROUT_FLEISS.iter().map(|row| row.to_vec()).collect();
    let icc = intraclass_correlations(&judges)?;
    let limits = limits_of_agreement(&PEAK_FLOW_WRIGHT, &PEAK_FLOW_MINI)?;
    let lin = concordance(&PEAK_FLOW_WRIGHT, &PEAK_FLOW_MINI)?;
    let lin_interval = lin.interval.ok_or(Undefined::NoSpread)?;
    let lsat = [
        576.0, 635.0, 558.0, 578.0, 666.0, 580.0, 555.0, 661.0, 651.0, 605.0, 653.0, 575.0, 545.0,
        572.0, 594.0,
    ];
    let gpa = [
        3.39, 3.3, 2.81, 3.03, 3.44, 3.07, 3.0, 3.43, 3.36, 3.13, 3.12, 2.74, 2.76, 2.88, 2.96,
    ];
    let third: Vec<f64> = (0..15).map(|i| f64::from((i * 7) % 15)).collect();
    let schools = pearson(&lsat, &gpa)?;
    let schools_interval = schools.interval.ok_or(Undefined::NoSpread)?;
    let batches: Vec<f64> = DYESTUFF.iter().flatten().copied().collect();
    let dyestuff = variance_components(
        &batches,
        &(0..30).map(|i| i / 5).collect::<Vec<_>>(),
        &[0; 30],
        &[],
    )?;
    let diameters: Vec<f64> = PENICILLIN.iter().flatten().copied().collect();
    let (plates, samples): (Vec<usize>, Vec<usize>) = (0..144).map(|i| (i / 6, i % 6)).unzip();
    let penicillin = variance_components(&diameters, &plates, &samples, &[])?;
    let unbalanced = unbalanced_example()?;
    let severe = severity_example()?.markers[1];
    let whole = SteppedScale::new(None, None, 1.0, 1)?;
    let mean =
        |value, n| whole.mean_is_possible(n, AtDecimals { value, decimals: 2 }, Rounding::Either);
    let sd = |value, sd, n| {
        let at = |value| AtDecimals { value, decimals: 2 };
        whole.sd_is_possible(
            n,
            Some(at(value)),
            at(sd),
            Divisor::NMinusOne,
            Rounding::Either,
        )
    };
    let centre = RobustCentre::of(&[40.0, 2.0, 3.0, 4.0, 3.0, 5.0])?;
    Ok(vec![
        (
            "Mann–Kendall, exact",
            worst(&[(exact.p, 0.000_115_189_594_356_261_02)]),
        ),
        (
            "Mann–Kendall, normal with ties",
            worst(&[
                (tied.z, 2.905_836_845_996_537),
                (tied.p, 0.003_662_723_762_882_436),
            ]),
        ),
        (
            "Kendall's tau-b",
            worst(&[(
                kendall_tau_b(
                    &[1.0, 2.5, 2.5, 4.5, 4.5, 6.5, 6.5, 8.0, 9.5, 9.5],
                    &[1.0, 2.0, 4.5, 4.5, 4.5, 4.5, 8.0, 8.0, 8.0, 10.0],
                )?,
                0.858_955_690_387_333_3,
            )]),
        ),
        (
            "change-point, by ranks and by least squares",
            worst(&[
                (nile.k as f64, 1617.0),
                (nile.p, 3.591_022_176_936_292_7e-7),
                (broken.before as f64, 28.0),
                (broken.squared_error, 1_597_457.194_444_444_5),
            ]),
        ),
        (
            "nonlinear least squares, from both starts",
            worst(&certified),
        ),
        (
            "candidate shapes of a practice curve",
            worst(&[
                (error_of(Shape::Flat), 5.110_625_000_000_001),
                (error_of(Shape::Line), 0.766_180_069_930_070_2),
                (error_of(Shape::Power), 0.134_932_122_793_091_58),
                (error_of(Shape::Exponential), 0.136_578_558_821_891_54),
                (error_of(Shape::Step), 1.275_555_555_555_555_6),
            ]),
        ),
        (
            "monotone fit",
            worst(&[
                (rising[1], 2.666_666_666_666_666_5),
                (rising[3], 3.464_285_714_285_714_4),
            ]),
        ),
        (
            "Cohen's kappa: plain, linear, quadratic, with standard errors",
            worst(&[
                (plain.kappa, 0.207_942_464_040_024_98),
                (plain.standard_error, 0.050_455_365_240_876_99),
                (linear.kappa, 0.379_730_547_986_678_7),
                (linear.standard_error, 0.051_666_826_218_333_96),
                (quadratic.kappa, 0.524_576_464_331_839_4),
                (quadratic.standard_error, 0.060_055_098_831_795_62),
            ]),
        ),
        (
            "Fleiss' kappa",
            worst(&[
                (fleiss.kappa, 0.430_244_520_060_140_74),
                (
                    fleiss.null_standard_error.unwrap_or(f64::NAN),
                    0.024_373_932_099_411_154,
                ),
            ]),
        ),
        (
            "Gwet's AC1",
            worst(&[
                (ac1.value, 0.775_444_068_126_995),
                (ac1.expected, 0.190_321_180_555_555_55),
            ]),
        ),
        (
            "Krippendorff's alpha: nominal, ordinal, interval, ratio",
            worst(&[
                (alpha(Level::Nominal)?, 0.743_421_052_631_579),
                (alpha(Level::Ordinal)?, 0.815_387_503_754_881_4),
                (alpha(Level::Interval)?, 0.849_107_142_857_142_8),
                (alpha(Level::Ratio)?, 0.797_402_774_711_612_1),
            ]),
        ),
        (
            "six intraclass correlations with intervals",
            worst(&[
                (icc.one_way?.value, 0.165_741_768_4),
                (icc.agreement?.value, 0.289_763_779_5),
                (icc.agreement?.interval.low, 0.018_786_513_37),
                (icc.agreement?.interval.high, 0.761_084_369_6),
                (icc.consistency?.value, 0.714_840_714_8),
                (icc.consistency?.interval.high, 0.945_858_26),
                (icc.one_way_mean?.interval.low, -0.884_442_155_24),
                (icc.agreement_mean?.interval.low, 0.071_136_815_3),
                (icc.consistency_mean?.value, 0.909_315_542_4),
            ]),
        ),
        (
            "limits of agreement with intervals",
            worst(&[
                (limits.sd, 38.765_129_873_607_38),
                (limits.limits.low, -78.095_905_467_111_73),
                (limits.mean_interval.low, -22.048_837_696_645_17),
            ]),
        ),
        (
            "Lin's concordance with interval",
            worst(&[
                (lin.value, 0.942_742_431_427),
                (lin_interval.low, 0.850_491_873_169),
                (lin_interval.high, 0.978_726_279_18),
            ]),
        ),
        (
            "Pearson, Spearman, partial correlation",
            worst(&[
                (schools.r, 0.776_374_491_289_407_3),
                (schools_interval.low, 0.438_510_824_963),
                (schools.p.unwrap_or(f64::NAN), 0.000_665_102_011_102_811_4),
                (spearman(&lsat, &gpa)?.r, 0.796_428_571_428_571_3),
                (partial(&lsat, &gpa, &[&third])?.r, 0.788_943_898_932_023_2),
            ]),
        ),
        (
            "variance components, balanced (REML)",
            worst(&[
                (dyestuff.pair_variance, 1764.05),
                (dyestuff.residual_variance, 2451.25),
                (penicillin.pair_variance, 0.716_908_212_560_386),
                (penicillin.marker_variance, 3.730_917_874_396_139_3),
                (penicillin.residual_variance, 0.302_415_458_937_198_07),
            ]),
        ),
        (
            "variance components, unbalanced with a covariate (REML)",
            worst(&[
                (unbalanced.pair_variance, 29.610_895_346_864_602),
                (unbalanced.marker_variance, 2.465_392_606_006_38),
                (unbalanced.residual_variance, 2.787_477_074_681_001_4),
                (unbalanced.fixed[1].value, 1.073_161_415_728_816),
                (unbalanced.markers[0].value, 1.095_521_940_924_683_7),
                (unbalanced.markers[0].standard_error, 1.092_287_642_823_698),
            ]),
        ),
        (
            "severity of markers (REML, Kenward & Roger's errors)",
            worst(&[
                (severe.value, -2.884_396_938_832_492_4),
                (severe.standard_error, 0.984_957_085_176_827_8),
                (severe.degrees, 9.459_670_591_553_781),
            ]),
        ),
        (
            "possible means and sds of whole numbers",
            right(&[
                !mean(5.19, 28)?,
                mean(5.18, 28)?,
                !mean(3.48, 20)?,
                mean(3.45, 20)?,
                !mean(5.93, 49)?,
                !mean(3.66, 12)?,
                !sd(3.44, 2.47, 18)?,
                sd(3.44, 2.48, 18)?,
                !sd(3.40, 1.50, 10)?,
                sd(3.40, 1.51, 10)?,
            ]),
        ),
        (
            "robust z",
            worst(&[(centre.z(40.0)?, 36.5 * 0.674_489_750_196_081_7)]),
        ),
    ])
}
