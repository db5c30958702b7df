//! No post-test.

use super::missing_test::report_if_missing;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;

/// No post-test.
pub const CHECK: Check = Check {
    id: "testing.no-post-test",
    weight: Weight::Concern,
    title: "no post-test",
    explanation: Explanation {
        looks_at: "Whether the primary measure has scored trials of a post-test.",
        matters: "Scores from practice are taken under feedback and changing tasks: without a post-test there is nothing that compares fairly with the pre-test.",
        example: "A pre-test, then practice up to the last session.",
        remedy: "Test after the last practice under the conditions of the pre-test, without feedback.",
        source: "Magill & Anderson, Motor Learning and Control, on inferring learning from tests before and after practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report_if_missing(
        seen,
        findings,
        &CHECK,
        Phase::POST,
        "Your logbook has no scored post-test, so there is nothing that compares fairly with your pre-test: practice scores are taken with feedback and changing tasks. Next time, end practice with a test under the conditions of the pre-test.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::missing_test::tests::misses;

    #[test]
    fn it_is_missed_where_it_has_no_scored_trial_and_not_where_nothing_is_scored() {
        misses(&CHECK, Phase::POST);
    }
}
