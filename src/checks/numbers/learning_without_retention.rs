//! A lasting change is claimed without a retention test that shows it.

use super::improvement::Change;
use crate::checks::wording::{in_force, percent};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::readable;
use crate::phase::Phase;
use crate::place::Place;

/// A lasting change is claimed without a retention test that shows it.
pub const CHECK: Check = Check {
    id: "numbers.learning-without-retention",
    weight: Weight::Concern,
    title: "learning claimed without a retention test that shows it",
    explanation: Explanation {
        looks_at: "Where About says that a lasting change took place: whether there is a retention test of the primary measure, and whether its mean is beyond noise better than the pre-test's.",
        matters: "Learning is what lasts. A good post-test can come from what fades within a day; only a later test tells them apart.",
        example: "“learning claimed: yes”, and the retention test back at the level of the pre-test.",
        remedy: "Write of performance where only a post-test stands, and of learning where retention shows it.",
        source: "Soderstrom & Bjork 2015; Kantak & Winstein 2012",
    },
    thresholds: &["beyond_noise"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let Some(claimed) = seen
        .logbook
        .about
        .learning_claimed
        .as_ref()
        .filter(|claimed| claimed.value)
    else {
        findings.could_not(
            CHECK.id,
            "About does not say that a lasting change took place",
        );
        return;
    };
    if !seen.has_scores() {
        findings.could_not(CHECK.id, "no trial has a score");
        return;
    }
    let mut places: Vec<Place> = vec![claimed.place.clone()];
    let scored = |phase| seen.block(0, phase).filter(|test| test.n() > 0);
    let Some(retention) = scored(Phase::RETENTION) else {
        findings.add(
            CHECK
                .finding(
                    "A lasting change is claimed, and there is no scored retention test.",
                    "You write that a lasting change took place. Your tests end with the last practice, so they show improved performance; whether it lasted needs a test after some days without practice. Write “performance”, or add a retention test next time.",
                )
                .at(places, "no retention test"),
        );
        return;
    };
    let Some(before) = scored(Phase::PRE) else {
        findings.could_not(
            CHECK.id,
            "there is no scored pre-test to compare the retention test with",
        );
        return;
    };
    let Some(change) = Change::of(seen, before, retention) else {
        return;
    };
    let beyond = match change.is_beyond_noise() {
        Some(beyond) => beyond,
        // Neither block varies: what differs, differs; equal blocks show no change.
        None if before.n() > 1 && retention.n() > 1 => change.better_by > 0.0,
        None => {
            findings.could_not(
                CHECK.id,
                "the interval of the change to the retention test can't be computed",
            );
            return;
        }
    };
    if beyond {
        return;
    }
    places.extend(seen.cells(retention.block));
    places.extend(seen.cells(before.block));
    let (was, is) = (readable(change.before), readable(change.after));
    let level = percent(seen.thresholds.beyond_noise);
    // What an interval leaves open is said of one that holds no change alone: one wholly on the worse side says that it got worse.
    let leaves_open = match change.interval {
        Ok((_, high)) if high < 0.0 => {
            "the retention test was worse than the pre-test, and by more than chance accounts for"
        }
        _ if change.better_by < 0.0 => {
            "the retention test was no better than the pre-test, so it doesn't show that anything lasted"
        }
        _ => "your data leave open whether anything lasted",
    };
    let interval = change.interval.map_or_else(
        |_| String::new(),
        |(low, high)| {
            format!(
                "; the {level} interval of the change for the better runs from {} to {}",
                readable(low),
                readable(high)
            )
        },
    );
    findings.add(
        CHECK
            .finding(
                format!("A lasting change is claimed, but the retention test (mean {is}) is not beyond noise better than the pre-test (mean {was}){interval} ({}).", in_force(seen.thresholds, "beyond_noise")),
                format!("You write that a lasting change took place. Your retention test has a mean of {is}, your pre-test had {was}{interval}: {leaves_open}. Say so, and discuss what the post-test showed beside what lasted."),
            )
            .at(places, format!("{was} / {is}")),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;

    #[test]
    fn a_retention_test_that_is_not_there_or_gave_the_gain_back_is_found() {
        assert_eq!(Sample::sound().found(&CHECK), Vec::new());
        let gone = Sample::sound().without(Phase::RETENTION);
        assert_eq!(
            only(gone.found(&CHECK)).places,
            [gone.logbook.about.learning_claimed.clone().unwrap().place]
        );
        let mut back = Sample::sound();
        let before: Vec<Score> = back
            .trials(Phase::PRE)
            .map(|trial| trial.score.clone())
            .collect();
        for (trial, score) in back.trials(Phase::RETENTION).zip(before) {
            trial.score = score;
        }
        let finding = only(back.found(&CHECK));
        assert!(
            finding.message.contains("mean 1.7") && finding.message.contains("interval"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn a_learner_who_got_worse_is_told_so_and_not_that_it_is_open() {
        let mut worse = Sample::sound();
        for (number, trial) in worse.trials(Phase::RETENTION).enumerate() {
            trial.score = Score::Number(if number % 5 == 0 { 1.1 } else { 1.0 });
        }
        for (number, trial) in worse.trials(Phase::PRE).enumerate() {
            trial.score = Score::Number(if number % 5 == 0 { 3.1 } else { 3.0 });
        }
        let comment = only(worse.found(&CHECK)).comment;
        assert!(
            comment.contains("was worse than the pre-test") && !comment.contains("leave open"),
            "{comment}"
        );
    }

    #[test]
    fn blocks_without_spread_are_compared_as_they_stand() {
        let mut sample = Sample::sound();
        for (phase, score) in [(Phase::PRE, 2.0), (Phase::RETENTION, 3.0)] {
            for trial in sample.trials(phase) {
                trial.score = Score::Number(score);
            }
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
        for trial in sample.trials(Phase::RETENTION) {
            trial.score = Score::Number(2.0);
        }
        only(sample.found(&CHECK));
    }

    #[test]
    fn where_nothing_lasting_is_claimed_it_is_not_checked() {
        let mut sample = Sample::sound().without(Phase::RETENTION);
        sample
            .logbook
            .about
            .learning_claimed
            .as_mut()
            .unwrap()
            .value = false;
        not_checked(&sample.run(&CHECK));
        not_checked(&Sample::sound().without(Phase::PRE).run(&CHECK));
        not_checked(&Sample::sound().without_trials().run(&CHECK));
    }
}
