//! The record speaks against the stage named at the start.

use super::not_supported::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Moment;

/// The record speaks against the stage named at the start.
pub const CHECK: Check = Check {
    id: "stage.start-not-supported",
    weight: Weight::Concern,
    title: "a stage at the start that the record does not bear out",
    explanation: Explanation {
        looks_at: "The signs that the model of stages reads from the record at the start (errors, consistency, technique, experience), three at least; each speaks for a stage, against it or for none, and no sign decides alone.",
        matters: "Practice is planned for the learner's stage: a learner placed too high gets too little help, one placed too low too much.",
        example: "“associative” at the start, with a pre-test near the bottom of the scale, wide spread and no experience.",
        remedy: "Set your evidence beside the signs of the model, say which decides, or reconsider the stage.",
        source: "Fitts & Posner 1967; Gentile 1972; Vereijken et al. 1992",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(seen, findings, &CHECK, Moment::Start);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::stage::not_supported::tests::follows_the_verdict;

    #[test]
    fn it_follows_the_verdict_with_the_diagnosis_and_its_reason() {
        follows_the_verdict(&CHECK, Moment::Start);
    }
}
