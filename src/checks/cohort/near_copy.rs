//! Trials that are another pair's with a few changed, all shifted, or put in another order.

use super::alike::Way;
use super::likeness::{GOOD_REASON, chance};
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, CohortSeen, Explanation, Run, Weight};
use crate::number::readable;
use crate::wording::counted;

/// Trials that are another pair's with a few changed, all shifted, or put in another order.
pub const CHECK: Check = Check {
    id: "cohort.near-copy",
    weight: Weight::Query,
    title: "trials nearly equal to another pair's",
    explanation: Explanation {
        looks_at: "The scores of every two pairs with a like measure that share windows of trials: whether they are equal but for a few, equal at another level, or the same in each session in another order, and how many such likenesses chance would give over all comparisons of the cohort.",
        matters: "Small changes don't make two learners' records out of one. As with equal runs there can be a good reason, and only the pairs can give it.",
        example: "All 40 test trials of P05 are 2 cm above those of P31.",
        remedy: "Ask both pairs how these trials were recorded, and look at both files.",
        source: "Ville 1939 for the bound on the chance of a run; the multinomial for scores in another order",
    },
    thresholds: &["copied"],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    if seen.traces.len() < 2 {
        findings.could_not(CHECK.id, "there are fewer than two pairs with scores");
        return;
    }
    let told = seen.told();
    for alike in &told.near {
        for (turn, (own, other)) in [1.0, -1.0].into_iter().zip(alike.views()) {
            let n = alike.n;
            let how = match alike.way {
                Way::Equal => continue,
                Way::Changed(differ) => format!(
                    "equal to {} of {}, in order, but for {}",
                    other.of,
                    other.pair,
                    counted(differ, "trial")
                ),
                Way::Shifted(by, differ) => {
                    let by = -turn * by;
                    let side = if by > 0.0 { "above" } else { "below" };
                    let but = if differ == 0 {
                        String::new()
                    } else {
                        format!(", but for {}", counted(differ, "trial"))
                    };
                    format!(
                        "all {} {side} {} of {}, in order{but}",
                        readable(by.abs()),
                        other.of,
                        other.pair
                    )
                }
                Way::Reordered => format!(
                    "the same in each session as {} of {}, in another order",
                    other.of, other.pair
                ),
            };
            let mut places = own.places.clone();
            places.extend(other.places.iter().cloned());
            findings.add(
                Some(&own.pair),
                CHECK
                    .finding(
                        format!(
                            "{n} trials of {} ({}) are {how}. Over the {} comparisons of this cohort chance would give {} likenesses of this kind ({}).",
                            own.of,
                            own.scores,
                            told.comparisons,
                            chance(alike.expected),
                            in_force(seen.thresholds, "copied")
                        ),
                        format!("{n} of your scores ({}) are nearly those of another pair, more than chance gives. {GOOD_REASON}", own.of),
                    )
                    .at(places, format!("{}: {}", other.pair, own.scores)),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::shared_trials;
    use crate::checks::cohort::testing::Cohort;

    #[track_caller]
    fn one_message(cohort: &Cohort) -> String {
        let found = cohort.found(&CHECK);
        assert_eq!(found.len(), 2, "{found:#?}");
        found[0].finding.message.clone()
    }

    #[test]
    fn a_copy_with_every_ninth_trial_changed_is_found() {
        for mut cohort in [Cohort::of_distances(40), Cohort::of_ratings(40)] {
            assert_eq!(cohort.found(&CHECK), Vec::new());
            cohort.copy(3, 17, 0..90);
            for at in (4..90).step_by(9) {
                cohort.change(17, at);
            }
            let message = one_message(&cohort);
            assert!(message.contains("but for"), "{message}");
        }
    }

    #[test]
    fn a_copy_at_another_level_is_found_with_its_shift() {
        let mut cohort = Cohort::of_distances(40);
        cohort.copy(3, 17, 0..30);
        cohort.shift(17, 0..30, 2.0);
        let message = one_message(&cohort);
        assert!(message.contains("all 2 below"), "{message}");
    }

    #[test]
    fn a_copy_in_another_order_is_found() {
        let mut cohort = Cohort::of_distances(40);
        cohort.copy(3, 17, 0..20);
        cohort.reverse(17, 0..10);
        cohort.reverse(17, 10..20);
        let message = one_message(&cohort);
        assert!(message.contains("in another order"), "{message}");
    }

    #[test]
    fn an_exact_copy_is_the_other_checks() {
        let mut cohort = Cohort::of_distances(40);
        cohort.copy(3, 17, 0..30);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        assert_eq!(cohort.found(&shared_trials::CHECK).len(), 2);
    }
}
