//! The record shows the opposite of what the theory named predicts.

use super::named::{as_named, places, predictions, sentence, text, titles, why_not_judged};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Pattern;

/// The record shows the opposite of what the theory named predicts.
pub const CHECK: Check = Check {
    id: "theory.contradicted",
    weight: Weight::Concern,
    title: "data that run against the theory named",
    explanation: Explanation {
        looks_at: "The predictions of the theory named that this record could test: whether the opposite of one shows.",
        matters: "A theory that is said to be supported by data showing the opposite has not been set against them.",
        example: "A smooth power law is named, and one session's rise is larger than a smooth learner shows.",
        remedy: "Report what the data show, and what that means for the theory with one learner; look at the rivals.",
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
    let mut opposite = Vec::new();
    for prediction in
        predictions(verdict).filter(|prediction| prediction.pattern == Pattern::Opposite)
    {
        let predicted = sentence(&prediction.states);
        opposite.push(match &prediction.shows {
            Some(shows) => format!("predicted: {predicted} Your record: {}", sentence(shows)),
            None => format!("predicted: {predicted}"),
        });
    }
    if opposite.is_empty() {
        return;
    }
    let theories = titles(verdict);
    let opposite = opposite.join(" Also ");
    let named = as_named(seen, verdict);
    findings.add(
        CHECK
            .finding(
                format!("{theories}, {opposite} The opposite shows."),
                format!("You name {named}; {opposite} That is the opposite of the prediction. One learner doesn't refute a theory, but your data don't support it either: report what they show, and discuss what else could explain it."),
            )
            .at(places(seen), text(seen)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::judgement::Ladder;

    #[test]
    fn the_opposite_of_a_prediction_is_found_with_the_pairs_numbers() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.theory.theories[0].predictions[0].pattern = Pattern::Opposite;
        sample.judgements.theory.ladder = Ladder::Contradicted;
        let finding = only(sample.found(&CHECK));
        assert!(
            finding.comment.contains("Your record: Slope 0.2."),
            "{}",
            finding.comment
        );
        sample.judgements.theory.ladder = Ladder::Unknown;
        not_checked(&sample.run(&CHECK));
    }
}
