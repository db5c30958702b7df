//! Fewer scored trials in a test than the course asks for.

use crate::checks::wording::{in_force, the_phase};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::plain;
use crate::phase::PhaseKind;
use crate::wording::{capitalised, counted};

/// Fewer scored trials in a test than the course asks for.
pub const CHECK: Check = Check {
    id: "testing.few-trials",
    weight: Weight::Concern,
    title: "a test of few trials",
    explanation: Explanation {
        looks_at: "The scored trials of each pre-test, post-test, retention and transfer test, measure by measure; a trial scored by two raters is one trial.",
        matters: "A mean of few trials moves with a single lucky one: with ten trials in each test only a change of about one standard deviation can be told from chance.",
        example: "Five throws at the pre-test and five at the post-test.",
        remedy: "Record more trials in each test, the same number in all of them.",
        source: "95 % interval of the difference of two means of n trials each: t · s · √(2/n), which is 0.94 s for n = 10",
    },
    thresholds: &["few_trials"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for test in seen.tests() {
        let n = test.n();
        if test.block.phase.kind == PhaseKind::Mid || n == 0 {
            continue;
        }
        any = true;
        let asked = seen.thresholds.few_trials;
        if n as f64 >= asked {
            continue;
        }
        let which = format!(
            "{}{}",
            the_phase(test.block.phase),
            seen.of_measure(test.measure)
        );
        let trials = counted(n, "scored trial");
        findings.add(
            CHECK
                .finding(
                    format!(
                        "{} has {trials}, fewer than the {} asked for ({}).",
                        capitalised(&which),
                        plain(asked),
                        in_force(seen.thresholds, "few_trials")
                    ),
                    format!("{} rests on {trials}. With so few, one lucky or unlucky trial moves the mean, and only a large change can be told from chance. Record at least {} in every test, and say in this report how far a mean of {n} can be trusted.", capitalised(&which), plain(asked)),
                )
                .at(seen.cells(test.block), format!("n = {n}")),
        );
    }
    if !any {
        findings.could_not(CHECK.id, "no test has a scored trial");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    fn with_post_trials(n: u32) -> Sample {
        Sample::sound().with_first(Phase::POST, n)
    }

    #[test]
    fn nine_trials_are_found_with_their_cells_and_ten_are_not() {
        let finding = only(with_post_trials(9).found(&CHECK));
        assert!(
            finding
                .message
                .starts_with("The post-test has 9 scored trials"),
            "{}",
            finding.message
        );
        // Three of the nine are rated twice.
        assert_eq!(finding.places.len(), 12);
        assert_eq!(with_post_trials(10).found(&CHECK), Vec::new());
    }

    #[test]
    fn the_course_sets_the_number() {
        let mut sample = with_post_trials(5);
        sample.thresholds.few_trials = 5.0;
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_tests_there_is_nothing_to_check() {
        not_checked(&Sample::sound().without_trials().run(&CHECK));
    }
}
