//! Results were given during a test.

use crate::checks::wording::the_phase;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::{Feedback, Session};
use crate::phase::Phase;
use crate::place::Place;
use crate::wording::capitalised;

/// Results were given during a test.
pub const CHECK: Check = Check {
    id: "testing.feedback-in-test",
    weight: Weight::Concern,
    title: "results given during a test",
    explanation: Explanation {
        looks_at: "The feedback recorded for the sessions of tests: whether results, or results and technique, were given.",
        matters: "Feedback lifts performance while it is there. A test with it can't show what the learner does alone.",
        example: "The retention test's session records feedback “both”.",
        remedy: "Give no results during tests; tell the learner afterwards. What the learner sees by looking is unavoidable, and worth saying.",
        source: "Salmoni, Schmidt & Walter 1984",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut tests: Vec<(Phase, Vec<Place>)> = Vec::new();
    let mut recorded = false;
    for session in &seen.logbook.sessions {
        let (Some(phase), Some(feedback)) = (test_of(seen, session), session.feedback) else {
            continue;
        };
        recorded = true;
        if !matches!(feedback, Feedback::Results | Feedback::Both) {
            continue;
        }
        let place = session
            .feedback_place
            .as_ref()
            .unwrap_or(&session.place)
            .clone();
        match tests.iter_mut().find(|(known, _)| *known == phase) {
            Some((_, places)) => places.push(place),
            None => tests.push((phase, vec![place])),
        }
    }
    if !recorded {
        findings.could_not(CHECK.id, "no test's session records its feedback");
    }
    tests.sort_by_key(|(phase, _)| *phase);
    for (phase, places) in tests {
        let which = the_phase(phase);
        findings.add(
            CHECK
                .finding(
                    format!("{} records feedback on results during the test.", capitalised(&which)),
                    format!("Your record says that results were given during {which}. Feedback lifts performance while it lasts, so this test can't show what your learner does without it. Hold back results in every test and give them afterwards; in this report, say what the feedback may have done."),
                )
                .at(places, "results given"),
        );
    }
}

/// The test of a session: by its own phase, or, where it names none, by its trials if all are of one test.
fn test_of(seen: &Seen, session: &Session) -> Option<Phase> {
    let phase = if session.phase.is_some() {
        session.phase
    } else {
        of_its_trials(seen, session.number?)
    }?;
    phase.kind.is_test().then_some(phase)
}

/// The phase of all of a session's trials; none where they are of several.
fn of_its_trials(seen: &Seen, number: u32) -> Option<Phase> {
    let trials = seen.logbook.trials.iter();
    let mut phases = trials
        .filter(|trial| trial.session == Some(number))
        .map(|trial| trial.phase);
    let first = phases.next()??;
    phases.all(|phase| phase == Some(first)).then_some(first)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn with_feedback(phase: Phase, feedback: Option<Feedback>) -> Sample {
        let mut sample = Sample::sound();
        for session in sample.sessions(phase) {
            session.feedback = feedback;
        }
        sample
    }

    #[test]
    fn results_in_the_retention_test_are_found_in_their_cell() {
        for feedback in [Feedback::Results, Feedback::Both] {
            let mut sample = with_feedback(Phase::RETENTION, Some(feedback));
            let finding = only(sample.found(&CHECK));
            let session = sample.sessions(Phase::RETENTION).next().unwrap();
            assert_eq!(finding.places, [session.feedback_place.clone().unwrap()]);
        }
    }

    #[test]
    fn a_session_without_a_phase_goes_by_its_trials() {
        let mut sample = with_feedback(Phase::POST, Some(Feedback::Both));
        for session in sample.sessions(Phase::POST) {
            session.phase = None;
        }
        assert!(
            only(sample.found(&CHECK))
                .message
                .starts_with("The post-test")
        );
    }

    #[test]
    fn none_and_technique_in_a_test_and_results_in_practice_are_not_found() {
        assert_eq!(
            with_feedback(Phase::POST, Some(Feedback::Technique)).found(&CHECK),
            Vec::new()
        );
        assert_eq!(
            with_feedback(Phase::PRACTICE, Some(Feedback::Results)).found(&CHECK),
            Vec::new()
        );
    }

    #[test]
    fn where_no_test_records_its_feedback_it_is_not_checked() {
        let mut sample = Sample::sound();
        for session in &mut sample.logbook.sessions {
            session.feedback = None;
        }
        not_checked(&sample.run(&CHECK));
    }
}
