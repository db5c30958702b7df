//! Every statistic against values that another program computed.

use super::testing::Made;
use super::{NoValue, Verdict};
use crate::stats::Undefined;

/// Whether the statistic comes out as given, to 1e-9 relative.
fn gives(made: Made, statistic: &str, of: &str, expected: f64) -> Made {
    let made = made.claims(statistic, of, "0");
    let value = made.last().value;
    assert!(
        value.is_ok_and(|value| (value - expected).abs() <= 1e-9 * expected.abs().max(1e-12)),
        "{statistic} of {of}: {value:?}, expected {expected}"
    );
    made
}

fn two_tests() -> Made {
    Made::ratings()
        .trials("pre", 1, &[1.0, 2.0, 2.0, 3.0, 1.0, 2.0])
        .trials("post", 6, &[3.0, 2.0, 4.0, 3.0, 3.0, 4.0, 2.0])
        .trials("retention", 8, &[3.0, 2.0, 3.0, 3.0, 2.0, 3.0])
}

/// NumPy 2 and SciPy 1.17: `mean`, `std(ddof=1)`, `sem`, `median`.
#[test]
fn statistics_of_one_block() {
    for (statistic, expected) in [
        ("n", 7.0),
        ("sum", 21.0),
        ("mean", 3.0),
        ("median", 3.0),
        ("minimum", 2.0),
        ("maximum", 4.0),
        ("range", 2.0),
        ("sd", 0.816_496_580_927_726),
        ("variance", 0.666_666_666_666_666_6),
        ("se", 0.308_606_699_924_183_8),
        ("cv", 27.216_552_697_590_867),
    ] {
        gives(two_tests(), statistic, "post", expected);
    }
}

/// SciPy 1.17: `ttest_ind` (pooled and Welch), `ttest_rel` of the first six; J by `gammaln`; `mannwhitneyu` for U, of which nap is U/(7·6).
/// The exact p of the rank tests by `itertools` over all arrangements of `rankdata`.
#[test]
fn comparisons_of_two_blocks() {
    for (statistic, expected) in [
        ("change", 1.166_666_666_666_666_7),
        ("percent change", 63.636_363_636_363_64),
        ("percent improvement", 63.636_363_636_363_64),
        ("d", 1.480_221_912_609_425_6),
        ("g", 1.376_546_888_572_244_7),
        ("glass delta", 1.549_826_049_695_166_8),
        ("d paired", 1.290_994_448_735_805_4),
        ("nap", 0.845_238_095_238_095_2),
        ("tau", 0.690_476_190_476_190_5),
        ("t paired", 3.162_277_660_168_379),
        ("p t paired", 0.025_031_015_818_453_52),
        ("t", 2.660_601_294_732_256),
        ("p t", 0.022_162_891_080_914_48),
        ("t welch", 2.678_755_721_892_764),
        ("p t welch", 0.021_582_250_139_056_246),
        ("u", 35.5),
        ("p u", 0.039_627_039_627_039_63),
        ("wilcoxon", 10.0),
        ("p wilcoxon", 0.125),
    ] {
        gives(two_tests(), statistic, "post vs pre", expected);
    }
    gives(
        two_tests(),
        "retained gain",
        "retention",
        71.428_571_428_571_42,
    );
}

/// SciPy 1.17: `linregress` of the sessions' means 1.5, 2, 7/3, 2.5 on 2, 3, 4, 5.
#[test]
fn the_line_of_practice() {
    for (statistic, expected) in [
        ("slope", 0.333_333_333_333_333_37),
        ("r", 0.975_900_072_948_533_1),
        ("r2", 0.952_380_952_380_952_2),
    ] {
        let practice = Made::ratings()
            .trials("practice", 2, &[1.0, 2.0])
            .trials("practice", 3, &[2.0, 2.0])
            .trials("practice", 4, &[2.0, 2.0, 3.0])
            .trials("practice", 5, &[2.0, 3.0]);
        gives(practice, statistic, "practice", expected);
    }
}

/// NumPy 2 on the formulas of Schmidt & Lee (errors) and Hancock, Butler & Fischman 1995 (landing points).
#[test]
fn errors_in_one_and_two_dimensions() {
    for (statistic, expected) in [
        ("constant error", 0.75),
        ("absolute error", 1.583_333_333_333_333_3),
        ("variable error", 1.75),
        ("total error", 1.903_943_276_465_977_2),
    ] {
        let errors = Made::signed_errors().trials("post", 3, &[-2.0, 1.5, 3.0, -0.5, 0.0, 2.5]);
        gives(errors, statistic, "post", expected);
    }
    for (statistic, expected) in [
        ("radial error", 1.940_916_980_270_016_1),
        ("centroid error", 0.800_390_529_679_106_1),
        ("bivariate variable error", 1.883_314_896_664_920_5),
    ] {
        let points = [(1.0, 2.0), (-1.0, 0.5), (2.0, -2.0), (0.5, 1.5)];
        let landings = Made::times().landings("post", 3, &points);
        gives(landings, statistic, "post", expected);
    }
}

