//! No trial has a score.

use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};

/// No trial has a score.
pub const CHECK: Check = Check {
    id: "testing.no-outcome-record",
    weight: Weight::Concern,
    title: "no record of outcomes",
    explanation: Explanation {
        looks_at: "Whether any trial of a test or of practice has a score that counts.",
        matters: "Without scores nothing that the report says about change can be checked, and description of technique stands alone.",
        example: "A logbook that describes every session and holds no trials.",
        remedy: "Record the score of every trial as it is done, in the Trials table.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.has_scores() {
        return;
    }
    findings.add(
        CHECK
            .finding(
                "No trial of a test or of practice has a score that counts.",
                "We found no scores in your logbook, so nothing that your report says about change could be checked. Add the score of every trial; if they are kept elsewhere, tell your marker where.",
            )
            .at(vec![seen.where_missing(TableName::Trials)], "no score"),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only};
    use crate::logbook::model::Score;

    #[test]
    fn no_score_is_found_and_one_is_enough() {
        assert_eq!(
            only(Sample::sound().without_trials().found(&CHECK))
                .places
                .len(),
            1
        );
        let mut sample = Sample::sound();
        for trial in sample.logbook.trials.iter_mut().skip(1) {
            trial.score = Score::Missing;
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.logbook.trials[0].score = Score::Missing;
        only(sample.found(&CHECK));
    }
}
