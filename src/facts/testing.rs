//! The tests together: how many, how large, under which conditions.

use super::catalogue::Entry;

const TRIALS: &str = "the logbook's Trials table";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "count",
        "tests",
        "Tests with at least one score that counts.",
        TRIALS,
    ),
    Entry::number(
        "smallest_n",
        "trials",
        "Scored trials of the smallest of these tests.",
        TRIALS,
    ),
    Entry::truth(
        "same_conditions",
        "Pre-test and post-test, and pre-test and retention test, have a condition in common wherever both record one. Conditions are compared without case, spaces and punctuation.",
        "common practice",
    ),
    Entry::truth(
        "transfer_novel",
        "The transfer test has a condition that was neither practised nor tested before; where it records none, About says what was novel.",
        "common practice",
    ),
    Entry::truth(
        "feedback_given",
        "Results were given during a test: a test's session records feedback on results, or both. Absent where no test's session records its feedback.",
        "Salmoni, Schmidt & Walter 1984",
    ),
];
