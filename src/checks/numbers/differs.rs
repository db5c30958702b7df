//! A claimed number is not what the trials give.

use super::claimed::{finding, typed};
use crate::checks::data::formula_range;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::claims::{RecomputedClaim, Verdict};

/// A claimed number is not what the trials give, at the precision at which it was stated.
pub const CHECK: Check = Check {
    id: "numbers.differs",
    weight: Weight::Error,
    title: "a number that is not what the trials give",
    explanation: Explanation {
        looks_at: "Every claimed number against the same statistic of the trials, rounded half up or half to even at the claim's own decimals; where it differs, which slips give exactly the claimed number. Where a convention or rounding comes first, it is a query. Claims that follow from a wrong one are told with it.",
        matters: "Conclusions rest on these numbers, and a reader who recomputes one and finds another doubts the rest.",
        example: "A mean of 3.4 for the post-test, where the ten trials give 3.1: the best and worst dropped give 3.4.",
        remedy: "Recompute the number from all trials of the block; where another convention is meant, name it.",
        source: "the statistics' definitions, as stated with each",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if !seen.claims.iter().any(|claim| claim.value.is_ok()) {
        findings.could_not(CHECK.id, "no claim can be recomputed");
        return;
    }
    for (place, claim) in seen.claims.iter().enumerate() {
        if claim.verdict != Verdict::Differs
            || claim.consequence_of.is_some()
            || is_its_formulas(seen, claim)
        {
            continue;
        }
        if let Some(finding) = finding(seen, &CHECK, place) {
            findings.add(if claim.is_question() {
                finding.weighing(Weight::Query)
            } else {
                finding
            });
        }
    }
}

/// Whether the claim's own formula, whose range is another block's, accounts for it: that is a finding of its own.
fn is_its_formulas(seen: &Seen, claim: &RecomputedClaim) -> bool {
    let faulty = typed(seen, claim)
        .and_then(|typed| typed.formula.as_ref())
        .is_some_and(|range| formula_range::is_faulty(seen, range));
    faulty
        && claim.explanations.iter().any(|by| {
            by.slips
                .iter()
                .any(|slip| matches!(slip.code, "rows-missed" | "extra-cell"))
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::number::Stated;

    #[test]
    fn a_wrong_mean_is_an_error_with_its_slip_and_both_numbers() {
        let mut sample = Sample::sound();
        sample.claim("mean", "3.0", 3.0);
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.claim("mean", "4", 4.0);
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.weight, Weight::Error);
        assert_eq!(finding.places[0], sample.logbook.claims[1].place);
        assert!(
            finding.message.contains("best-trial"),
            "{}",
            finding.message
        );
        assert_eq!(
            (finding.claimed.as_deref(), finding.recomputed),
            (Some("4"), Some(3.0))
        );
    }

    #[test]
    fn a_convention_is_a_query() {
        let mut sample = Sample::sound();
        // Post-test 3 2 3 4 3 3 2 3 4 3: sample sd 0.667, population sd 0.632.
        sample.claim("sd", "0.632", 0.632);
        sample.logbook.claims[0].value = Some(Stated::new(0.632, 3));
        assert_eq!(only(sample.found(&CHECK)).weight, Weight::Query);
    }

    #[test]
    fn what_follows_from_a_wrong_number_is_told_with_it() {
        let mut sample = Sample::sound();
        sample.claim("mean", "4.0", 4.0);
        sample.comparison("change", "2.3", 2.3);
        let finding = only(sample.found(&CHECK));
        let claims = &sample.logbook.claims;
        assert_eq!(
            finding.places[..2],
            [claims[0].place.clone(), claims[1].place.clone()]
        );
    }

    #[test]
    fn without_claims_it_is_not_checked() {
        not_checked(&Sample::sound().run(&CHECK));
    }
}
