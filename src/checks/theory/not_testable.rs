//! This design can't test the theory named.

use super::named::{as_named, places, predictions, sentence, text, why_not_judged};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Ladder;

/// This design can't test the theory named.
pub const CHECK: Check = Check {
    id: "theory.not-testable",
    weight: Weight::Concern,
    title: "a theory that this design can't test",
    explanation: Explanation {
        looks_at: "For each prediction of the theory named, whether this record holds what is needed for it to show; predictions that need a comparison of learners or conditions can't show in one learner's record.",
        matters: "Data that could not have come out otherwise support nothing: only a prediction that could have failed counts.",
        example: "“Our data support contextual interference”, with one learner and random practice only.",
        remedy: "Say that the design can't test the theory, and what would.",
        source: "common practice; the predictions and their sources are in theories.toml",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if let Some(why) = seen.left_open() {
        findings.could_not(CHECK.id, why);
        return;
    }
    let verdict = &seen.judgements.theory;
    if let Some(why) = why_not_judged(verdict.ladder) {
        findings.could_not(CHECK.id, why);
        return;
    }
    if verdict.ladder != Ladder::NotTestable {
        return;
    }
    let theories = as_named(seen, verdict);
    let designs: Vec<String> = predictions(verdict)
        .filter(|prediction| !prediction.design.is_empty())
        .map(|prediction| sentence(&prediction.design))
        .collect();
    let would = if designs.is_empty() {
        String::new()
    } else {
        format!(" What would test it: {}", designs.join(" Or: "))
    };
    findings.add(
        CHECK
            .finding(
                verdict.sentence.clone(),
                format!("You name {theories}. Your record can neither support it nor speak against it, because nothing in it could have come out differently if the theory were wrong.{would} Saying so, and why, makes your report stronger."),
            )
            .at(places(seen), text(seen)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn a_design_that_cant_test_it_is_found_with_what_would() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.theory.ladder = Ladder::NotTestable;
        let finding = only(sample.found(&CHECK));
        assert!(
            finding
                .comment
                .contains("What would test it: More sessions."),
            "{}",
            finding.comment
        );
        sample.judgements.theory.ladder = Ladder::NotNamed;
        not_checked(&sample.run(&CHECK));
    }
}
