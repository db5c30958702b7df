//! Tests that are compared have very different numbers of trials.

use crate::checks::seen::TestBlock;
use crate::checks::wording::{in_force, percent, the_phase};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::phase::Phase;
use crate::wording::listed;

/// Tests that are compared have very different numbers of trials.
pub const CHECK: Check = Check {
    id: "testing.unequal-trials",
    weight: Weight::Concern,
    title: "tests of unequal length",
    explanation: Explanation {
        looks_at: "The scored trials of pre-test, post-test and retention test of each measure: 1 − the smallest n / the largest n.",
        matters: "A longer test gives more time to warm up or to tire, and its best trial or its total is better for length alone.",
        example: "20 trials at the pre-test, 10 at the post-test.",
        remedy: "Give every test the same number of trials, or say why they differ and compare means only.",
        source: "common practice",
    },
    thresholds: &["unequal_trials"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for index in 0..seen.logbook.measures.len() {
        let tests: Vec<TestBlock> = [Phase::PRE, Phase::POST, Phase::RETENTION]
            .into_iter()
            .filter_map(|phase| seen.block(index, phase))
            .filter(|test| test.n() > 0)
            .collect();
        let (Some(least), Some(most)) = (
            tests.iter().min_by_key(|test| test.n()),
            tests.iter().max_by_key(|test| test.n()),
        ) else {
            continue;
        };
        if tests.len() < 2 {
            continue;
        }
        any = true;
        let differs = 1.0 - least.n() as f64 / most.n() as f64;
        // 1 − 8/10 is a last bit above or below 0.2.
        if differs <= seen.thresholds.unequal_trials + 1e-9 {
            continue;
        }
        let numbers: Vec<String> = tests
            .iter()
            .map(|test| {
                format!(
                    "{} {}",
                    test.n(),
                    the_phase(test.block.phase).replacen("the", "in the", 1)
                )
            })
            .collect();
        let of = seen.of_measure(least.measure);
        let numbers = listed(&numbers);
        let mut places = seen.cells(least.block);
        places.extend(seen.cells(most.block));
        findings.add(
            CHECK
                .finding(
                    format!(
                        "The numbers of scored trials{of} differ by {}: {numbers} ({}).",
                        percent(differs),
                        in_force(seen.thresholds, "unequal_trials")
                    ),
                    format!("Your tests{of} differ in length: {numbers}. A longer test warms up or tires the learner, and its total or best trial is better for length alone. Give every test the same number of trials, or say why they differ and compare means only."),
                )
                .at(places, numbers),
        );
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "fewer than two of pre-test, post-test and retention test are scored",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn with_post_trials(n: u32) -> Sample {
        Sample::sound().with_first(Phase::POST, n)
    }

    #[test]
    fn seven_against_ten_are_found_and_eight_against_ten_are_not() {
        let finding = only(with_post_trials(7).found(&CHECK));
        assert!(finding.message.contains("differ by 30 %: 10 in the pre-test, 7 in the post-test and 10 in the retention test"), "{}", finding.message);
        assert_eq!(with_post_trials(8).found(&CHECK), Vec::new());
    }

    #[test]
    fn one_test_alone_has_nothing_to_be_compared_with() {
        let sample = Sample::sound()
            .without(Phase::POST)
            .without(Phase::RETENTION);
        not_checked(&sample.run(&CHECK));
    }
}
