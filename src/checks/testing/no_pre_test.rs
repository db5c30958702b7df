//! No pre-test.

use super::missing_test::report_if_missing;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;

/// No pre-test.
pub const CHECK: Check = Check {
    id: "testing.no-pre-test",
    weight: Weight::Concern,
    title: "no pre-test",
    explanation: Explanation {
        looks_at: "Whether the primary measure has scored trials of a pre-test.",
        matters: "Without a pre-test nobody can say how much of the final level was there before practice began.",
        example: "Practice and a post-test, but nothing before the first practice.",
        remedy: "Test before the first practice: same task, same conditions and as many trials as in the post-test, without feedback.",
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
        Phase::PRE,
        "Your logbook has no scored pre-test, so it can't be said how much of your learner's level was there before practice. Next time, test before the first practice, with the task and number of trials of the post-test and without feedback; for now, say plainly what you can and can't conclude.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::missing_test::tests::misses;

    #[test]
    fn it_is_missed_where_it_has_no_scored_trial_and_not_where_nothing_is_scored() {
        misses(&CHECK, Phase::PRE);
    }
}
