//! What later tests kept of the gain from pre- to post-test.

use super::catalogue::Entry;

const SOURCE: &str = "Schmidt & Lee 2019, percentage retention";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "retained",
        "%",
        "Gain from pre-test to retention test in percent of the gain from pre-test to post-test. Where nearest to a target is best, of mean distances from the target.",
        SOURCE,
    ),
    Entry::number(
        "transferred",
        "%",
        "Gain from pre-test to transfer test in percent of the gain from pre-test to post-test. Where nearest to a target is best, of mean distances from the target.",
        SOURCE,
    ),
];
