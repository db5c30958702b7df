//! Across the cohort, marks follow how much the learner improved and not how well it was shown.

use super::entered::MarksSeen;
use crate::checks::check::PlacedFindings;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::readable;
use crate::wording::counted;

/// Across the cohort, marks follow how much the learner improved and not how well it was shown.
pub const CHECK: Check = Check {
    id: "marks.follow-gain",
    weight: Weight::Query,
    title: "marks that follow the learners' gain",
    explanation: Explanation {
        looks_at: "The correlation over all pairs between marks and the learners' gains, with what the evidence earned held constant: whether its 95 % interval lies above 0.",
        matters: "Students are marked for how they tested, analysed and argued. A learner who was quick, or began low, should earn the coach no marks, and a slow one cost none.",
        example: "Of reports with equal evidence, those whose learners gained more got better marks.",
        remedy: "Look at reports with good evidence and little gain, and the other way round, before marks are settled.",
        source: "partial correlation; common practice",
    },
    thresholds: &[],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let Some(figure) = seen.follow_gain else {
        findings.could_not(
            CHECK.id,
            "there are too few pairs with marks, evidence and gains",
        );
        return;
    };
    if figure.low <= 0.0 {
        return;
    }
    let (r, low, high) = (
        readable(figure.value),
        readable(figure.low),
        readable(figure.high),
    );
    let pairs = counted(figure.n, "pair");
    findings.add(
        None,
        CHECK
            .finding(
                format!("Over {pairs}, marks go with the learners' gains where the evidence is equal: partial correlation {r}, 95 % interval from {low} to {high}."),
                "Look again at reports with good evidence and little gain, and at those with a large gain and little evidence: the marks are for what was shown.",
            )
            .at(Vec::new(), r),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::entered::Figure;
    use crate::checks::marks::sample::{Sample, only};

    fn figure(low: f64) -> Figure {
        Figure {
            value: 0.4,
            low,
            high: 0.6,
            n: 40,
        }
    }

    #[test]
    fn an_interval_above_nothing_is_found_for_the_cohort_as_a_whole() {
        let mut sample = Sample::marked();
        sample.follow_gain = Some(figure(0.1));
        let found = only(sample.found(&CHECK));
        assert_eq!(found.pair, None);
        sample.follow_gain = Some(figure(-0.1));
        assert!(sample.found(&CHECK).is_empty());
    }

    #[test]
    fn without_the_figure_it_is_not_checked() {
        Sample::marked().not_checked(&CHECK);
    }
}
