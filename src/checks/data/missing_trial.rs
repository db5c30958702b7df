//! A gap in trial numbers, or a recorded trial with no score.

use crate::checks::seen::TestBlock;
use crate::checks::wording::the_phase;
use crate::checks::{Check, Explanation, Finding, Findings, Run, Seen, Weight};
use crate::facts::record::SessionTrials;
use crate::logbook::model::Score;
use crate::phase::PhaseKind;
use crate::place::Place;

/// A gap in trial numbers, or a recorded trial with no score.
pub const CHECK: Check = Check {
    id: "data.missing-trial",
    weight: Weight::Query,
    title: "a trial without a score",
    explanation: Explanation {
        looks_at: "Recorded trials whose score cell is empty or holds what stands for missing, and gaps in the trial numbers within a session.",
        matters: "Which trials are missing matters as much as how many: if the bad ones were left out, the mean is too good. A missing score is never counted as zero.",
        example: "Trials 1, 2, 3, 5, 6: trial 4 is not there.",
        remedy: "Enter the score if it was recorded; else keep the row, leave the score empty and say why in the notes.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.logbook.trials.is_empty() {
        findings.could_not(CHECK.id, "there are no trials");
        return;
    }
    for test in seen.blocks() {
        if test.block.phase.kind == PhaseKind::Familiarisation {
            continue;
        }
        for session in &test.block.sessions {
            without_score(seen, findings, test, session);
            gaps(seen, findings, test, session);
        }
    }
}

fn without_score(seen: &Seen, findings: &mut Findings, test: TestBlock, session: &SessionTrials) {
    for trial in session.trials.iter().filter(|trial| trial.score.is_none()) {
        let Some(row) = seen.logbook.trials.get(trial.row) else {
            continue;
        };
        // Scores off the scale and texts have findings of their own.
        if row.score == Score::Missing {
            let which = format!("Trial {}{}", trial.number, of_session(seen, test, session));
            findings.add(finding(
                &format!("{which} has no score."),
                &format!(
                    "{which} is recorded without a score; it was left out, not counted as zero."
                ),
                vec![row.place.clone()],
                "no score".to_owned(),
            ));
        }
    }
}

fn gaps(seen: &Seen, findings: &mut Findings, test: TestBlock, session: &SessionTrials) {
    let numbered: Vec<(u32, Place)> = session
        .trials
        .iter()
        .filter_map(|trial| {
            let row = seen.logbook.trials.get(trial.row)?;
            Some((row.number?, row.place.clone()))
        })
        .collect();
    if let Some((first, place)) = numbered.first()
        && *first > 1
        && !continues(test, *first)
    {
        let which = numbers(1, first - 1);
        findings.add(gap(seen, test, session, &which, vec![place.clone()]));
    }
    for pair in numbered.windows(2) {
        if let [(before, at), (after, next)] = pair
            && after.saturating_sub(*before) > 1
        {
            let which = numbers(before + 1, after - 1);
            findings.add(gap(
                seen,
                test,
                session,
                &which,
                vec![next.clone(), at.clone()],
            ));
        }
    }
}

/// Whether a session that begins with this number takes up where another of its measure ends: trials can be numbered right through.
fn continues(test: TestBlock, first: u32) -> bool {
    test.record
        .blocks
        .iter()
        .flat_map(|block| &block.sessions)
        .any(|session| {
            session
                .trials
                .last()
                .is_some_and(|last| last.number.checked_add(1) == Some(first))
        })
}

fn numbers(first: u32, last: u32) -> String {
    if first == last {
        format!("trial {first}")
    } else {
        format!("trials {first} to {last}")
    }
}

fn gap(
    seen: &Seen,
    test: TestBlock,
    session: &SessionTrials,
    which: &str,
    at: Vec<Place>,
) -> Finding {
    let of = of_session(seen, test, session);
    finding(
        &format!("The trial numbers have a gap{of}: {which} not there."),
        &format!("Your record has no {which}{of}."),
        at,
        format!("no {which}"),
    )
}

fn finding(message: &str, seen: &str, places: Vec<Place>, stands: String) -> Finding {
    CHECK
        .finding(
            message,
            format!("{seen} If the score was recorded, enter it; if not, keep the row empty and say why, so that a reader can tell a missed trial from one left out."),
        )
        .at(places, stands)
}

/// ` of the post-test of distance, session 3`.
fn of_session(seen: &Seen, test: TestBlock, session: &SessionTrials) -> String {
    let number = session
        .number
        .map_or_else(String::new, |number| format!(", session {number}"));
    format!(
        " of {}{}{number}",
        the_phase(test.block.phase),
        seen.of_measure(test.measure)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    #[test]
    fn a_recorded_trial_without_a_score_is_found_in_its_cell() {
        let mut sample = Sample::sound();
        let place = {
            let trial = sample.trials(Phase::PRACTICE).nth(3).unwrap();
            trial.score = Score::Missing;
            trial.place.clone()
        };
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places, [place]);
        assert!(
            finding
                .message
                .starts_with("Trial 4 of practice, session 2")
        );
    }

    #[test]
    fn a_second_raters_empty_cell_leaves_a_score() {
        let mut sample = Sample::sound();
        let second = sample
            .trials(Phase::POST)
            .find(|trial| trial.rater.as_deref() == Some("second"));
        second.unwrap().score = Score::Missing;
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn a_gap_in_the_numbers_is_found_between_its_neighbours() {
        let mut sample = Sample::sound();
        sample.logbook.trials.retain(|trial| {
            trial.phase != Some(Phase::POST) || !matches!(trial.number, Some(5 | 6))
        });
        let finding = only(sample.found(&CHECK));
        assert!(
            finding.message.contains("trials 5 to 6"),
            "{}",
            finding.message
        );
        assert_eq!(finding.places.len(), 2);
    }

    #[test]
    fn numbers_that_run_on_through_the_sessions_have_no_gap_at_their_beginning() {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::PRACTICE) {
            let before = (trial.session.unwrap() - 2) * 6;
            trial.number = trial.number.map(|number| number + before);
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample
            .logbook
            .trials
            .retain(|trial| trial.number != Some(1) || trial.phase != Some(Phase::PRE));
        let finding = only(sample.found(&CHECK));
        assert!(finding.message.contains("trial 1 "), "{}", finding.message);
    }

    #[test]
    fn without_trials_there_is_nothing_to_check() {
        not_checked(&Sample::sound().without_trials().run(&CHECK));
    }
}
