//! The record speaks against the stage named at the end.

use super::not_supported::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Moment;

/// The record speaks against the stage named at the end.
pub const CHECK: Check = Check {
    id: "stage.end-not-supported",
    weight: Weight::Concern,
    title: "a stage at the end that the record does not bear out",
    explanation: Explanation {
        looks_at: "The signs that the model of stages reads from the record at the end (errors, consistency, retention, transfer, technique), three at least; each speaks for a stage, against it or for none. A late stage can need evidence that the record does not have.",
        matters: "A stage is more than a better score: consistency, what lasted and how much attention it takes belong to it, and an upgrade without them is a guess.",
        example: "“autonomous” at the end, without a transfer test or anything on attention.",
        remedy: "Set your evidence beside the signs of the model, say which decides, or reconsider the stage.",
        source: "Fitts & Posner 1967; Gentile 1972; Vereijken et al. 1992",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(seen, findings, &CHECK, Moment::End);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::stage::not_supported::tests::follows_the_verdict;

    #[test]
    fn it_follows_the_verdict_with_the_diagnosis_and_its_reason() {
        follows_the_verdict(&CHECK, Moment::End);
    }
}
