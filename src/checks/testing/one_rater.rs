//! Judgements that one person alone made.

use crate::checks::wording::{in_force, percent};
use crate::checks::{Check, Explanation, Finding, Findings, Run, Seen, Weight};
use crate::logbook::model::MeasureKind;
use crate::place::Place;

/// Judgements that one person alone made.
pub const CHECK: Check = Check {
    id: "testing.one-rater",
    weight: Weight::Query,
    title: "judgements of one person alone",
    explanation: Explanation {
        looks_at: "For measures that are ratings, the share of scored test trials that a second rater scored too; for technique, whether two observers rated it. Either is enough.",
        matters: "A coach who rates the learner hopes for a gain, and ratings drift with hope: a second opinion on part of the trials shows how far they can be relied on.",
        example: "All tests rated by the coach, and the checklist too.",
        remedy: "Have a second person rate a part of the test trials, from video and in mixed order, without knowing which test each is from.",
        source: "Hróbjartsson et al. 2013 on assessors who know what is hoped for",
    },
    thresholds: &["second_rated"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if let Some(why) = seen.unread() {
        findings.could_not(CHECK.id, why);
        return;
    }
    let mut first: Option<Finding> = None;
    let mut looked = false;
    for test_of in 0..seen.logbook.measures.len() {
        let is_rating = |kind| kind == MeasureKind::Rating;
        let tests: Vec<_> = seen
            .tests()
            .filter(|test| test.index == test_of && is_rating(test.measure.kind))
            .collect();
        let trials: Vec<_> = tests
            .iter()
            .flat_map(|test| test.block.trials())
            .filter(|trial| trial.score.is_some())
            .collect();
        if trials.is_empty() {
            continue;
        }
        looked = true;
        let twice = trials
            .iter()
            .filter(|trial| trial.ratings.len() > 1)
            .count();
        let share = twice as f64 / trials.len() as f64;
        if share + 1e-9 >= seen.thresholds.second_rated {
            return;
        }
        let of = tests
            .first()
            .map(|test| seen.of_measure(test.measure))
            .unwrap_or_default();
        let once = trials.iter().filter(|trial| trial.ratings.len() < 2);
        let places: Vec<Place> = once.filter_map(|trial| seen.place(trial.row)).collect();
        let message = format!(
            "{} of {} scored test trials{of} have a second rating ({}), and no second observer rated technique; {} or more are asked for ({}).",
            twice,
            trials.len(),
            percent(share),
            percent(seen.thresholds.second_rated),
            in_force(seen.thresholds, "second_rated")
        );
        first.get_or_insert_with(|| {
            CHECK
                .finding(message, comment())
                .at(places, format!("{twice} rated twice"))
        });
    }
    let rated: Vec<_> = seen
        .logbook
        .technique
        .iter()
        .filter(|row| row.rating.is_some())
        .collect();
    let mut observers: Vec<&str> = rated
        .iter()
        .filter_map(|row| row.observer.as_deref())
        .collect();
    observers.sort_unstable();
    observers.dedup();
    if observers.len() > 1 {
        return;
    }
    if !rated.is_empty() && first.is_none() && !looked {
        let places = rated.iter().map(|row| row.place.clone()).collect();
        first = Some(
            CHECK
                .finding("Technique was rated by one observer alone.", comment())
                .at(places, "one observer"),
        );
    }
    match first {
        Some(finding) => findings.add(finding),
        None => findings.could_not(
            CHECK.id,
            "there are neither ratings of trials nor of technique",
        ),
    }
}

fn comment() -> String {
    "Your ratings are one person's. How far they can be relied on shows when a second person rates part of the test trials, best from video, in mixed order and without knowing which test each is from. Add that next time, and name it as a limit of this report.".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn by_one_rater() -> Sample {
        let mut sample = Sample::sound();
        sample
            .logbook
            .trials
            .retain(|trial| trial.rater.as_deref() != Some("second"));
        sample
    }

    fn by_one_observer(mut sample: Sample) -> Sample {
        sample
            .logbook
            .technique
            .retain(|row| row.observer.as_deref() != Some("second"));
        sample
    }

    #[test]
    fn one_rater_and_one_observer_are_found_with_the_trials() {
        let finding = only(by_one_observer(by_one_rater()).found(&CHECK));
        assert_eq!(finding.weight, Weight::Query);
        assert_eq!(finding.places.len(), 40);
        assert!(finding.message.contains("0 of 40"), "{}", finding.message);
    }

    #[test]
    fn a_second_rater_of_some_trials_or_a_second_observer_is_enough() {
        assert_eq!(by_one_rater().found(&CHECK), Vec::new());
        assert_eq!(by_one_observer(Sample::sound()).found(&CHECK), Vec::new());
        let mut sample = by_one_observer(Sample::sound());
        sample.thresholds.second_rated = 0.31;
        assert!(only(sample.found(&CHECK)).message.contains("12 of 40"));
    }

    #[test]
    fn where_trials_are_measured_technique_is_looked_at() {
        let mut sample = by_one_observer(by_one_rater());
        sample.logbook.measures[0].kind = MeasureKind::Quantity;
        assert_eq!(only(sample.found(&CHECK)).places.len(), 4);
        sample.logbook.technique.clear();
        not_checked(&sample.run(&CHECK));
    }
}
