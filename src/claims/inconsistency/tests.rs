//! Contradictions found, and sound claims left alone.

use super::super::testing::Made;
use super::*;

fn found(made: &Made) -> Vec<Vec<usize>> {
    inconsistencies(&made.logbook, &made.recomputed())
        .into_iter()
        .map(|inconsistency| inconsistency.claims)
        .collect()
}

/// 0.99/√10 = 0.313; t = 2.5 with 18 degrees of freedom has p = 0.022 3 (SciPy 1.17: `2*t.sf(2.5, 18)`).
#[test]
fn claims_contradict_each_other_without_any_trials() {
    let claims = |given: &[(&str, &str, &str)]| {
        let mut made = Made::ratings();
        for (statistic, of, value) in given {
            made = made.claims(statistic, of, value);
        }
        made
    };
    let sound = claims(&[
        ("n", "post", "10"),
        ("n", "pre", "10"),
        ("sum", "post", "31"),
        ("mean", "post", "3.1"),
        ("sd", "post", "0.99"),
        ("se", "post", "0.31"),
        ("mean", "pre", "1.9"),
        ("change", "post", "1.2"),
        ("percent change", "post", "63.2"),
        ("percent improvement", "post", "63"),
        ("t", "post", "2.5"),
        ("p t", "post", "0.022"),
        ("nap", "post", "0.85"),
        ("tau", "post", "0.70"),
    ]);
    assert_eq!(found(&sound), Vec::<Vec<usize>>::new());
    for (given, expected) in [
        (
            vec![
                ("mean", "post", "3.4"),
                ("sum", "post", "31"),
                ("n", "post", "10"),
            ],
            vec![0, 1, 2],
        ),
        (
            vec![
                ("se", "post", "0.42"),
                ("sd", "post", "0.99"),
                ("n", "post", "10"),
            ],
            vec![0, 1, 2],
        ),
        (
            vec![
                ("percent change", "post", "38.7"),
                ("mean", "post", "3.1"),
                ("mean", "pre", "1.9"),
            ],
            vec![0, 1, 2],
        ),
        (
            vec![
                ("t", "post", "2.5"),
                ("p t", "post", "0.11"),
                ("n", "post", "10"),
                ("n", "pre", "10"),
            ],
            vec![1, 0, 2, 3],
        ),
        (
            vec![("tau", "post", "0.50"), ("nap", "post", "0.85")],
            vec![0, 1],
        ),
        (
            vec![("mean", "post", "3.1"), ("mean", "post", "3.3")],
            vec![0, 1],
        ),
        (
            vec![("mean", "post", "4.7"), ("maximum", "post", "4")],
            vec![0, 1],
        ),
    ] {
        assert_eq!(found(&claims(&given)), [expected], "{given:?}");
    }
}

#[test]
fn rounding_is_no_contradiction() {
    // From 1.9 and 3.1 as rounded anything from 56.4 to 70.3 may come.
    let made = |percent: &str| {
        Made::ratings()
            .claims("mean", "pre", "1.9")
            .claims("mean", "post", "3.1")
            .claims("percent change", "post", percent)
    };
    assert!(found(&made("56.5")).is_empty());
    assert!(found(&made("70.1")).is_empty());
    assert_eq!(found(&made("70.5")).len(), 1);
}

#[test]
fn what_the_trials_contradict_comes_first() {
    let made = Made::ratings()
        .trials("post", 5, &[3.0, 4.0, 2.0, 4.0, 3.0])
        .claims("n", "post", "5")
        .claims("sum", "post", "16")
        .claims("mean", "post", "3.87");
    let all = inconsistencies(&made.logbook, &made.recomputed());
    assert_eq!(all.len(), 1);
    assert_eq!(all[0].claims, [2, 1, 0]);
    assert!(all[0].says.contains("the mean of the post-test (3.87)"));
}

/// SciPy 1.17: `ttest_ind_from_stats(3.1, 0.99, 10, 1.9, 0.74, 10)` gives t = 3.070 2, with `equal_var=False` the same t for equal n and
/// p = 0.007 0; `2*t.sf(3.07, 9)` = 0.013 3 and `2*t.sf(3.07, 18)` = 0.006 6 are the ends for p. d = 1.373 1; 0.775·√10 = 2.450 8.
#[test]
fn t_belongs_to_its_means_its_d_and_its_p() {
    let blocks = || {
        Made::ratings()
            .claims("n", "pre", "10")
            .claims("n", "post", "10")
            .claims("mean", "pre", "1.90")
            .claims("mean", "post", "3.10")
            .claims("sd", "pre", "0.74")
            .claims("sd", "post", "0.99")
    };
    let sound = blocks()
        .claims("t", "post vs pre", "3.07")
        .claims("t welch", "post vs pre", "3.07")
        .claims("p t welch", "post vs pre", "0.0070")
        .claims("d", "post vs pre", "1.37")
        .claims("d paired", "post vs pre", "0.775")
        .claims("t paired", "post vs pre", "2.45")
        .claims("p t paired", "post vs pre", "0.037");
    assert_eq!(found(&sound), Vec::<Vec<usize>>::new());
    for (statistic, value) in [("t", "2.50"), ("t welch", "4.20")] {
        let made = blocks().claims(statistic, "post vs pre", value);
        assert_eq!(found(&made), [[6, 3, 2, 5, 4, 1, 0]], "{statistic}");
    }
    let counts = || {
        Made::ratings()
            .claims("n", "pre", "10")
            .claims("n", "post", "10")
    };
    for (from, from_value, statistic, value) in [
        ("d", "1.37", "t", "4.30"),
        ("t welch", "3.07", "p t welch", "0.0033"),
        ("t welch", "3.07", "p t welch", "0.0200"),
        ("d paired", "0.775", "t paired", "0.78"),
        ("t paired", "2.45", "p t paired", "0.018"),
    ] {
        let made = counts().claims(from, "post vs pre", from_value).claims(
            statistic,
            "post vs pre",
            value,
        );
        assert_eq!(found(&made), [[3, 2, 1, 0]], "{statistic} {value}");
    }
}

/// SciPy 1.17: `2*t.sf(3.29, 8)` = 0.011 0, as nine pairs give; of ten against nine trials nobody knows how many pairs there were.
#[test]
fn pairs_of_unequal_blocks_are_not_counted() {
    let made = |earlier: &str| {
        Made::ratings()
            .claims("n", "transfer", "10")
            .claims("n", "pre", earlier)
            .claims("t paired", "transfer vs pre", "3.29")
            .claims("p t paired", "transfer vs pre", "0.013")
    };
    assert!(found(&made("9")).is_empty());
    assert_eq!(found(&made("10")).len(), 1);
}
