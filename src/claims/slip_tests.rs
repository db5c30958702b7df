//! Every slip against a number that another program computed from the same trials: NumPy 2 and SciPy 1.17 unless said otherwise.

use super::testing::Made;
use super::{Confidence, Explanation, Verdict};
use crate::logbook::model::{Better, FormulaRange, Measure, MeasureKind, Score};

/// Ratings from 1 to 4 over a whole programme.
pub fn programme() -> Made {
    Made::ratings()
        .trials("familiarisation", 1, &[1.0, 1.0, 4.0])
        .trials(
            "pre",
            1,
            &[2.0, 1.0, 3.0, 2.0, 1.0, 2.0, 2.0, 3.0, 1.0, 2.0],
        )
        .trials("practice", 2, &[2.0, 2.0, 1.0, 3.0, 2.0])
        .trials("practice", 3, &[2.0, 3.0, 2.0, 2.0])
        .trials("practice", 4, &[3.0, 3.0, 2.0, 3.0, 4.0, 2.0])
        .trials("practice", 5, &[3.0, 2.0, 3.0, 3.0])
        .trials("practice", 6, &[3.0, 4.0, 3.0, 3.0, 3.0, 4.0, 4.0])
        .trials(
            "post",
            7,
            &[3.0, 4.0, 2.0, 4.0, 3.0, 3.0, 4.0, 1.0, 3.0, 4.0],
        )
        .trials("retention", 9, &[2.0, 2.0, 4.0, 3.0, 2.0, 3.0])
        .trials("retention", 10, &[2.0, 4.0, 4.0])
        .trials("transfer", 11, &[2.0, 3.0, 1.0, 3.0, 2.0, 4.0, 2.0, 2.0])
}

/// The slips that are listed for a claim, which differs.
pub fn codes(made: Made, statistic: &str, of: &str, value: &str) -> Vec<String> {
    let claim = made.claims(statistic, of, value).last();
    assert_eq!(claim.verdict, Verdict::Differs, "{statistic} {of} {value}");
    claim.explanations.iter().map(Explanation::code).collect()
}

/// Every line of a table: a slip, a statistic, its block, and the number that the slip gives. Claimed, it differs, and the slip is listed.
pub fn all_listed(made: impl Fn() -> Made, table: &str) {
    for line in table.trim().lines() {
        let cells: Vec<&str> = line.split('|').map(str::trim).collect();
        let [code, statistic, of, value] = cells[..] else {
            panic!("a line has four cells: {line}");
        };
        let codes = codes(made(), statistic, of, value);
        assert!(
            codes.iter().any(|listed| listed == code),
            "{line}: {codes:?}"
        );
    }
}

/// `mean`, `std`, `var`, `median` of NumPy 2; `sem`, `ttest_ind`, `ttest_rel` of SciPy 1.17; J by `scipy.special.gammaln`.
#[test]
fn slips_in_ratings_over_a_programme() {
    all_listed(
        programme,
        "
        divided-by-later         | percent change | post vs pre      |  38.710
        divided-by-scale         | percent change | post vs pre      |  40.000
        divided-by-scale         | percent change | post vs pre      |  30.000
        points-for-percent       | percent change | post vs pre      |    1.20
        fraction-for-percent     | percent change | post vs pre      |   0.632
        ratio-for-change         | percent change | post vs pre      | 163.158
        sign-reversed            | change         | post vs pre      |   -1.20
        phases-swapped           | percent change | post vs pre      | -38.710
        population-sd            | sd             | post             |   0.943
        population-sd            | d              | post vs pre      |   1.445
        variance-for-sd          | sd             | post             |   0.989
        sd-for-variance          | variance       | post             |   0.994
        se-for-sd                | sd             | post             |   0.314
        sd-for-se                | se             | post             |   0.994
        median-for-mean          | mean           | retention        |   3.000
        mean-for-median          | median         | retention        |   2.889
        sum-for-mean             | mean           | post             |  31.000
        mode-for-mean            | mean           | pre              |   2.000
        best-trial               | mean           | post             |     4.0
        best-trial               | percent change | post vs pre      |  33.333
        best-session             | mean           | retention        |   3.333
        worst-dropped            | mean           | post             |   3.333
        best-and-worst-dropped   | mean           | post             |   3.250
        outlier-dropped          | sd             | post             |   0.707
        first-row-missed         | mean           | retention        |   3.000
        last-row-missed          | mean           | retention        |   2.750
        first-trials-only        | mean           | post             |   3.286
        last-trials-only         | sd             | post             |   1.095
        practice-included        | mean           | post             |   2.833
        tests-included           | mean           | practice         |   2.635
        familiarisation-included | mean           | pre              |   1.923
        averaged-averages        | mean           | practice         |   2.652
        extra-cell               | mean           | post             |   3.727
        extra-cell               | mean           | post             |   5.636
        planned-n                | mean           | transfer         |   1.900
        other-phase              | mean           | post             |   2.375
        other-session            | mean           | practice 4       |   2.750
        other-phase              | change         | post vs pre      |   0.989
        rounded-early            | percent change | transfer vs pre  |  26.316
        truncated                | mean           | practice         |   2.730
        retained-of-post         | retained gain  | retention        |  93.190
        lost-for-retained        | retained gain  | retention        |  17.593
        one-tailed               | p t            | post vs pre      | 0.00334
        two-tailed               | p t            | post vs pre      | 0.01335
        paired-for-independent   | t              | post vs pre      |   2.449
        paired-for-independent   | p t welch      | post vs pre      | 0.03679
        independent-for-paired   | t paired       | post vs pre      |   3.065
        pooled-for-welch         | t welch        | retention vs pre |   2.585
        welch-for-pooled         | p t            | retention vs pre | 0.02185
        d-for-g                  | g              | post vs pre      |   1.370
        g-for-d                  | d              | post vs pre      |   1.312
        glass-for-d              | d              | post vs pre      |   1.626
        d-average-sd             | d              | retention vs pre |   1.180
        d-average-sd             | d              | retention vs pre |   1.187
        d-paired-for-d           | d              | post vs pre      |   0.775
        ",
    );
}

