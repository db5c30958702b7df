//! Facts that later steps add: from the claims, from stages and theories, and the counts of findings.

use super::catalogue::Entry;

use crate::thresholds::KEYS;

const RECOMPUTED: &str = "every claim recomputed from the trials";
const STAGES: &str = "the signs in stages.toml";
const THEORIES: &str = "the predictions in theories.toml";

pub(super) const CLAIMS: &[Entry] = &[
    Entry::number(
        "count",
        "claims",
        "Numbers that the report states.",
        RECOMPUTED,
    ),
    Entry::number(
        "agree",
        "claims",
        "Claims that are what the trials give, at the precision at which they were stated.",
        RECOMPUTED,
    ),
    Entry::number(
        "differ",
        "claims",
        "Claims that are not what the trials give.",
        RECOMPUTED,
    ),
    Entry::number(
        "conventions",
        "claims",
        "Of the claims that differ, those that a convention or a way of rounding gives (population sd, means of means, cut-off digits …), those that scores which could not be read may make right, and what follows from them: a question to the pair, not an error.",
        "the slips that are marked as conventions in `evenhand explain`",
    ),
    Entry::number(
        "impossible",
        "claims",
        "Claims that no set of scores of that scale and number can give.",
        RECOMPUTED,
    ),
    Entry::number(
        "not_recomputable",
        "claims",
        "Claims for which there is nothing to recompute them from.",
        RECOMPUTED,
    ),
];

pub(super) const STAGE: &[Entry] = &[
    Entry::text(
        "start_verdict",
        "Whether the record's signs bear out the stage diagnosed at the start: supported, not supported, undecided, no evidence, not diagnosed or unknown.",
        STAGES,
    ),
    Entry::text(
        "end_verdict",
        "Whether the record's signs bear out the stage diagnosed at the end: the same words.",
        STAGES,
    ),
];

pub(super) const THEORY: &[Entry] = &[
    Entry::text(
        "verdict",
        "What the data can say of the theory that the report names: not named, unknown, not testable, contradicted, not borne out, undecided or as predicted.",
        THEORIES,
    ),
    Entry::number(
        "testable",
        "predictions",
        "Predictions of that theory that this programme can test on one learner.",
        THEORIES,
    ),
    Entry::number(
        "met",
        "predictions",
        "Of these, those that the data bear out.",
        THEORIES,
    ),
    Entry::number(
        "contradicted",
        "predictions",
        "Predictions of that theory that the data contradict.",
        THEORIES,
    ),
];

/// One a threshold, under its own key.
pub(super) const THRESHOLDS: &[Entry] = &threshold_entries();

const fn threshold_entries() -> [Entry; KEYS.len()] {
    let mut entries = [Entry::number(
        "",
        "the threshold's own",
        "The threshold of that name in force for this course; set under [thresholds], so that one change reaches checks, conditions and sentences.",
        "[thresholds] of the rubric or of cohort.toml, else the defaults",
    ); KEYS.len()];
    let mut at = 0;
    while at < KEYS.len() {
        entries[at].name = KEYS[at];
        at += 1;
    }
    entries
}

/// Findings of one check, counted.
pub(super) static FINDINGS: Entry = Entry::number(
    "findings[\"check.id\"]",
    "findings",
    "Findings of one check for this pair, by the check's id: 0 where it looked and found nothing.",
    "the checks",
);
