//! A test so near the worst end of its scale that differences can't show.

use super::level::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};

/// A test so near the worst end of its scale that differences can't show.
pub const CHECK: Check = Check {
    id: "testing.floor",
    weight: Weight::Concern,
    title: "a test at the bottom of its scale",
    explanation: Explanation {
        looks_at: "The mean of each test on its scale, 0 the worst end and 1 the best, for measures with both ends.",
        matters: "Near the worst end bad and very bad trials get the same score: early progress stays unseen, and a small spread says nothing about the learner.",
        example: "1 hit in 20 at the pre-test, where hits are 0 or 1.",
        remedy: "Use an easier task or finer points, so that the first progress shows.",
        source: "common practice",
    },
    thresholds: &["floor"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let floor = seen.thresholds.floor;
    report(
        seen,
        findings,
        &CHECK,
        |level| level <= floor + 1e-9,
        "close to the worst that your scale can record. Bad and very bad trials look alike there, so early progress can't be seen. Choose an easier version of the task or finer points, and say what this means for the change that you report.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;
    use crate::phase::Phase;

    /// As many twos as said, the rest ones: three twos are a mean of 1.3, exactly 0.1 of the scale.
    fn pre_with_twos(twos: u32) -> Sample {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::PRE) {
            let score = if trial.number <= Some(twos) { 2.0 } else { 1.0 };
            trial.score = Score::Number(score);
        }
        sample
    }

    #[test]
    fn at_the_threshold_it_is_found_and_above_it_not() {
        let finding = only(pre_with_twos(3).found(&CHECK));
        assert!(
            finding
                .message
                .starts_with("The pre-test has a mean of 1.3"),
            "{}",
            finding.message
        );
        assert_eq!(pre_with_twos(4).found(&CHECK), Vec::new());
    }

    #[test]
    fn an_open_scale_has_no_bottom() {
        let mut sample = pre_with_twos(0);
        sample.logbook.measures[0].highest = None;
        not_checked(&sample.run(&CHECK));
    }
}
