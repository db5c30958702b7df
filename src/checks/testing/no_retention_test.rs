//! No retention test.

use super::missing_test::report_if_missing;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;

/// No retention test.
pub const CHECK: Check = Check {
    id: "testing.no-retention-test",
    weight: Weight::Concern,
    title: "no retention test",
    explanation: Explanation {
        looks_at: "Whether the primary measure has scored trials of a retention test.",
        matters: "A post-test shows performance at the end of practice; what stays after a time without practice shows learning.",
        example: "A pre-test and a post-test, and the report says that the learner has learned.",
        remedy: "Test again a day or more after the last practice, under the conditions of the post-test and without warm-up practice.",
        source: "Soderstrom & Bjork 2015; Kantak & Winstein 2012",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report_if_missing(
        seen,
        findings,
        &CHECK,
        Phase::RETENTION,
        "Your logbook has no scored retention test. Your post-test shows how well your learner performed at the end of practice; whether it lasted can't be seen. Next time, repeat the test some days after the last practice; for now, write “performance” where you have only a post-test.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::testing::missing_test::tests::misses;

    #[test]
    fn it_is_missed_where_it_has_no_scored_trial_and_not_where_nothing_is_scored() {
        misses(&CHECK, Phase::RETENTION);
    }
}
