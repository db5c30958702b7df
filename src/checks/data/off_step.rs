//! A score between the steps of its measure's scale.

use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::Score;
use crate::number::plain;

/// A score between the steps of its measure's scale.
pub const CHECK: Check = Check {
    id: "data.off-step",
    weight: Weight::Error,
    title: "a score between the steps of the scale",
    explanation: Explanation {
        looks_at: "Every score, each rater's by itself, against the steps of its measure, counted from its lowest score.",
        matters: "A half point on a scale of whole points is an average of raters, a changed scale or a slip: each means something else for the mean. The score counts as it stands.",
        example: "2.5 on a scale of 1, 2, 3, 4.",
        remedy: "Enter each rater's own score in a row of its own; if the scale has half points, say so under step in Measures.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if !seen
        .logbook
        .measures
        .iter()
        .any(|measure| measure.step.is_some())
    {
        findings.could_not(CHECK.id, "no measure has a step");
        return;
    }
    for row in &seen.record.off_step {
        let Some(trial) = seen.logbook.trials.get(*row) else {
            continue;
        };
        let (Some(measure), Score::Number(score)) =
            (seen.logbook.measures.get(trial.measure), &trial.score)
        else {
            continue;
        };
        let score = plain(*score);
        let step = measure.step.map(plain).unwrap_or_default();
        let of = seen.of_measure(measure);
        findings.add(
            CHECK
                .finding(
                    format!("The score {score}{of} lies between the scale's steps of {step}. It counts as it stands."),
                    format!("You recorded {score}{of}, but the scale goes in steps of {step}. If it is an average of two raters, give each rater's score in a row of its own; if the scale has finer steps, say so in Measures; else correct it."),
                )
                .at(vec![trial.place.clone()], score),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    fn with_half_a_point() -> Sample {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::PRE).take(1) {
            trial.score = Score::Number(2.5);
        }
        sample
    }

    #[test]
    fn half_a_point_on_a_whole_scale_is_found_in_its_cell() {
        let mut sample = with_half_a_point();
        let finding = only(sample.found(&CHECK));
        let place = sample.trials(Phase::PRE).next().unwrap().place.clone();
        assert_eq!(finding.places, [place]);
        assert!(finding.message.contains("2.5"));
    }

    #[test]
    fn half_a_point_on_a_scale_of_half_points_is_sound() {
        let mut sample = with_half_a_point();
        sample.logbook.measures[0].step = Some(0.5);
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_a_step_nothing_is_between_steps() {
        let mut sample = with_half_a_point();
        sample.logbook.measures[0].step = None;
        not_checked(&sample.run(&CHECK));
    }
}
