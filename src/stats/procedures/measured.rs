//! Measures, for every row of the table, how many digits agree.

use super::*;
use crate::stats::{
    Direction::{Higher, Lower},
    Undefined, autocorrelation, bootstrap, change, distribution, effect_interval, effect_size,
    error_scores, gain_interval,
    mann_whitney::mann_whitney,
    nist_sets::{LEW, LOTTERY, MAVRO, MICHELSO, NORRIS_X, NORRIS_Y},
    noncentral_t::noncentral_t_cdf,
    nonoverlap, permutation, power,
    published::{DARWIN, DRUG_1, DRUG_2, MICE_CONTROL, MICE_TREATED},
    random::Stream,
    regression, reliability, runs, single_case,
    single_case_examples::CASES,
    summary, t_test,
    wilcoxon::wilcoxon,
};

/// The digits of the worst of several values.
pub(super) fn worst(pairs: &[(f64, f64)]) -> f64 {
    pairs
        .iter()
        .map(|&(computed, expected)| digits_agreed(computed, expected))
        .fold(16.0, f64::min)
}

fn univariate(values: &[f64], certified: [f64; 3]) -> Result<f64, Undefined> {
    let [mean, sd, lag1] = certified;
    Ok(worst(&[
        (summary::mean(values)?, mean),
        (summary::sd(values)?, sd),
        (summary::lag1_autocorrelation(values)?, lag1),
    ]))
}

fn steps_about(level: f64, low: f64, high: f64) -> Vec<f64> {
    std::iter::once(level)
        .chain([low, high].into_iter().cycle().take(1_000))
        .collect()
}

