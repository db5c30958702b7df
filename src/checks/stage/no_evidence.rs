//! The record has too few signs to speak for or against the stage named.

use super::diagnosis::Diagnosis;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::{Speaks, Verdict};
use crate::wording::shortened;

/// The record has too few signs to speak for or against the stage named.
pub const CHECK: Check = Check {
    id: "stage.no-evidence",
    weight: Weight::Query,
    title: "a stage without evidence in the record",
    explanation: Explanation {
        looks_at: "How many signs of the model are recorded for the stage named at the start, and at the end; fewer than three say nothing either way.",
        matters: "A diagnosis without evidence can be right and still can't be followed.",
        example: "A stage at the end, and no post-test, retention test or technique checklist.",
        remedy: "Record what the model looks at: spread of trials, errors, technique, retention, transfer, attention.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if let Some(why) = seen.left_open() {
        findings.could_not(CHECK.id, why);
        return;
    }
    for diagnosis in Diagnosis::with(seen, Verdict::NoEvidence) {
        let (when, text) = (diagnosis.when, shortened(diagnosis.text()));
        let signs = &diagnosis.verdict.signs;
        let absent: Vec<&str> = signs
            .iter()
            .filter(|sign| sign.speaks == Speaks::NotRecorded)
            .map(|sign| sign.looks_at.as_str())
            .collect();
        let could = if absent.is_empty() {
            String::new()
        } else {
            format!(" What could be recorded for it: {}.", absent.join("; "))
        };
        let sentence = &diagnosis.verdict.sentence;
        findings.add(
            CHECK
                .finding(
                    format!("“{text}” {when}: {sentence}"),
                    format!("You diagnosed “{text}” {when}, and your logbook holds too little to say anything for or against it.{could} Describe in your report what you saw that decided."),
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
    fn too_few_signs_are_found_at_the_diagnosis_that_they_leave_open() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.start = stage(Verdict::NoEvidence);
        let finding = only(sample.found(&CHECK));
        assert_eq!(
            finding.places,
            [sample.logbook.about.stage_before.clone().unwrap().place]
        );
        assert!(
            finding
                .comment
                .contains("could be recorded for it: attention"),
            "{}",
            finding.comment
        );
    }
}
