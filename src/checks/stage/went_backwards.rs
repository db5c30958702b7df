//! The stage at the end comes before the one at the start.

use super::diagnosis::Diagnosis;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::{Moment, Verdict};

/// The stage at the end comes before the one at the start.
pub const CHECK: Check = Check {
    id: "stage.went-backwards",
    weight: Weight::Concern,
    title: "a stage at the end before the one at the start",
    explanation: Explanation {
        looks_at: "The two stages named in About, in the order of their model.",
        matters: "Learners can lose ground, but then something happened that the report should speak of; more often a first diagnosis was too high, or two cells were swapped.",
        example: "“autonomous” at the start, “associative” at the end.",
        remedy: "Check both cells; if they are as meant, say what explains the step back.",
        source: "Fitts & Posner 1967",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let (start, end) = (
        Diagnosis::of(seen, Moment::Start),
        Diagnosis::of(seen, Moment::End),
    );
    let Some(says) = &seen.judgements.went_backwards else {
        let named = |diagnosis: &Diagnosis| {
            !matches!(
                diagnosis.verdict.verdict,
                Verdict::NotDiagnosed | Verdict::Unknown
            )
        };
        if !(named(&start) && named(&end)) {
            findings.could_not(
                CHECK.id,
                "not both stages are named in the words of a known model",
            );
        }
        return;
    };
    findings.add(
        CHECK
            .finding(
                says.clone(),
                format!("{says} Check that both are as you meant. If they are, say what explains the step back, or whether the first diagnosis was too high: that is a fair thing to find out in a programme."),
            )
            .at(
                vec![end.place(seen), start.place(seen)],
                format!("{}; {}", start.text(), end.text()),
            ),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only, stage};

    #[test]
    fn a_step_back_is_found_with_both_cells() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.went_backwards =
            Some("The stage at the end comes before the one at the start.".into());
        assert_eq!(only(sample.found(&CHECK)).places.len(), 2);
    }

    #[test]
    fn without_two_stages_it_is_not_checked() {
        let mut sample = Sample::sound();
        sample.judgements.end = stage(Verdict::NotDiagnosed);
        not_checked(&sample.run(&CHECK));
    }
}