/// Means and shares by NumPy 2.
#[test]
fn lower_is_better_read_as_higher() {
    let times = || {
        Made::times()
            .trials("pre", 1, &[10.2, 11.5, 9.8, 10.9])
            .trials("post", 5, &[8.1, 8.8, 7.9, 9.0])
    };
    all_listed(
        times,
        "
        direction-ignored | percent improvement | post vs pre | -20.28
        direction-ignored | nap                 | post vs pre |   0.00
        ",
    );
}

/// NumPy 2: `mean`, `abs`, `std`, `hypot`.
#[test]
fn one_kind_of_error_for_another() {
    let errors = || Made::signed_errors().trials("post", 5, &[-4.0, 2.5, -1.0, 6.0, 3.0, -2.5]);
    all_listed(
        errors,
        "
        bias-for-accuracy  | absolute error | post | 0.67
        accuracy-for-bias  | constant error | post | 3.17
        total-for-variable | variable error | post | 3.52
        sample-sd          | variable error | post | 3.79
        ",
    );
    let points = [
        (1.0, 2.0),
        (-1.0, 0.5),
        (2.0, -2.0),
        (0.5, 1.5),
        (-3.0, 1.0),
    ];
    let landings = || Made::times().landings("post", 5, &points);
    all_listed(
        landings,
        "
        bias-for-accuracy  | radial error             | post | 0.608
        accuracy-for-bias  | centroid error           | post | 2.185
        total-for-variable | bivariate variable error | post | 2.313
        sample-sd          | bivariate variable error | post | 2.495
        one-axis           | radial error             | post | 1.500
        one-axis           | radial error             | post | 1.400
        one-axis           | centroid error           | post | 0.100
        one-axis           | bivariate variable error | post | 1.744
        ",
    );
}

/// LibreOffice Calc 7: AVERAGE over the cells with 0 typed into the three empty ones, and over the cells without the 0.
#[test]
fn blanks_and_zeros() {
    let counts = || {
        let count = Measure {
            kind: MeasureKind::Count,
            lowest: Some(0.0),
            step: Some(1.0),
            ..Measure::undescribed()
        };
        let blank = f64::NAN;
        Made::of(count).trials(
            "post",
            5,
            &[3.0, 5.0, 0.0, blank, 4.0, 2.0, blank, 5.0, 1.0, blank],
        )
    };
    all_listed(
        counts,
        "
        blanks-as-zero | mean | post |  2.00
        planned-n      | mean | post |  2.00
        blanks-as-zero | sd   | post | 2.108
        zeros-as-blank | mean | post | 3.333
        planned-n      | n    | post |    10
        ",
    );
}

/// NumPy 2.
#[test]
fn raters() {
    let rated = || {
        Made::ratings()
            .rated("Ana", "post", 5, &[1.0, 2.0, 2.0, 3.0, 4.0, 2.0])
            .rated("Ben", "post", 5, &[2.0, 2.0, 3.0, 3.0, 4.0, 3.0])
    };
    all_listed(
        rated,
        "
        one-rater-only | mean | post |  2.33
        one-rater-only | mean | post |  2.83
        raters-pooled  | sd   | post | 0.900
        raters-pooled  | n    | post |    12
        ",
    );
}

