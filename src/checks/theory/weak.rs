//! The theory could be tested, and none of its predictions is borne out.

use super::named::{as_named, places, predictions, sentence, text, why_not_judged};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Ladder;

/// The theory could be tested, and none of its predictions is borne out.
pub const CHECK: Check = Check {
    id: "theory.weak",
    weight: Weight::Concern,
    title: "a theory that the data don't bear out",
    explanation: Explanation {
        looks_at: "The predictions of the theory named that this record could test: whether any shows as predicted. Where they are undecided, and where two theories are named that can't both be right, it is a query.",
        matters: "That a theory was not contradicted is not support; support is a prediction that could have failed and did not.",
        example: "A rise of variability before a change is predicted, and the spread stays the same.",
        remedy: "Say what was predicted and what showed; undecided is what data of this size often are.",
        source: "common practice; the predictions and their sources are in theories.toml",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let verdict = &seen.judgements.theory;
    if let Some(why) = why_not_judged(verdict.ladder) {
        findings.could_not(CHECK.id, why);
        return;
    }
    let theories = as_named(seen, verdict);
    let (weight, advice) = match verdict.ladder {
        Ladder::NotBorneOut => (
            Weight::Concern,
            "Write what the theory predicted and what your record shows instead, and what else could explain your learner's progress.",
        ),
        Ladder::Undecided => (
            Weight::Query,
            "Undecided is what data of this size can honestly say: write so, and say what a longer record would have to show.",
        ),
        _ if !verdict.contradictions.is_empty() => (
            Weight::Query,
            "Your data can't support two theories that exclude each other: say which of their predictions differ, and which of them your record shows.",
        ),
        Ladder::NotTestable => {
            findings.could_not(
                CHECK.id,
                "no prediction of the theory can be tested with this record",
            );
            return;
        }
        _ => return,
    };
    let mut shown = Vec::new();
    for prediction in predictions(verdict).filter(|prediction| prediction.pattern.is_testable()) {
        shown.push(format!("Predicted: {}", sentence(&prediction.states)));
        for text in [&prediction.shows, &prediction.chance]
            .into_iter()
            .flatten()
        {
            shown.push(sentence(text));
        }
    }
    findings.add(
        CHECK
            .finding(
                verdict.sentence.clone(),
                format!("You name {theories}. {} {advice}", shown.join(" ")),
            )
            .weighing(weight)
            .at(places(seen), text(seen)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::judgement::{Contradiction, Pattern};

    fn at(ladder: Ladder, pattern: Pattern) -> Sample {
        let mut sample = Sample::sound();
        sample.judgements.theory.ladder = ladder;
        sample.judgements.theory.theories[0].predictions[0].pattern = pattern;
        sample
    }

    #[test]
    fn not_borne_out_is_a_concern_and_undecided_a_query() {
        let finding = only(at(Ladder::NotBorneOut, Pattern::NotBorneOut).found(&CHECK));
        assert_eq!(finding.weight, Weight::Concern);
        assert!(
            finding.comment.contains("Slope 0.2."),
            "{}",
            finding.comment
        );
        let finding = only(at(Ladder::Undecided, Pattern::Undecided).found(&CHECK));
        assert_eq!(finding.weight, Weight::Query);
        assert_eq!(
            at(Ladder::AsPredicted, Pattern::AsPredicted).found(&CHECK),
            Vec::new()
        );
        assert_eq!(
            at(Ladder::Contradicted, Pattern::Opposite).found(&CHECK),
            Vec::new()
        );
    }

    #[test]
    fn two_theories_that_exclude_each_other_are_a_query() {
        let mut sample = at(Ladder::AsPredicted, Pattern::AsPredicted);
        sample.judgements.theory.contradictions.push(Contradiction {
            one: "dynamic systems".into(),
            other: "power law of practice".into(),
            because: "one predicts abrupt change, the other a smooth curve.".into(),
        });
        assert_eq!(only(sample.found(&CHECK)).weight, Weight::Query);
    }

    #[test]
    fn what_cant_be_tested_is_not_weak() {
        not_checked(&at(Ladder::NotTestable, Pattern::BeyondOneLearner).run(&CHECK));
        not_checked(&at(Ladder::NotNamed, Pattern::Undecided).run(&CHECK));
    }
}
