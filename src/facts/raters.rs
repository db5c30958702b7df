//! Who scored the trials, and how far two of them agree.

use super::catalogue::Entry;

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "count",
        "raters",
        "Raters named in the test trials that count.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "share",
        "share",
        "Share of the scored test trials, 0 to 1, that have a second rating.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "rated_twice",
        "trials",
        "Test trials that the first two raters both scored.",
        "the logbook's Trials table",
    ),
    Entry::number(
        "agreement",
        "%",
        "Share of trials, 0 to 100, to which both raters gave the same score: of all tests together, the first two raters by order of appearance.",
        "common practice",
    ),
    Entry::number(
        "kappa",
        "",
        "Cohen's kappa of the first two raters over the test trials that both scored; categories are the scores seen.",
        "Cohen 1960",
    ),
    Entry::number(
        "weighted_kappa",
        "",
        "Kappa weighted by the squared difference of the two scores, over the same trials.",
        "Cohen 1968",
    ),
    Entry::number(
        "icc",
        "",
        "Intraclass correlation over the same trials: two-way random, single rater, absolute agreement.",
        "Shrout & Fleiss 1979, ICC(2,1)",
    ),
];
