//! The same trial recorded twice.

use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::facts::record::Why;
use crate::logbook::model::{Score, Trial};
use crate::number::plain;

/// The same trial recorded twice.
pub const CHECK: Check = Check {
    id: "data.duplicate-trial",
    weight: Weight::Error,
    title: "a trial recorded twice",
    explanation: Explanation {
        looks_at: "Rows of the same measure, phase, session (else date), trial number and rater. The same trial with another named rater is a second rating, not a duplicate.",
        matters: "A trial that counts twice weighs twice in the mean and makes n too large; the first record counts here.",
        example: "Trial 4 of the post-test stands in two rows, with 3 and with 4.",
        remedy: "Keep the record that your notes bear out and delete the other; give a second rater's score with the rater's name.",
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
    for aside in &seen.record.set_aside {
        let Why::DuplicateOf(first) = aside.why else {
            continue;
        };
        let (Some(again), Some(first)) = (
            seen.logbook.trials.get(aside.row),
            seen.logbook.trials.get(first),
        ) else {
            continue;
        };
        let which = which_trial(again);
        let (kept, other) = (score_text(first), score_text(again));
        findings.add(
            CHECK
                .finding(
                    format!("{which} is recorded twice: {kept} in {}, {other} in {}. The first record counts.", first.place, again.place),
                    format!("{which} stands in your record twice ({kept} and {other}); we counted the first. Check which one is right and delete the other. If two people scored it, give both rows with the raters' names."),
                )
                .at(vec![again.place.clone(), first.place.clone()], format!("{other}; {kept}")),
        );
    }
}

fn which_trial(trial: &Trial) -> String {
    let number = trial
        .number
        .map_or_else(|| "A trial".to_owned(), |number| format!("Trial {number}"));
    let phase = trial.phase.map_or_else(String::new, |phase| {
        format!(" of {}", crate::checks::wording::the_phase(phase))
    });
    let session = trial
        .session
        .map_or_else(String::new, |session| format!(", session {session}"));
    format!("{number}{phase}{session}")
}

fn score_text(trial: &Trial) -> String {
    match &trial.score {
        Score::Number(score) => plain(*score),
        Score::Missing => "no score".to_owned(),
        Score::Unreadable(text) => format!("“{text}”"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    #[test]
    fn the_second_record_comes_first_and_then_the_one_that_counts() {
        let mut sample = Sample::sound();
        let mut again = sample.trials(Phase::POST).last().unwrap().clone();
        let first = again.place.clone();
        again.place = crate::place::Place::cell("P07.xlsx".into(), "Trials".into(), 900, 5);
        let second = again.place.clone();
        sample.logbook.trials.push(again);
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places, [second, first]);
        assert!(
            finding
                .message
                .starts_with("Trial 10 of the post-test, session 10 is")
        );
    }

    #[test]
    fn another_named_rater_is_a_second_rating() {
        let mut sample = Sample::sound();
        let mut again = sample.trials(Phase::POST).last().unwrap().clone();
        again.rater = Some("third".into());
        sample.logbook.trials.push(again);
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_trials_there_is_nothing_to_check() {
        not_checked(&Sample::sound().without_trials().run(&CHECK));
    }
}