#[test]
fn better_decides_improvement_and_overlap() {
    // Times fell from 10 to 8: 20 % better, 20 % less.
    let times = || {
        Made::times()
            .trials("pre", 1, &[10.0, 11.0, 9.0])
            .trials("post", 6, &[8.0, 8.0, 8.0])
    };
    gives(times(), "percent change", "post vs pre", -20.0);
    gives(times(), "percent improvement", "post vs pre", 20.0);
    gives(times(), "nap", "post vs pre", 1.0);
    // Distances from the target fell from 4 to 2, though the mean rose.
    let errors = || {
        Made::signed_errors()
            .trials("pre", 1, &[-4.0, -4.0])
            .trials("post", 6, &[2.0, -2.0])
            .trials("retention", 8, &[3.0, -3.0])
    };
    gives(errors(), "percent improvement", "post vs pre", 50.0);
    gives(errors(), "percent change", "post vs pre", 100.0);
    gives(errors(), "tau", "post vs pre", 1.0);
    gives(errors(), "retained gain", "retention", 50.0);
}

#[test]
fn any_of_a_tie_is_the_mode_and_either_count_is_u() {
    let tied = || Made::ratings().trials("post", 3, &[1.0, 1.0, 3.0, 3.0, 2.0]);
    for (value, verdict) in [
        ("1", Verdict::Agrees),
        ("3", Verdict::Agrees),
        ("4", Verdict::Differs),
    ] {
        assert_eq!(tied().claims("mode", "post", value).last().verdict, verdict);
    }
    // 42 pairs: 35.5 and 6.5.
    for value in ["35.5", "6.5"] {
        let made = two_tests().claims("u", "post vs pre", value);
        assert_eq!(made.last().verdict, Verdict::Agrees);
    }
}

#[test]
fn raters_and_observers() {
    // Ratings of four trials; they agree on two: κ by hand: observed 1/2, expected (1·1 + 2·1 + 1·2)/16.
    let rated = || {
        Made::ratings()
            .rated("Ana", "post", 3, &[1.0, 2.0, 2.0, 3.0])
            .rated("Ben", "post", 3, &[1.0, 2.0, 3.0, 4.0])
    };
    gives(rated(), "n", "post", 4.0);
    gives(rated(), "mean", "post", 2.25);
    gives(rated(), "agreement", "post", 50.0);
    gives(rated(), "agreement", "", 50.0);
    let kappa = (0.5 - 4.0 / 16.0) / (1.0 - 4.0 / 16.0);
    gives(rated(), "kappa", "post", kappa);
    let technique = Made::ratings()
        .technique("Ana", "pre", &[1.0, 0.0, 0.0, 1.0])
        .technique("Ben", "pre", &[1.0, 1.0, 0.0, 1.0]);
    let technique = technique.claims_of(1, "mean", "pre", "0.63");
    let technique = technique.claims_of(1, "agreement", "pre", "75");
    let verdicts: Vec<Verdict> = technique.recomputed().iter().map(|c| c.verdict).collect();
    assert_eq!(verdicts, [Verdict::Agrees, Verdict::Agrees]);
}

#[test]
fn what_has_no_value_says_why() {
    let why = |made: Made, statistic: &str, of: &str| {
        let claim = made.claims(statistic, of, "1").last();
        assert_eq!(claim.verdict, Verdict::NotRecomputable);
        claim.value.unwrap_err()
    };
    let block = super::testing::block;
    assert_eq!(
        why(two_tests(), "mean", "transfer"),
        NoValue::NoScores(block("transfer"))
    );
    assert_eq!(
        why(two_tests(), "nonsense", "post"),
        NoValue::UnknownStatistic
    );
    assert_eq!(
        why(two_tests(), "constant error", "post"),
        NoValue::NoTarget
    );
    assert_eq!(
        why(two_tests(), "radial error", "post"),
        NoValue::NoLandingPoints
    );
    assert_eq!(why(two_tests(), "kappa", "post"), NoValue::OneRater);
    let alike = Made::ratings()
        .trials("pre", 1, &[2.0, 2.0])
        .trials("post", 3, &[2.0, 2.0])
        .trials("retention", 5, &[2.0, 3.0]);
    assert_eq!(
        why(alike, "d", "post vs pre"),
        NoValue::Undefined(Undefined::NoSpread)
    );
    let alike = Made::ratings()
        .trials("pre", 1, &[2.0, 2.0])
        .trials("post", 3, &[2.0, 2.0])
        .trials("retention", 5, &[2.0, 3.0]);
    assert_eq!(why(alike, "retained gain", "retention"), NoValue::NoGain);
    let two_days = Made::ratings()
        .trials("pre", 1, &[2.0, 2.0])
        .trials("post", 3, &[2.0])
        .trials("post", 4, &[3.0]);
    assert_eq!(
        why(two_days, "t paired", "post vs pre"),
        NoValue::SeveralSessions
    );
}

#[test]
fn the_evidence_begins_with_the_claims_own_cell() {
    let made = Made::ratings()
        .trials("pre", 1, &[1.0, 2.0])
        .trials("post", 3, &[2.0, f64::NAN, 3.0])
        .claims("change", "post vs pre", "1.0");
    let claim = made.last();
    let evidence = crate::place::evidence(&claim.places.iter().collect::<Vec<_>>());
    assert_eq!(
        evidence,
        "P01.xlsx Claims!E2; P01.xlsx Trials!F2:F4; P01.xlsx Trials!F6"
    );
    assert_eq!(claim.scores, 4);
}
