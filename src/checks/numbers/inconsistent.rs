//! Claims that contradict each other, whatever the trials.

use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::claims::{Verdict, inconsistencies};
use crate::logbook::model::Claim;
use crate::place::Place;
use crate::wording::capitalised;

/// Claims that contradict each other, whatever the trials.
pub const CHECK: Check = Check {
    id: "numbers.inconsistent",
    weight: Weight::Error,
    title: "numbers that contradict each other",
    explanation: Explanation {
        looks_at: "The claims among themselves: mean, sum, n, spread and standard error of a block; the two means, the change and the percentage of a comparison; t, its degrees of freedom and its p. Each is taken as precise as it was stated. Where the trials show which one is wrong, it is a query.",
        matters: "Numbers that can't all be right show that one was taken from somewhere else, even where no trials are recorded.",
        example: "Means of 2.0 and 3.0 beside a percent change of 40.",
        remedy: "Work the numbers out again from one source, and let each follow from the others.",
        source: "interval arithmetic on the stated decimals; Nuijten et al. 2016 for t and p",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.claims.len() < 2 {
        findings.could_not(CHECK.id, "there are fewer than two claims");
        return;
    }
    for inconsistency in inconsistencies(seen.logbook, seen.claims) {
        // One finding a claim: what another one accounts for is not told twice.
        if inconsistency.accounted {
            continue;
        }
        let claims: Vec<&Claim> = inconsistency
            .claims
            .iter()
            .filter_map(|index| seen.logbook.claims.get(*index))
            .collect();
        let places: Vec<Place> = claims.iter().map(|claim| claim.place.clone()).collect();
        let values: Vec<&str> = claims.iter().map(|claim| claim.value_text.trim()).collect();
        let says = format!("{}.", capitalised(inconsistency.says.trim_end_matches('.')));
        let mut finding = CHECK
            .finding(
                says.clone(),
                format!("{says} That holds whatever the trials were. Work them out again from one source, and let each follow from the others."),
            )
            .at(places, values.join("; "));
        super::of_claim(seen, &mut finding, inconsistency.claims.first().copied());
        // Where the trials show which of them is wrong, that is the error, and this a question that goes with it.
        if seen.claims.iter().any(|claim| {
            inconsistency.claims.contains(&claim.claim)
                && matches!(claim.verdict, Verdict::Differs | Verdict::Impossible)
        }) {
            finding = finding.weighing(Weight::Query);
        }
        findings.add(finding);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    /// Without trials: the claims alone.
    fn claims(mean: &str, sum: f64) -> Sample {
        let mut sample = Sample::sound().without_trials();
        sample.claim("n", "10", 10.0);
        sample.claim("mean", mean, mean.parse().unwrap());
        sample.claim("sum", &sum.to_string(), sum);
        sample
    }

    #[test]
    fn a_mean_that_is_not_the_sum_over_n_is_found_with_all_their_cells() {
        let finding = only(claims("2.5", 30.0).found(&CHECK));
        assert_eq!(finding.places.len(), 3);
        assert!(finding.message.ends_with('.'), "{}", finding.message);
        assert_eq!(claims("3.1", 31.0).found(&CHECK), Vec::new());
    }

    #[test]
    fn where_the_trials_show_which_is_wrong_it_is_a_query() {
        let mut sample = Sample::sound();
        sample.claim("n", "10", 10.0);
        sample.claim("mean", "2.5", 2.5);
        sample.claim("sum", "30", 30.0);
        let found = sample.found(&CHECK);
        assert!(
            found.iter().all(|finding| finding.weight == Weight::Query),
            "{found:#?}"
        );
    }

    #[test]
    fn one_claim_alone_contradicts_nothing() {
        not_checked(&Sample::sound().run(&CHECK));
    }
}
