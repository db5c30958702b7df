//! A stage of learning that belongs to none of the course's models.

use super::diagnosis::Diagnosis;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Verdict;
use crate::wording::shortened;

/// A stage of learning that belongs to none of the course's models.
pub const CHECK: Check = Check {
    id: "stage.unknown",
    weight: Weight::Query,
    title: "a stage that no model has",
    explanation: Explanation {
        looks_at: "The stages named in About, against the models of stages.toml and their spellings.",
        matters: "A stage means something within its model: without one there is nothing to set the record against.",
        example: "“stage before: improver”.",
        remedy: "Use the words of one model (for example cognitive, associative, autonomous), and name the model.",
        source: "Fitts & Posner 1967; Gentile 1972; Vereijken et al. 1992",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    for diagnosis in Diagnosis::with(seen, Verdict::Unknown) {
        let (when, text) = (diagnosis.when, shortened(diagnosis.text()));
        findings.add(
            CHECK
                .finding(
                    format!("The stage {when}, “{text}”, belongs to no model that this course uses; a person has to read it."),
                    format!("You call the stage {when} “{text}”, which none of the models of this course has. Say which model you use and which of its stages you mean, so that a reader can follow your reasons."),
                )
                .at(vec![diagnosis.place(seen)], diagnosis.text()),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only, stage};

    #[test]
    fn a_stage_that_no_model_has_is_found_in_its_cell() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.end = stage(Verdict::Unknown);
        let finding = only(sample.found(&CHECK));
        assert_eq!(
            finding.places,
            [sample.logbook.about.stage_after.clone().unwrap().place]
        );
        assert!(finding.message.contains("“associative”"));
    }
}
