//! Most practice sessions don't say which feedback was given.

use super::recorded_share::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::Session;

/// Most practice sessions don't say which feedback was given.
pub const CHECK: Check = Check {
    id: "programme.feedback-not-recorded",
    weight: Weight::Concern,
    title: "feedback is not recorded",
    explanation: Explanation {
        looks_at: "The share of practice sessions whose feedback, or share of trials followed by feedback, is recorded; “none” is a record.",
        matters: "How much feedback was given, and whether it became less, is a main thing that a coach decides: without a record nobody can say what it did.",
        example: "Eight practice sessions, three of them with an entry under feedback.",
        remedy: "Note for each session what was told (results, technique, both or none) and after how many trials.",
        source: "Salmoni, Schmidt & Walter 1984; Winstein & Schmidt 1990",
    },
    thresholds: &["recorded_share"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(
        seen,
        findings,
        &CHECK,
        "programme.feedback_recorded",
        "the feedback given",
        |row: &Session| row.feedback.is_some() || row.feedback_percent.is_some(),
        "Note for each session what you told the learner (results, technique, both or none) and after how many trials, so that a reader can see how feedback was used and whether it became less.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::programme::recorded_share::tests::below_half_is_found;

    #[test]
    fn fewer_than_half_of_the_sessions_are_found_with_the_rows_that_lack_it() {
        below_half_is_found(&CHECK, "programme.feedback_recorded", |row| {
            row.feedback = None;
        });
    }
}
