//! Slips in other statistics than the one they are best known in, two slips together, and what is listed beside what. The numbers were computed
//! from the same trials by NumPy 2.4 (`mean`, `median`, `std`, `ptp`) and SciPy 1.17 (`stats.ttest_ind`, `ttest_1samp`, `mannwhitneyu`,
//! `special.gammaln` for the small-sample factor), by a script of its own that knows nothing of this crate.

use super::slip_tests::{all_listed, codes, programme};
use super::testing::Made;
use crate::logbook::model::{Measure, MeasureKind};

#[test]
fn slips_in_other_statistics() {
    all_listed(
        programme,
        "
        divided-by-later         | percent improvement | post vs pre      |  38.710
        divided-by-scale         | percent improvement | post vs pre      |  40.000
        points-for-percent       | percent improvement | post vs pre      |   1.200
        fraction-for-percent     | percent improvement | post vs pre      |   0.632
        fraction-for-percent     | cv                  | post             |   0.321
        ratio-for-change         | percent improvement | post vs pre      | 163.158
        sign-reversed            | percent change      | post vs pre      | -63.158
        sign-reversed            | percent improvement | post vs pre      | -63.158
        phases-swapped           | percent improvement | post vs pre      | -38.710
        phases-swapped           | change              | post vs pre      |  -1.200
        population-sd            | variance            | post             |   0.890
        population-sd            | se                  | post             |   0.298
        variance-for-sd          | variable error      | post             |   0.890
        median-for-mean          | change              | post vs pre      |   1.000
        median-for-mean          | percent change      | post vs pre      |  50.000
        sum-for-mean             | change              | post vs pre      |  12.000
        mode-for-mean            | change              | post vs pre      |   1.000
        best-trial               | change              | post vs pre      |   1.000
        best-trial               | percent improvement | post vs pre      |  33.333
        best-session             | sd                  | retention        |   1.155
        best-session             | change              | retention vs pre |   1.433
        worst-dropped            | sd                  | post             |   0.707
        worst-dropped            | change              | post vs pre      |   1.333
        best-and-worst-dropped   | sd                  | post             |   0.707
        best-and-worst-dropped   | change              | post vs pre      |   1.375
        outlier-dropped          | mean                | post             |   3.333
        outlier-dropped          | change              | post vs pre      |   1.433
        first-row-missed         | sd                  | post             |   1.054
        first-row-missed         | change              | post vs pre      |   1.222
        last-row-missed          | sd                  | post             |   1.000
        last-row-missed          | change              | post vs pre      |   1.111
        first-trials-only        | sd                  | post             |   1.069
        first-trials-only        | change              | post vs pre      |   1.000
        last-trials-only         | mean                | post             |   3.000
        last-trials-only         | change              | post vs pre      |   1.000
        practice-included        | sd                  | post             |   0.845
        practice-included        | change              | post vs pre      |   0.933
        tests-included           | sd                  | practice         |   0.903
        tests-included           | n                   | practice         |      63
        familiarisation-included | sd                  | pre              |   0.954
        familiarisation-included | change              | post vs pre      |   1.177
        averaged-averages        | sd                  | retention        |   0.986
        extra-cell               | sd                  | post             |   2.284
        extra-cell               | change              | post vs pre      |   1.091
        other-phase              | sd                  | post             |   0.738
        other-phase              | median              | post             |   2.000
        one-tailed               | p t welch           | post vs pre      |   0.004
        one-tailed               | p t paired          | post vs pre      |   0.018
        two-tailed               | p t welch           | post vs pre      |   0.014
        two-tailed               | p t paired          | post vs pre      |   0.074
        paired-for-independent   | t welch             | post vs pre      |   2.449
        paired-for-independent   | p t                 | post vs pre      |   0.037
        independent-for-paired   | p t paired          | post vs pre      |   0.007
        independent-for-paired   | wilcoxon            | post vs pre      |  83.000
        pooled-for-welch         | p t welch           | transfer vs pre  |   0.240
        welch-for-pooled         | t                   | transfer vs pre  |   1.190
        retained-of-post         | transferred gain    | transfer         |  76.613
        lost-for-retained        | transferred gain    | transfer         |  60.417
        ",
    );
}

#[test]
fn two_slips_together() {
    all_listed(
        programme,
        "
        practice-included+population-sd        | sd             | post            |   0.833
        first-row-missed+population-sd         | sd             | transfer        |   0.904
        last-row-missed+population-sd          | sd             | transfer        |   0.904
        familiarisation-included+population-sd | sd             | pre             |   0.917
        tests-included+population-sd           | sd             | practice        |   0.896
        worst-dropped+population-sd            | sd             | post            |   0.667
        practice-included+se-for-sd            | sd             | post            |   0.141
        first-row-missed+se-for-sd             | sd             | post            |   0.351
        practice-included+divided-by-later     | percent change | post vs pre     |  32.941
        first-row-missed+divided-by-later      | percent change | post vs pre     |  39.286
        last-row-missed+divided-by-later       | percent change | post vs pre     |  37.037
        median-for-mean+divided-by-later       | percent change | post vs pre     |  33.333
        best-trial+divided-by-later            | percent change | post vs pre     |  25.000
        first-row-missed+divided-by-scale      | percent change | post vs pre     |  40.741
        divided-by-later+sign-reversed         | percent change | post vs pre     | -38.710
        divided-by-later+rounded-early         | percent change | transfer vs pre |  20.833
        practice-included+points-for-percent   | percent change | post vs pre     |   0.933
        first-row-missed+points-for-percent    | percent change | post vs pre     |   1.222
        population-sd+glass-for-d              | d              | post vs pre     |   1.714
        population-sd+d-average-sd             | d              | transfer vs pre |   0.607
        first-row-missed+g-for-d               | d              | post vs pre     |   1.254
        practice-included+glass-for-d          | d              | post vs pre     |   1.265
        paired-for-independent+one-tailed      | p t            | post vs pre     |   0.018
        independent-for-paired+one-tailed      | p t paired     | post vs pre     |   0.003
        population-sd+truncated                | sd             | transfer        |   0.856
        first-row-missed+truncated             | mean           | transfer        |   2.428
        other-phase+population-sd              | sd             | post            |   0.700
        ",
    );
}

