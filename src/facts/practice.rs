//! All practice trials together.

use super::catalogue::Entry;

const COMMON: &str = "common practice";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number("n", "trials", "Practice trials whose score counts.", COMMON),
    Entry::number(
        "missing",
        "trials",
        "Recorded practice trials without a score that counts.",
        COMMON,
    ),
    Entry::number("mean", "score", "Mean of all practice scores.", COMMON),
    Entry::number(
        "sd",
        "score",
        "Sample standard deviation of all practice scores, n − 1 in the denominator; needs two.",
        COMMON,
    ),
    Entry::number(
        "conditions",
        "conditions",
        "Different conditions that practice trials record, compared without case, spaces and punctuation.",
        "the logbook's Trials table",
    ),
];
