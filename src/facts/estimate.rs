//! The learner's own estimates against the scores.

use super::catalogue::Entry;

const SOURCE: &str = "Schmidt & White 1972";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "n",
        "trials",
        "Scored trials for which the learner guessed the score.",
        SOURCE,
    ),
    Entry::number(
        "error_first",
        "score",
        "Mean distance between guess and score in the first session with guesses.",
        SOURCE,
    ),
    Entry::number(
        "error_last",
        "score",
        "Mean distance between guess and score in the last session with guesses, another than the first. The transfer test doesn't count: its context is new.",
        SOURCE,
    ),
];
