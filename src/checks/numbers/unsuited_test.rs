//! A paired test over trials that are no pairs.

use super::of_claim;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::{Claim, ClaimMeasure};
use crate::phase::BlockName;
use crate::statistic::Statistic;
use crate::wording::listed;

/// A paired test over trials that are no pairs.
pub const CHECK: Check = Check {
    id: "numbers.unsuited-test",
    weight: Weight::Query,
    title: "a paired test of trials that are no pairs",
    explanation: Explanation {
        looks_at: "Claims of t paired, its p and d paired that compare trials of different sessions.",
        matters: "Trial 3 before and trial 3 after share a number and nothing else. Pairing them makes the result depend on the order in which trials happened to come.",
        example: "A paired t over the ten trials of pre-test and post-test.",
        remedy: "Compare the two blocks as independent samples (Welch's t, a permutation test, nap), with the caution that one learner's trials are related.",
        source: "Bates et al. 1992 on single-subject analysis; common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut groups: Vec<(usize, BlockName, BlockName, Vec<usize>)> = Vec::new();
    for (index, claim) in seen.logbook.claims.iter().enumerate() {
        let Some((measure, later, earlier)) = paired(claim) else {
            continue;
        };
        if !of_different_sessions(seen, measure, later, earlier) {
            continue;
        }
        let same = |group: &&mut (usize, BlockName, BlockName, Vec<usize>)| {
            (group.0, group.1, group.2) == (measure, later, earlier)
        };
        match groups.iter_mut().find(same) {
            Some(group) => group.3.push(index),
            None => groups.push((measure, later, earlier, vec![index])),
        }
    }
    if !seen
        .logbook
        .claims
        .iter()
        .any(|claim| paired(claim).is_some())
    {
        findings.could_not(CHECK.id, "no paired test is claimed");
    }
    for (_, later, earlier, indices) in groups {
        let claims: Vec<&Claim> = indices
            .iter()
            .filter_map(|index| seen.logbook.claims.get(*index))
            .collect();
        let stated: Vec<String> = claims
            .iter()
            .map(|claim| {
                format!(
                    "{} {}",
                    claim.statistic_text.trim(),
                    claim.value_text.trim()
                )
            })
            .collect();
        let stated = listed(&stated);
        let blocks = format!("{} and {}", earlier.title(), later.title());
        let places = claims.iter().map(|claim| claim.place.clone()).collect();
        let mut finding = CHECK
            .finding(
                format!("{stated} pairs the trials of {blocks} by their numbers; trials of different sessions are no pairs."),
                format!("You report {stated}. A paired test treats trial 1 of {blocks} as partners, and so on, but nothing links them except the number. Compare the two blocks as independent samples instead, and add that trials of one learner are related, so that any p is a little optimistic."),
            )
            .at(places, stated);
        of_claim(seen, &mut finding, indices.first().copied());
        findings.add(finding);
    }
}

/// Measure, later and earlier block of a claim that pairs trials.
fn paired(claim: &Claim) -> Option<(usize, BlockName, BlockName)> {
    let pairs = matches!(
        claim.statistic?,
        Statistic::TPaired | Statistic::PTPaired | Statistic::DPaired
    );
    let ClaimMeasure::Known(measure) = claim.measure else {
        return None;
    };
    pairs.then_some((measure, claim.phase?, claim.versus?))
}

/// Whether two blocks lie in different sessions. The same session is one with the same number, or, without numbers, the same day.
fn of_different_sessions(
    seen: &Seen,
    measure: usize,
    later: BlockName,
    earlier: BlockName,
) -> bool {
    let Some(record) = seen.record.measures.get(measure) else {
        return false;
    };
    let sessions = |name| -> Vec<_> {
        record
            .sessions(name)
            .into_iter()
            .map(|session| {
                (
                    session.number,
                    session.number.is_none().then_some(session.date),
                )
            })
            .collect()
    };
    let (later, earlier) = (sessions(later), sessions(earlier));
    !later.is_empty() && !earlier.is_empty() && later != earlier
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    #[test]
    fn a_paired_t_and_its_p_are_one_finding() {
        let mut sample = Sample::sound();
        sample.comparison("t paired", "4.1", 4.1);
        sample.comparison("p t paired", "0.003", 0.003);
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places.len(), 2);
        assert!(
            finding.message.contains("pre-test and post-test"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn blocks_of_one_session_may_be_paired_and_welch_pairs_nothing() {
        let mut sample = Sample::sound();
        sample.comparison("t paired", "4.1", 4.1);
        for trial in sample.trials(Phase::POST) {
            trial.session = Some(1);
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
        let mut sample = Sample::sound();
        sample.comparison("t welch", "4.1", 4.1);
        not_checked(&sample.run(&CHECK));
    }
}