/// `numpy.std(…, ddof=0)` of post-test and practice: 0.8 at one decimal, as is the sample sd of the same trials, 0.845.
#[test]
fn two_together_are_listed_beside_one_alone() {
    let listed = codes(programme(), "sd", "post", "0.83");
    assert!(listed.contains(&String::from("practice-included+population-sd")));
    // Where the first alone gives the number the second does nothing, but for the two that are made together most.
    let of_first = codes(programme(), "sd", "post", "0.8");
    assert!(of_first.contains(&String::from("practice-included")));
    assert!(of_first.contains(&String::from("practice-included+population-sd")));
    assert!(!of_first.contains(&String::from("practice-included+truncated")));
}

/// A zero in each of two blocks of ten leaves the ratio as it is, and takes a tenth off the change.
#[test]
fn zeros_that_leave_the_ratio_as_it_is_move_the_change() {
    let blank = f64::NAN;
    let made = Made::ratings()
        .trials(
            "pre",
            1,
            &[2.0, 1.0, 3.0, blank, 1.0, 2.0, 2.0, 3.0, 1.0, 2.0],
        )
        .trials(
            "post",
            2,
            &[3.0, 4.0, 2.0, 4.0, 3.0, blank, 4.0, 1.0, 3.0, 4.0],
        );
    // numpy.mean with a 0 in each gap: 2.8 − 1.7; without: 3.111 − 1.889.
    let listed = codes(made, "percent change", "post vs pre", "1.10");
    assert!(
        listed.contains(&String::from("blanks-as-zero+points-for-percent")),
        "{listed:?}"
    );
}

/// NumPy: sessions' means 0.25, 6.6 and −0.5, their mean distances 6.75, 6.6 and 5; sds of the sessions with equal means 1.000 and 0.816.
#[test]
fn the_best_session_is_nearest_on_average_or_by_its_mean() {
    let errors = || {
        Made::signed_errors()
            .trials("practice", 2, &[-1.0, 2.0, 12.0, -12.0])
            .trials("practice", 3, &[6.0, 7.0, 5.0, 8.0, 7.0])
            .trials("practice", 4, &[-6.0, 9.0, -2.0, -3.0])
    };
    all_listed(
        errors,
        "
        best-session | mean | practice |  0.25
        best-session | mean | practice | -0.50
        ",
    );
    let tied = || {
        Made::ratings()
            .trials("practice", 2, &[2.0, 1.0, 2.0])
            .trials("practice", 3, &[2.0, 3.0, 4.0])
            .trials("practice", 4, &[3.0, 2.0, 4.0, 3.0])
    };
    all_listed(
        tied,
        "
        best-session | sd | practice | 1.000
        best-session | sd | practice | 0.816
        ",
    );
}

/// NumPy: without the highest and the lowest score of each block the distances' means fall by 53.333 %; without the largest and the
/// smallest distance by 52.778 %.
#[test]
fn both_ends_are_cut_off_the_scores_not_their_distances() {
    let errors = || {
        Made::signed_errors()
            .trials("pre", 1, &[-9.0, 8.0, -3.0, 12.0, 7.0, -8.0, 4.0])
            .trials("post", 5, &[-4.0, 2.5, -1.0, 6.0, 3.0, -2.5, 5.0])
    };
    all_listed(
        errors,
        "
        best-and-worst-dropped | percent improvement | post vs pre | 53.333
        best-and-worst-dropped | percent improvement | post vs pre | 52.778
        ",
    );
}

/// The mean of the first eight of ten, `numpy.mean(scores[:8])`.
#[test]
fn two_missing_rows_are_told_as_the_first_k_trials() {
    let times = Made::of(Measure {
        kind: MeasureKind::Quantity,
        ..Measure::undescribed()
    })
    .trials(
        "post",
        5,
        &[
            10.21, 11.54, 9.83, 10.92, 8.75, 9.16, 12.37, 10.08, 9.49, 8.9,
        ],
    );
    assert_eq!(
        codes(times, "mean", "post", "10.357"),
        ["first-trials-only", "last-row-missed"]
    );
}

/// `numpy.std` of all twelve ratings, weighted into d by hand in NumPy.
#[test]
fn a_d_of_pooled_ratings_is_no_mean_of_means() {
    let rated = Made::ratings()
        .rated("Ana", "pre", 1, &[1.0, 2.0, 2.0, 1.0, 3.0, 2.0])
        .rated("Ben", "pre", 1, &[2.0, 2.0, 1.0, 1.0, 3.0, 3.0])
        .rated("Ana", "post", 5, &[3.0, 2.0, 4.0, 3.0, 4.0, 2.0])
        .rated("Ben", "post", 5, &[2.0, 3.0, 4.0, 3.0, 4.0, 3.0]);
    assert_eq!(
        codes(rated, "d", "post vs pre", "1.471")[0],
        "raters-pooled"
    );
}
