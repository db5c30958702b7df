//! A later test against the pre-test.

use super::catalogue::Entry;

const COMMON: &str = "common practice";
const EFRON: &str = "Efron 1987; Efron & Tibshirani 1993";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "difference",
        "score",
        "Later mean less pre-test mean.",
        COMMON,
    ),
    Entry::number(
        "percent",
        "%",
        "The difference in percent of the size of the pre-test mean.",
        COMMON,
    ),
    Entry::number(
        "improvement",
        "%",
        "Percent change, signed so that positive is better. Where nearest to a target is best, of the mean distance from the target.",
        COMMON,
    ),
    Entry::truth(
        "better",
        "The later mean is better than the pre-test mean; where nearest to a target is best, the mean distance from the target is smaller.",
        COMMON,
    ),
    Entry::number(
        "d",
        "standard deviations",
        "The difference over the pooled standard deviation of the two tests.",
        "Cohen 1988",
    ),
    Entry::number(
        "g",
        "standard deviations",
        "The difference over the pooled standard deviation, with the exact correction for few trials.",
        "Hedges 1981",
    ),
    Entry::number(
        "nap",
        "share",
        "Share, 0 to 1, of all pairs of a later and a pre-test trial in which the later one is better; ties count half.",
        "Parker & Vannest 2009",
    ),
    Entry::number(
        "low",
        "score",
        "Lower end of the interval of the difference, without assuming equal spread (95 % by default).",
        "Welch 1947",
    ),
    Entry::number(
        "high",
        "score",
        "Upper end of the interval of the difference, without assuming equal spread (95 % by default).",
        "Welch 1947",
    ),
    Entry::number(
        "boot_low",
        "score",
        "Lower end of the bias-corrected and accelerated bootstrap interval of the difference, seeded.",
        EFRON,
    ),
    Entry::number(
        "boot_high",
        "score",
        "Upper end of the bias-corrected and accelerated bootstrap interval of the difference, seeded.",
        EFRON,
    ),
    Entry::number(
        "p",
        "share",
        "Two-sided permutation test of the difference of means: exact where all arrangements can be counted, else by 9,999 seeded ones.",
        "Edgington & Onghena 2007",
    ),
    Entry::truth(
        "beyond_noise",
        "The interval low to high excludes 0.",
        "Welch 1947",
    ),
    Entry::number(
        "detectable",
        "score",
        "Half the width of the interval: the smallest difference that these trials could have shown, at the spread that they have.",
        "Welch 1947",
    ),
    Entry::truth(
        "one_day",
        "Each of the two tests was held on one day, so that a better or worse day looks like a change: p and the interval know nothing of that.",
        COMMON,
    ),
];
