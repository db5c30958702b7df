//! One test: the statistics of its block, its conditions and its day.

use super::catalogue::Entry;

const COMMON: &str = "common practice";
const ERRORS: &str = "Schutz & Roy 1973";
const RADIAL: &str = "Hancock, Butler & Fischman 1995";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number("n", "trials", "Trials whose score counts.", COMMON),
    Entry::number(
        "missing",
        "trials",
        "Recorded trials without a score that counts.",
        COMMON,
    ),
    Entry::number(
        "sessions",
        "sessions",
        "Sessions over which the test was held.",
        COMMON,
    ),
    Entry::number("mean", "score", "Mean of the scores.", COMMON),
    Entry::number("median", "score", "Median of the scores.", COMMON),
    Entry::number(
        "sd",
        "score",
        "Sample standard deviation of the scores, n − 1 in the denominator; needs two.",
        COMMON,
    ),
    Entry::number("minimum", "score", "Smallest score.", COMMON),
    Entry::number("maximum", "score", "Largest score.", COMMON),
    Entry::number(
        "level",
        "share",
        "Where the mean lies on the scale: 0 the worst end, 1 the best. Absent for open scales and where nearest to a target is best.",
        COMMON,
    ),
    Entry::number(
        "cv",
        "%",
        "Coefficient of variation, 100 times the standard deviation over the mean. Only where zero means none of it: counts, unsigned errors and quantities, none of them negative.",
        COMMON,
    ),
    Entry::number(
        "success_rate",
        "%",
        "Share of trials that succeeded, 0 to 100: scores of 1 for kind success, else scores that reach the target.",
        COMMON,
    ),
    Entry::number(
        "ce",
        "score",
        "Constant error: mean of the scores less the target. Absent for unsigned errors.",
        ERRORS,
    ),
    Entry::number(
        "ae",
        "score",
        "Absolute error: mean distance of the scores from the target.",
        ERRORS,
    ),
    Entry::number(
        "ve",
        "score",
        "Variable error: spread of the scores about their own mean, n in the denominator. Absent for unsigned errors.",
        ERRORS,
    ),
    Entry::number(
        "rmse",
        "score",
        "Total error: root of the mean squared distance of the scores from the target.",
        ERRORS,
    ),
    Entry::number(
        "mre",
        "length",
        "Mean radial error: mean distance of the landing points from the target.",
        RADIAL,
    ),
    Entry::number(
        "sre",
        "length",
        "Centroid error: distance of the landing points' centroid from the target.",
        RADIAL,
    ),
    Entry::number(
        "bve",
        "length",
        "Bivariate variable error: spread of the landing points about their centroid, n in the denominator.",
        RADIAL,
    ),
    Entry::text(
        "condition",
        "The condition recorded for the test's trials; several are separated by semicolons, in the order in which they appear.",
        "the logbook's Trials table",
    ),
    Entry::date(
        "date",
        "The test's first day.",
        "the logbook's Sessions and Trials tables",
    ),
    Entry::number(
        "days_after",
        "days",
        "Whole days from the last day of practice before the test to the test's first day.",
        COMMON,
    ),
];
