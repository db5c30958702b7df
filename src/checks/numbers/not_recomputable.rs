//! A claim for which there is nothing to recompute it from, or whose statistic is unknown.

use super::claimed::finding;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::claims::Verdict;

/// A claim for which there is nothing to recompute it from, or whose statistic is unknown.
pub const CHECK: Check = Check {
    id: "numbers.not-recomputable",
    weight: Weight::Query,
    title: "a number that can't be recomputed",
    explanation: Explanation {
        looks_at: "Claims whose statistic, measure or phase is none that is known, whose value can't be read, or whose trials are not recorded.",
        matters: "Such a number can be right, and nobody can tell.",
        example: "A mean of the transfer test, of which no trial is recorded.",
        remedy: "Record what the number was computed from, and name statistic, measure and phase as the blank logbook does.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.claims.is_empty() {
        findings.could_not(CHECK.id, "there are no claims");
        return;
    }
    let unread = seen.left_open();
    let mut left = false;
    for (place, claim) in seen.claims.iter().enumerate() {
        let for_want_of_trials = unread.is_some()
            && claim
                .value
                .as_ref()
                .is_err_and(|why| !why.is_unreadable_claim());
        left |= for_want_of_trials;
        if claim.verdict == Verdict::NotRecomputable && !for_want_of_trials {
            findings.found.extend(finding(seen, &CHECK, place));
        }
    }
    if let Some(why) = unread
        && left
    {
        findings.could_not(CHECK.id, why);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    #[test]
    fn an_unknown_statistic_and_missing_trials_are_found() {
        let mut sample = Sample::sound();
        sample.claim("mean", "3.0", 3.0);
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.claim("spread index", "3.0", 3.0);
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places[0], sample.logbook.claims[1].place);
        assert_eq!(finding.recomputed, None);
        let mut sample = Sample::sound().without(Phase::POST);
        sample.claim("mean", "3.0", 3.0);
        only(sample.found(&CHECK));
    }

    #[test]
    fn without_claims_it_is_not_checked() {
        not_checked(&Sample::sound().run(&CHECK));
    }
}