/// Means by hand: (3 + 4 + 2 + 4 + 4)/5, (3 + 4 + 2 + 4 + 9)/5, (3 + 4 + 2)/3.
#[test]
fn rows_that_findings_name() {
    let twice = || {
        let mut made = Made::ratings().trials("post", 5, &[3.0, 4.0, 2.0, 4.0]);
        made.row(0, "post", 5, 4).score = Score::Number(4.0);
        made
    };
    all_listed(
        twice,
        "
        bad-rows-kept | mean | post | 3.40
        bad-rows-kept | n    | post |    5
        ",
    );
    let off_scale = || Made::ratings().trials("post", 5, &[3.0, 4.0, 2.0, 4.0, 9.0]);
    all_listed(
        off_scale,
        "
        bad-rows-kept | mean | post | 4.40
        ",
    );
    let off_step = || Made::ratings().trials("post", 5, &[3.0, 4.0, 2.0, 3.5]);
    all_listed(
        off_step,
        "
        bad-rows-dropped | mean | post | 3.00
        ",
    );
}

#[test]
fn another_measure() {
    let two = || {
        Made::ratings()
            .measure(Measure {
                name: "time".into(),
                better: Better::Lower,
                ..Measure::undescribed()
            })
            .trials("post", 5, &[3.0, 4.0, 2.0, 4.0])
            .trials_of(1, "post", 5, &[10.2, 11.5, 9.8, 10.9])
    };
    // numpy.mean: 10.6.
    all_listed(two, "other-measure | mean | post | 10.60");
}

/// The right mean is 83/34 … of the retention test 26/9 = 2.888 9.
#[test]
fn numbers_copied_wrongly() {
    all_listed(
        programme,
        "
        digits-swapped     | mean | retention |  2.98
        digits-swapped     | mean | retention |  8.29
        decimal-misplaced  | mean | retention |  28.9
        decimal-misplaced  | mean | retention | 0.289
        copied-wrong-digit | mean | retention |  2.59
        truncated          | mean | retention |  2.88
        ",
    );
}

/// SUM and AVERAGE over the cells that the formula names: (4 + 2 + 4)/3 and (3 + 4 + 2 + 4 + 13)/5.
#[test]
fn a_formulas_own_range_comes_first() {
    let made = |value: &str, left_out: Vec<usize>, extra: bool| {
        let mut made = Made::ratings()
            .trials("post", 5, &[3.0, 4.0, 2.0, 4.0])
            .claims("mean", "post", value);
        let claim = made.logbook.claims.last_mut().unwrap();
        let place = claim.place.clone();
        claim.formula = Some(FormulaRange {
            formula: "AVERAGE(F3:F5)".into(),
            left_out,
            extra: if extra {
                vec![crate::logbook::model::Sourced { value: 13.0, place }]
            } else {
                Vec::new()
            },
            taken: vec![1, 2, 3],
        });
        made.last()
    };
    let missed = made("3.33", vec![0], false);
    assert_eq!(missed.explanations.first().unwrap().code(), "rows-missed");
    assert!(missed.is_formula_range());
    assert_eq!(missed.confidence, Some(Confidence::Likely));
    let extra = made("5.20", Vec::new(), true);
    assert_eq!(extra.explanations.first().unwrap().code(), "extra-cell");
}

#[test]
fn an_accepted_slip_agrees_and_is_named() {
    let best = programme().claims("mean", "post", "4.0");
    let claim = best.recomputed_accepting(&["best-trial"]).pop().unwrap();
    assert_eq!(claim.verdict, Verdict::Agrees);
    assert_eq!(claim.explained_by(), "best-trial");
    let other = best
        .recomputed_accepting(&["median-for-mean"])
        .pop()
        .unwrap();
    assert_eq!(other.verdict, Verdict::Differs);
}

#[test]
fn what_no_scores_give_is_impossible() {
    // Ten whole ratings have means with one decimal.
    let claim = programme().claims("mean", "post", "2.97").last();
    assert_eq!(
        claim.verdict,
        Verdict::Impossible,
        "{}",
        claim.explained_by()
    );
    // Without trials the claimed n decides.
    let bare = Made::ratings()
        .claims("n", "post", "10")
        .claims("mean", "post", "2.97")
        .last();
    assert_eq!(bare.verdict, Verdict::Impossible);
    assert!(bare.value.is_err());
}

/// Percent and d by NumPy 2 from a post-test mean of 3.33, which is the mean without the worst trial.
#[test]
fn consequences_hang_on_their_root() {
    let recomputed = programme()
        .claims("mean", "post", "3.33")
        .claims("percent change", "post vs pre", "75.26")
        .claims("percent change", "post vs pre", "75.44")
        .claims("percent change", "retention vs pre", "52.05")
        .claims("d", "post vs pre", "1.63")
        .recomputed();
    let roots: Vec<Option<usize>> = recomputed
        .iter()
        .map(|claim| claim.consequence_of)
        .collect();
    assert_eq!(roots, [None, Some(0), Some(0), None, Some(0)]);
}
