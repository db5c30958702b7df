//! No theory is named.

use super::named::places;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Ladder;

/// No theory is named.
pub const CHECK: Check = Check {
    id: "theory.not-named",
    weight: Weight::Query,
    title: "no theory named",
    explanation: Explanation {
        looks_at: "Whether About names the theory that the report says its data support.",
        matters: "A theory says what should be seen if it is right; without one the numbers describe one learner and explain nothing.",
        example: "“theory” is left empty.",
        remedy: "Name one theory, say what it predicts for your learner, and look whether that can be seen in your data.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.logbook.tables.about.is_none() {
        findings.could_not(CHECK.id, "there is no About table");
        return;
    }
    if seen.judgements.theory.ladder == Ladder::NotNamed {
        findings.add(
            CHECK
                .finding(
                    "No theory is named.",
                    "Your logbook names no theory. Choose one, write down what it would predict for your learner's curve and tests, and say whether your data could have shown it; “my data can't tell” is a good answer if you say why.",
                )
                .at(places(seen), "no theory"),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn no_theory_is_found() {
        let mut sample = Sample::sound();
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.judgements.theory.ladder = Ladder::NotNamed;
        sample.logbook.about.theory = None;
        assert_eq!(
            only(sample.found(&CHECK)).places,
            [sample.logbook.tables.about.clone().unwrap()]
        );
        sample.logbook.tables.about = None;
        not_checked(&sample.run(&CHECK));
    }
}
