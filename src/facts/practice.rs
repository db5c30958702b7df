//! All practice trials together.

use super::catalogue::Entry;
use super::conditions::Conditions;
use super::subject::Subject;
use super::value::Facts;
use crate::phase::Phase;
use crate::stats::summary;

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

/// Records the facts of all practice trials together.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "practice") else {
        return;
    };
    let Some(block) = subject.blocks.block(Phase::PRACTICE) else {
        writer.nothing_else("no practice trial is recorded");
        return;
    };
    let scores = block.scores();
    writer.count("n", scores.len());
    writer.count("missing", block.missing());
    writer.number("mean", summary::mean(&scores));
    writer.number("sd", summary::sd(&scores));
    let conditions = Conditions::of(block, subject.logbook).count();
    if conditions == 0 {
        writer.absent("conditions", "practice trials record no condition");
    } else {
        writer.count("conditions", conditions);
    }
}
