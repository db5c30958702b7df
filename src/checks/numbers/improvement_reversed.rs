//! An improvement is claimed, and the scores got worse.

use super::improvement::{Change, Claimed, from_to, improvements};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::readable;

/// An improvement is claimed, and the scores got worse.
pub const CHECK: Check = Check {
    id: "numbers.improvement-reversed",
    weight: Weight::Error,
    title: "an improvement claimed where scores got worse",
    explanation: Explanation {
        looks_at: "Claims of a change, percentage, effect size, nap, tau or share of the gain whose value is on the better side, against the means of the two blocks; for measures where nearest to a target is best, their distances from it.",
        matters: "A conclusion in the wrong direction is the costliest slip there is, and usually has a small cause: lower is better, or two phases swapped.",
        example: "A percent improvement of 12 for distance from the target, which grew from 20 to 22.4 cm.",
        remedy: "Check which direction is better for the measure and which block is which; then rewrite the conclusion.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let found = improvements(seen, Claimed::ChangesAndGains);
    if found.is_empty() {
        findings.could_not(
            CHECK.id,
            "no claim speaks of an improvement whose two blocks are both recorded",
        );
    }
    for improvement in found {
        let Some(change) = Change::of(seen, improvement.before, improvement.after) else {
            continue;
        };
        if change.better_by >= 0.0 {
            continue;
        }
        let stated = improvement.stated(seen);
        let of = seen.of_measure(improvement.before.measure);
        let from_to = from_to(improvement.after);
        let (before, after) = (readable(change.before), readable(change.after));
        let direction = super::direction(improvement.before.measure);
        let mut finding = CHECK
            .finding(
                format!("An improvement{of} {from_to} is claimed ({stated}), but the mean went from {before} to {after}, which is worse: {direction}."),
                format!("You report {stated} as an improvement{of} {from_to}. Your trials give a mean of {before} before and {after} after, and {direction}, so they got worse. Check the direction of your scale and which block is which, then rewrite the conclusion: a programme that did not work out can still be reported well."),
            )
            .at(improvement.places(seen), stated);
        super::of_claim(seen, &mut finding, improvement.claims.first().copied());
        findings.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::{Better, Score};
    use crate::phase::Phase;

    #[test]
    fn a_gain_claimed_where_lower_is_better_is_found_once() {
        let mut sample = Sample::sound();
        sample.comparison("percent improvement", "76", 76.0);
        sample.comparison("nap", "0.9", 0.9);
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.logbook.measures[0].better = Better::Lower;
        let finding = only(sample.found(&CHECK));
        let claims = &sample.logbook.claims;
        assert_eq!(
            finding.places[..2],
            [claims[0].place.clone(), claims[1].place.clone()]
        );
        assert!(
            finding.message.contains("lower is better"),
            "{}",
            finding.message
        );
        assert_eq!(finding.claimed.as_deref(), Some("76"));
    }

    #[test]
    fn a_decline_that_is_reported_as_one_is_not_found() {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::POST) {
            trial.score = Score::Number(1.0);
        }
        sample.comparison("change", "-0.7", -0.7);
        not_checked(&sample.run(&CHECK));
    }

    #[test]
    fn without_claims_it_is_not_checked() {
        not_checked(&Sample::sound().run(&CHECK));
    }
}
