//! A score outside its measure's scale.

use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::facts::record::Why;
use crate::logbook::model::Measure;
use crate::number::plain;

/// A score outside its measure's scale.
pub const CHECK: Check = Check {
    id: "data.out-of-scale",
    weight: Weight::Error,
    title: "a score outside the scale",
    explanation: Explanation {
        looks_at: "Every score, each rater's by itself, against the lowest and highest score of its measure.",
        matters: "A score that the scale does not have can't be right, and one such score can move a mean of ten trials by half a point; it enters no number here.",
        example: "A 5 on a scale from 1 to 4, or a 0 for a missed trial on a scale that begins at 1.",
        remedy: "Look the trial up in your notes or video and correct the score; if the scale is wrong, correct it in Measures.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let has_ends = |measure: &Measure| measure.lowest.is_some() || measure.highest.is_some();
    if !seen.logbook.measures.iter().any(has_ends) {
        findings.could_not(CHECK.id, "no measure has a lowest or highest score");
        return;
    }
    for aside in &seen.record.set_aside {
        let Why::OutOfScale(score) = aside.why else {
            continue;
        };
        let Some(trial) = seen.logbook.trials.get(aside.row) else {
            continue;
        };
        let Some(measure) = seen.logbook.measures.get(trial.measure) else {
            continue;
        };
        let score = plain(score);
        let scale = scale(measure);
        let of = seen.of_measure(measure);
        findings.add(
            CHECK
                .finding(
                    format!("The score {score}{of} lies outside the scale, {scale}. It enters no number."),
                    format!("You recorded {score}{of}, but the scale runs {scale}, so this trial could not be counted. Check it against your notes or video and correct it; if your scale is different, say so in Measures."),
                )
                .at(vec![trial.place.clone()], score),
        );
    }
}

/// The ends of a scale as the rest of “the scale runs …”.
fn scale(measure: &Measure) -> String {
    match (measure.lowest, measure.highest) {
        (Some(low), Some(high)) => format!("from {} to {}", plain(low), plain(high)),
        (Some(low), None) => format!("from {} upwards", plain(low)),
        (None, Some(high)) => format!("up to {}", plain(high)),
        (None, None) => String::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;
    use crate::phase::Phase;

    fn with_first_post_score(score: f64) -> Sample {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::POST).take(1) {
            trial.score = Score::Number(score);
        }
        sample
    }

    #[test]
    fn a_five_on_a_scale_to_four_is_found_in_its_cell() {
        let mut sample = with_first_post_score(5.0);
        let finding = only(sample.found(&CHECK));
        let place = sample.trials(Phase::POST).next().unwrap().place.clone();
        assert_eq!(finding.places, [place]);
        assert!(finding.message.contains("from 1 to 4"));
        assert_eq!(finding.stands, "5");
    }

    #[test]
    fn the_ends_belong_to_the_scale_and_familiarisation_is_not_looked_at() {
        assert_eq!(with_first_post_score(4.0).found(&CHECK), Vec::new());
        let mut sample = with_first_post_score(9.0);
        for trial in sample.trials(Phase::POST).take(1) {
            trial.phase = Some(Phase::first(crate::phase::PhaseKind::Familiarisation));
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_ends_there_is_nothing_to_check_against() {
        let mut sample = with_first_post_score(5.0);
        for measure in &mut sample.logbook.measures {
            (measure.lowest, measure.highest) = (None, None);
        }
        not_checked(&sample.run(&CHECK));
    }
}
