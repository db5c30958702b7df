//! A test so near the best end of its scale that improvement can't show.

use super::level::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};

/// A test so near the best end of its scale that improvement can't show.
pub const CHECK: Check = Check {
    id: "testing.ceiling",
    weight: Weight::Concern,
    title: "a test at the top of its scale",
    explanation: Explanation {
        looks_at: "The mean of each test on its scale, 0 the worst end and 1 the best, for measures with both ends.",
        matters: "Near the best end there is no room in which improvement could show, and trials look alike because the scale ends, not because the learner is consistent.",
        example: "A mean of 3.8 on a scale from 1 to 4.",
        remedy: "Use a scale or a task with room above (a smaller target, more distance, finer points), and don't read a small spread as consistency.",
        source: "common practice; the largest sd at mean m on a scale from a to b is √((b − m)(m − a))",
    },
    thresholds: &["ceiling"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let ceiling = seen.thresholds.ceiling;
    // A mean of 3.7 on 1 to 4 is a last bit above or below 0.9.
    report(
        seen,
        findings,
        &CHECK,
        |level| level >= ceiling - 1e-9,
        "close to the best that your scale allows. Further improvement could hardly show there, and a small spread may come from the end of the scale. Choose a harder task or a scale with more room, and be careful with what you conclude about consistency.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::{Better, Score};
    use crate::phase::Phase;

    /// Seven fours and three threes: a mean of 3.7, exactly 0.9 of the scale; one three more is below it.
    fn post_with_threes(threes: u32) -> Sample {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::POST) {
            let score = if trial.number <= Some(threes) {
                3.0
            } else {
                4.0
            };
            trial.score = Score::Number(score);
        }
        sample
    }

    #[test]
    fn at_the_threshold_it_is_found_and_below_it_not() {
        let finding = only(post_with_threes(3).found(&CHECK));
        assert!(
            finding.message.contains("mean of 3.7, at 0.9"),
            "{}",
            finding.message
        );
        assert_eq!(post_with_threes(4).found(&CHECK), Vec::new());
    }

    #[test]
    fn where_lower_is_better_the_top_is_the_lowest_score() {
        let mut sample = post_with_threes(3);
        sample.logbook.measures[0].better = Better::Lower;
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn an_open_scale_has_no_top() {
        let mut sample = post_with_threes(0);
        sample.logbook.measures[0].highest = None;
        not_checked(&sample.run(&CHECK));
    }
}
