//! Practice is not recorded.

use super::practice;
use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;

/// Practice is not recorded.
pub const CHECK: Check = Check {
    id: "programme.no-practice-record",
    weight: Weight::Concern,
    title: "no record of practice",
    explanation: Explanation {
        looks_at: "Whether any practice trial has a score, and whether the Sessions table lists practice. Where sessions are listed without scores it is a query.",
        matters: "Without a record of practice there is nothing between the tests: no practice curve, and no word on what brought the change about.",
        example: "A pre-test and a post-test five weeks apart, and nothing in between.",
        remedy: "Record every practice session with its date, content and a few scored trials.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let scored = seen
        .blocks()
        .any(|test| test.block.phase == Phase::PRACTICE && test.n() > 0);
    if scored {
        return;
    }
    if let Some(why) = seen.left_open() {
        findings.could_not(CHECK.id, why);
        return;
    }
    let listed = practice::rows(seen).count();
    // Without any score at all, listed sessions are what there is; that nothing was scored is told once.
    if listed > 0 && !seen.has_scores() {
        findings.could_not(CHECK.id, "no trial has a score");
        return;
    }
    let finding = if listed > 0 {
        CHECK
            .finding(
                "Practice sessions are listed, but no practice trial has a score.",
                "Your logbook lists the practice sessions, but no scores from them, so there is no practice curve to look at. Score a few trials in every session next time: the curve shows when and how the change came.",
            )
            .weighing(Weight::Query)
    } else {
        CHECK.finding(
            "No practice session and no practice trial is recorded.",
            "Your logbook records no practice, so nobody can see what your learner did between the tests, or how progress went. Add every session with its date, content and scores; without them a change can't be put down to your programme.",
        )
    };
    let mut places: Vec<_> = practice::rows(seen).map(|row| row.place.clone()).collect();
    if places.is_empty() {
        places.push(seen.where_missing(TableName::Sessions));
    }
    findings.add(finding.at(places, "no practice scores"));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;

    #[test]
    fn nothing_recorded_is_a_concern_and_sessions_without_scores_a_query() {
        let mut sample = Sample::sound().without(Phase::PRACTICE);
        assert_eq!(only(sample.found(&CHECK)).weight, Weight::Query);
        sample
            .logbook
            .sessions
            .retain(|session| session.phase != Some(Phase::PRACTICE));
        assert_eq!(only(sample.found(&CHECK)).weight, Weight::Concern);
    }

    #[test]
    fn where_nothing_is_scored_that_is_told_elsewhere() {
        not_checked(&Sample::sound().without_trials().run(&CHECK));
    }

    #[test]
    fn one_scored_trial_is_a_record() {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::PRACTICE).skip(1) {
            trial.score = Score::Missing;
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
    }
}
