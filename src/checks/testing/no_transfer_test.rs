//! No transfer test.

use super::missing_test::report_if_missing;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;

/// No transfer test.
pub const CHECK: Check = Check {
    id: "testing.no-transfer-test",
    weight: Weight::Concern,
    title: "no transfer test",
    explanation: Explanation {
        looks_at: "Whether the primary measure has scored trials of a transfer test.",
        matters: "Learning shows in what the learner can do in a situation that was not practised; a retention test alone can't show that.",
        example: "Pre-test, post-test and retention test, all at the distance that was practised.",
        remedy: "Add a test in which exactly one thing differs from what was practised, and say which.",
        source: "Magill & Anderson, Motor Learning and Control, on adaptability as a sign of learning",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report_if_missing(
        seen,
        findings,
        &CHECK,
        Phase::TRANSFER,
        "Your logbook has no scored transfer test, so it can't be seen whether what was learned carries over. Next time, add a test in which one thing was never practised (a distance, a target, an opponent), and say what you changed.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::missing_test::tests::misses;

    #[test]
    fn it_is_missed_where_it_has_no_scored_trial_and_not_where_nothing_is_scored() {
        misses(&CHECK, Phase::TRANSFER);
    }
}
