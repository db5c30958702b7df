//! The checklist of technique: ratings of elements, by one or more observers.

use super::catalogue::Entry;

const TABLE: &str = "the logbook's Technique table";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "pre",
        "rating",
        "Mean rating over the elements at the pre-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "mid",
        "rating",
        "Mean rating over the elements at the mid-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "post",
        "rating",
        "Mean rating over the elements at the post-test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "retention",
        "rating",
        "Mean rating over the elements at the retention test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "transfer",
        "rating",
        "Mean rating over the elements at the transfer test; observers are averaged first.",
        TABLE,
    ),
    Entry::number(
        "elements",
        "elements",
        "Different elements that were rated.",
        TABLE,
    ),
    Entry::number(
        "compared",
        "elements",
        "Elements rated at both pre-test and post-test.",
        TABLE,
    ),
    Entry::number(
        "improved",
        "elements",
        "Elements whose rating rose from pre-test to post-test.",
        TABLE,
    ),
    Entry::number("observers", "observers", "Observers who are named.", TABLE),
    Entry::number(
        "observed_twice",
        "ratings",
        "Elements of a phase that the first two observers both rated, over all phases.",
        TABLE,
    ),
    Entry::number(
        "agreement",
        "%",
        "Share of these, 0 to 100, to which both observers gave the same rating.",
        "common practice",
    ),
    Entry::number(
        "kappa",
        "",
        "Cohen's kappa of the first two observers over the same ratings.",
        "Cohen 1960",
    ),
    Entry::number(
        "weighted_kappa",
        "",
        "Kappa weighted by the squared difference of the two ratings, over the same ratings.",
        "Cohen 1968",
    ),
];