/// What `PROCEDURES` states, measured. Values and their places are those of the tests beside each procedure.
#[expect(clippy::too_many_lines, reason = "a list")]
fn measurements() -> Result<Vec<(&'static str, f64)>, Undefined> {
    let stream = || Stream::new(1, "procedures");
    let shares = gain_interval::published()?;
    let lottery = univariate(
        &LOTTERY,
        [
            518.958_715_596_330,
            291.699_727_470_969,
            -0.120_948_622_967_393,
        ],
    )?;
    let lew = univariate(
        &LEW,
        [-177.435, 277.332_168_044_316, -0.307_304_800_605_679],
    )?;
    let mavro = univariate(
        &MAVRO,
        [2.001_856, 0.000_429_123_454_003_053, 0.937_989_183_438_248],
    )?;
    let michelso = univariate(
        &MICHELSO,
        [299.8524, 0.079_010_547_819_051_8, 0.535_199_668_621_283],
    )?;
    let first = univariate(
        &[10_000_001.0, 10_000_003.0, 10_000_002.0],
        [10_000_002.0, 1.0, -0.5],
    )?;
    let second = univariate(&steps_about(1.2, 1.1, 1.3), [1.2, 0.1, -0.999])?;
    let third = univariate(
        &steps_about(1_000_000.2, 1_000_000.1, 1_000_000.3),
        [1_000_000.2, 0.1, -0.999],
    )?;
    let fourth = univariate(
        &steps_about(10_000_000.2, 10_000_000.1, 10_000_000.3),
        [10_000_000.2, 0.1, -0.999],
    )?;
    let line = regression::line(&NORRIS_X, &NORRIS_Y)?;
    let precision = line.precision.ok_or(Undefined::NoSpread)?;
    let paired = t_test::paired(&DRUG_1, &DRUG_2, 0.95)?;
    let pooled = t_test::pooled(&DRUG_2, &DRUG_1, 0.95)?;
    let welch = t_test::welch(&DRUG_2, &DRUG_1, 0.95)?;
    let (tripled_1, tripled_2) = (DRUG_1.repeat(3), DRUG_2.repeat(3));
    let mixed = [DRUG_2.to_vec(), DARWIN[..10].to_vec(), DRUG_2.to_vec()].concat();
    let (film_1, film_2) = (
        [9.0, 7.0, 8.0, 9.0, 8.0, 9.0, 9.0, 10.0, 9.0, 9.0],
        [9.0, 6.0, 7.0, 8.0, 7.0, 9.0, 8.0, 8.0, 8.0, 7.0],
    );
    let reviewed = &CASES[0];
    let interval = nonoverlap::nap_interval(reviewed.earlier, reviewed.later, Higher, 0.95)?;
    let ratio = change::corrected_log_response_ratio(reviewed.earlier, reviewed.later)?;
    let times = [
        2130.0, 2250.0, 2140.0, 2300.0, 1600.0, 1280.0, 2150.0, 1890.0, 1810.0, 2430.0,
    ];
    let points =
        error_scores::radial_errors(&[3.0, -3.0, 0.0, 6.0, 4.0], &[4.0, 4.0, -5.0, 8.0, 3.0])?;
    let retest = reliability::typical_error(
        &[62.0, 78.0, 81.0, 55.0, 66.0],
        &[67.0, 76.0, 87.0, 55.0, 63.0],
        0.95,
    )?;
    let mut corrected_tau = Vec::new();
    let mut others = Vec::new();
    for case in &CASES {
        let (a, b, better) = (case.earlier, case.later, case.better);
        assert!(better == Higher || better == Lower);
        // Published to ten decimals; differences below that are none.
        let close = |computed: f64, expected: f64| (1.0 + computed, 1.0 + expected);
        let corrected = nonoverlap::baseline_corrected_tau(a, b, better)?;
        corrected_tau.push(close(corrected.corrected, case.corrected_tau));
        corrected_tau.push(close(corrected.slope, case.slope));
        others.push(close(single_case::pnd(a, b, better)?, case.pnd));
        others.push(close(single_case::pem(a, b, better)?, case.pem));
        others.push(close(single_case::pand(a, b, better)?, case.pand));
        others.push(close(
            single_case::improvement_rate_difference(a, b, better)?,
            case.ird,
        ));
        others.push(close(single_case::tau_u(a, b, better)?, case.tau_u));
    }
    Ok(vec![
        (
            "mean, sd, lag-1 autocorrelation",
            [lottery, lew, mavro, michelso, first, second, third, fourth]
                .into_iter()
                .fold(16.0, f64::min),
        ),
        (
            "least-squares line",
            worst(&[
                (line.intercept, -0.262_323_073_774_029),
                (line.slope, 1.002_116_818_020_45),
                (line.residual, 26.617_398_529_422_4),
                (precision.residual_sd, 0.884_796_396_144_373),
                (precision.intercept_error, 0.232_818_234_301_152),
                (precision.slope_error, 0.429_796_848_199_937e-3),
                (
                    precision.f.ok_or(Undefined::NoSpread)?,
                    5_436_385.540_797_85,
                ),
            ]),
        ),
        (
            "normal, t, F and χ² tails and quantiles",
            worst(&[
                (distribution::normal_cdf(-5.0), 2.866_515_718_791_933e-7),
                (distribution::normal_quantile(0.975)?, 1.959_963_984_540_054),
                (
                    distribution::t_two_sided(-1.860_813_467, 17.776_473_52)?,
                    0.079_394_140_255_813_5,
                ),
                (distribution::t_quantile(0.975, 9.0)?, 2.262_157_162_798_205),
                (distribution::t_quantile(1e-8, 1.0)?, -31_830_988.618_379_06),
                (
                    distribution::f_upper_tail(11.027_247_96, 5.0, 15.0)?,
                    0.000_134_566_516_237_569_8,
                ),
                (
                    distribution::f_quantile(0.025, 5.0, 15.0)?,
                    0.155_575_963_078_487_03,
                ),
                (
                    distribution::chi_square_upper_tail(38.713_527_85, 7.0)?,
                    2.216_418_044_651_781e-6,
                ),
                (
                    distribution::chi_square_quantile(0.025, 4.0)?,
                    0.484_418_557_087_929_9,
                ),
            ]),
        ),
        (
            "noncentral t",
            worst(&[
                (noncentral_t_cdf(2.1, 18.0, 2.96)?, 0.200_455_626_355_560_27),
                (noncentral_t_cdf(-1.0, 5.0, 0.5)?, 0.082_444_091_056_723_37),
                (noncentral_t_cdf(40.0, 10.0, 30.0)?, 0.844_085_158_386_692_6),
            ]),
        ),
        (
            "t paired, pooled, Welch, with intervals",
            worst(&[
                (paired.t, 4.062_127_683),
                (paired.p, 0.002_832_890_197),
                (paired.interval.high, 2.459_885_763),
                (pooled.p, 0.079_186_714_22),
                (pooled.interval.low, -3.363_874_032),
                (welch.df, 17.776_473_52),
                (welch.p, 0.079_394_140_19),
                (welch.interval.low, -3.365_483_231),
            ]),
        ),
        (
            "Mann–Whitney, exact with ties",
            worst(&[(mann_whitney(&DRUG_2, &DRUG_1)?.p, 0.065_816_536_4)]),
        ),
        (
            "Mann–Whitney, normal with ties",
            worst(&[(
                mann_whitney(&tripled_1, &tripled_2)?.p,
                0.001_114_620_213_468_659_8,
            )]),
        ),
        (
            "Wilcoxon signed ranks, exact",
            worst(&[(wilcoxon(&[0.0; 15], &DARWIN)?.p, 0.041_259_765_625)]),
        ),
        (
            "Wilcoxon signed ranks, normal with ties",
            worst(&[(wilcoxon(&tripled_1, &mixed)?.p, 7.014_174_809_141_472e-5)]),
        ),
        (
            "permutation test of means",
            worst(&[(
                permutation::of_means(&MICE_CONTROL, &MICE_TREATED, stream())?.p,
                3_184.0 / 11_440.0,
            )]),
        ),
        (
            "permutation test of pairs",
            worst(&[(
                permutation::of_pairs(&[0.0; 15], &DARWIN, stream())?.p,
                1_726.0 / 32_768.0,
            )]),
        ),
        (
            "bootstrap standard error of a difference of means",
            worst(&[(
                bootstrap::of_difference_of_means(&DRUG_1, &DRUG_2, 0.95, stream())?.standard_error,
                0.805_563_292,
            )]),
        ),
        (
            "d, g, Glass's Δ, d paired, d by mean sd",
            worst(&[
                (effect_size::d(&film_2, &film_1)?, 1.125_879_938),
                (effect_size::g(&film_2, &film_1)?, 1.078_194_899),
                (effect_size::glass_delta(&film_2, &film_1)?, 1.054_092_553),
                (effect_size::d_paired(&film_2, &film_1)?, 1.5),
                (effect_size::d_average_sd(&film_2, &film_1)?, 1.128_696_261),
            ]),
        ),
        (
            "Hedges's exact factor",
            worst(&[
                (effect_size::small_sample_factor(2.0)?, 0.564_189_583_5),
                (effect_size::small_sample_factor(18.0)?, 0.957_646_427),
                (effect_size::small_sample_factor(100.0)?, 0.992_478_055),
            ]),
        ),
        (
            "nap, its standard error and interval",
            worst(&[
                (
                    nonoverlap::nap(reviewed.earlier, reviewed.later, Higher)?,
                    38.5 / 42.0,
                ),
                (
                    nonoverlap::nap_standard_error(reviewed.earlier, reviewed.later, Higher)?,
                    0.069_006_555_93,
                ),
                (interval.low, 0.597_319_36),
                (interval.high, 0.985_997_689_4),
            ]),
        ),
        ("baseline-corrected tau", worst(&corrected_tau)),
        ("PND, PEM, PAND, IRD, Tau-U", worst(&others)),
        (
            "log response ratio, percent change",
            worst(&[
                (
                    change::log_response_ratio(reviewed.earlier, reviewed.later)?,
                    0.195_884_623_3,
                ),
                (ratio.ratio, 0.195_396_165_7),
                (ratio.standard_error, 0.055_577_232_13),
                (
                    change::percent_change(reviewed.earlier, reviewed.later)?,
                    21.638_655_46,
                ),
            ]),
        ),
        ("interval of a share of the gain", worst(&shares)),
        (
            "CE, AE, VE, E",
            worst(&[
                (error_scores::constant_error(&times, 2000.0)?, -2.0),
                (error_scores::absolute_error(&times, 2000.0)?, 282.0),
                (error_scores::variable_error(&times)?, 335.105_953_4),
                (error_scores::total_error(&times, 2000.0)?, 335.111_921_6),
            ]),
        ),
        (
            "MRE, SRE, BVE",
            worst(&[
                (points.mean_radial_error, 6.0),
                (points.subject_centroid_radial_error, 11.84_f64.sqrt()),
                (points.bivariate_variable_error, 28.16_f64.sqrt()),
            ]),
        ),
        (
            "typical error with interval",
            worst(&[
                (retest.value, 2.889_636_655),
                (retest.interval.low, 1.731_277_08),
                (retest.interval.high, 8.303_531_691),
            ]),
        ),
        (
            "detectable difference",
            worst(&[
                (
                    power::detectable_d(10, 10, 0.8, 0.05)?,
                    1.324_947_368_330_822,
                ),
                (
                    power::detectable_d(8, 12, 0.8, 0.05)?,
                    1.352_268_513_939_979,
                ),
                (
                    power::detectable_d(100, 100, 0.8, 0.05)?,
                    0.398_139_113_896_495_9,
                ),
            ]),
        ),
        (
            "power of the t test",
            worst(&[
                (
                    power::power(0.5 * 5_f64.sqrt(), 18.0, 0.05)?,
                    0.185_095_656_291_166_06,
                ),
                (
                    power::power(1.2 * 5_f64.sqrt(), 18.0, 0.05)?,
                    0.718_405_376_541_669,
                ),
            ]),
        ),
        ("interval of d by noncentral t", {
            let between = effect_interval::of_d(&DRUG_1, &DRUG_2, 0.95)?;
            let paired = effect_interval::of_d_paired(&DRUG_1, &DRUG_2, 0.95)?;
            worst(&[
                (between.low, -0.095_450_398_211_415_42),
                (between.high, 1.738_816_899_106_732),
                (paired.low, 0.414_627_756_380_456_74),
                (paired.high, 2.118_016_513_981_600_7),
            ])
        }),
        ("runs about the median", {
            let runs = runs::about_median(&LEW)?;
            worst(&[
                (runs.variance, 49.748_743_718_592_96),
                (runs.z, 2.693_782_590_793_965_4),
                (runs.p, 0.007_064_622_954_962_975),
            ])
        }),
        (
            "von Neumann's ratio",
            worst(&[(
                autocorrelation::von_neumann_ratio(&LEW)?,
                2.609_642_072_571_561_2,
            )]),
        ),
        (
            "variance inflation by autocorrelation",
            worst(&[
                (
                    autocorrelation::variance_inflation(10, 0.3)?,
                    1.734_694_600_600_000_1,
                ),
                (
                    autocorrelation::variance_inflation(5, 0.9)?,
                    4.257_639_999_999_999,
                ),
            ]),
        ),
    ])
}

