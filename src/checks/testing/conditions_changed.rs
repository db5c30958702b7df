//! Tests that are compared were taken under different conditions.

use crate::checks::wording::the_phase;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::facts::conditions::Conditions;
use crate::phase::Phase;
use crate::wording::{capitalised, shortened};

/// Tests that are compared were taken under different conditions.
pub const CHECK: Check = Check {
    id: "testing.conditions-changed",
    weight: Weight::Concern,
    title: "tests under different conditions",
    explanation: Explanation {
        looks_at: "The conditions recorded for pre-test and post-test, and for pre-test and retention test, of each measure: whether they have none in common. Case, spaces and punctuation make no difference.",
        matters: "Where the task changed too, nobody can tell how much of the change in scores is the learner's.",
        example: "The pre-test at 5 m, the post-test at 3 m.",
        remedy: "Take pre-test, post-test and retention test under the same conditions; change something in the transfer test alone.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for (index, measure) in seen.logbook.measures.iter().enumerate() {
        let of = |phase| {
            seen.block(index, phase)
                .map_or_else(Conditions::default, |test| {
                    Conditions::of(test.block, seen.logbook)
                })
        };
        let before = of(Phase::PRE);
        for phase in [Phase::POST, Phase::RETENTION] {
            let after = of(phase);
            let (Some(was), Some(is)) = (before.text(), after.text()) else {
                continue;
            };
            any = true;
            if after.meets(&before) {
                continue;
            }
            let was = format!("“{}”", shortened(&was));
            let is = format!("“{}”", shortened(&is));
            let of = seen.of_measure(measure);
            let which = the_phase(phase);
            let mut places = Vec::new();
            for block in [phase, Phase::PRE]
                .into_iter()
                .filter_map(|phase| seen.block(index, phase))
            {
                places.extend(seen.cells(block.block));
            }
            findings.add(
                CHECK
                    .finding(
                        format!("{}{of} was taken under {is}, the pre-test under {was}: they have no condition in common.", capitalised(&which)),
                        format!("Your pre-test{of} was under {was}, {which} under {is}. Part of the difference in scores may come from the changed task, and the two can't be told apart. Keep tests that you compare the same, or say what the change may have done."),
                    )
                    .at(places, format!("{was} / {is}")),
            );
        }
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "no two tests that are compared both record their conditions",
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn with_post_condition(condition: Option<&str>) -> Sample {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::POST) {
            trial.condition = condition.map(Into::into);
        }
        sample
    }

    #[test]
    fn a_post_test_at_another_distance_is_found_with_both_blocks_cells() {
        let finding = only(with_post_condition(Some("2 m")).found(&CHECK));
        assert!(finding.message.contains("“2 m”") && finding.message.contains("“3 m”"));
        assert_eq!(finding.places.len(), 26);
    }

    #[test]
    fn spelling_is_no_condition() {
        assert_eq!(with_post_condition(Some(" 3M.")).found(&CHECK), Vec::new());
    }

    #[test]
    fn one_trial_under_the_old_condition_is_enough() {
        let mut sample = with_post_condition(Some("2 m"));
        sample.trials(Phase::POST).next().unwrap().condition = Some("3 m".into());
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn unrecorded_conditions_are_not_changed_ones() {
        let mut sample = with_post_condition(None);
        for trial in sample.trials(Phase::RETENTION) {
            trial.condition = None;
        }
        not_checked(&sample.run(&CHECK));
    }
}