#[test]
fn every_row_states_the_digits_measured() {
    let mut measured = measurements().unwrap();
    measured.extend(measured_learning::measurements().unwrap());
    let stated: Vec<(&str, u8)> = PROCEDURES
        .iter()
        .map(|row| (row.name, row.digits))
        .collect();
    let found: Vec<(&str, u8)> = measured
        .iter()
        .map(|&(name, digits)| {
            (
                name,
                (0..=16)
                    .rev()
                    .find(|&whole| f64::from(whole) <= digits)
                    .unwrap_or(0),
            )
        })
        .collect();
    assert_eq!(stated, found);
}

/// Between two marks of the developers' page; `EVENHAND_WRITE_TABLE=1 cargo test procedures` puts it there.
#[test]
fn the_developers_page_shows_this_table() {
    const MARKS: [&str; 2] = ["<!-- procedures -->\n", "<!-- end of procedures -->"];
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/DEVELOPERS.md");
    let Ok(page) = std::fs::read_to_string(path) else {
        return;
    };
    let (before, rest) = page
        .split_once(MARKS[0])
        .expect("the page has a place for the table");
    let (shown, after) = rest.split_once(MARKS[1]).expect("the place has an end");
    if std::env::var_os("EVENHAND_WRITE_TABLE").is_some() {
        let written = [before, MARKS[0], &table(), MARKS[1], after].concat();
        std::fs::write(path, written).unwrap();
    } else {
        assert_eq!(
            shown,
            table(),
            "EVENHAND_WRITE_TABLE=1 cargo test procedures"
        );
    }
}

#[test]
fn the_table_has_a_line_a_procedure() {
    let table = table();
    assert_eq!(table.lines().count(), PROCEDURES.len() + 2);
    assert!(table.contains("| permutation test of pairs | Fisher 1935, section 21 | 16 |"));
}

#[test]
fn digits() {
    assert!((digits_agreed(1.001, 1.0) - 3.0).abs() < 1e-9);
    assert!((digits_agreed(0.001, 0.0) - 3.0).abs() < 1e-9);
    assert!((digits_agreed(2.0, 2.0) - 16.0).abs() < 1e-9);
    assert!(digits_agreed(f64::NAN, 2.0).abs() < 1e-9);
    assert!(digits_agreed(-5.0, 2.0).abs() < 1e-9);
}
