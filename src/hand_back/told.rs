//! What of a pair's findings reaches it, and what it takes with it where somebody dismissed it: the claim's row, and the evidence's sentence that
//! says the same.

use crate::checks::{Finding, Weight};
use crate::claims::Verdict;
use crate::examination::{ExaminedClaim, PairResult};
use crate::ledger::{Decision, State, decision_on};
use crate::rubric::Evidence;

/// What was decided about one pair's findings.
#[derive(Clone, Copy)]
pub struct Decided<'a> {
    /// What is in force by the ledger.
    pub state: &'a State,
    /// What the pair's hand-in gave.
    pub result: &'a PairResult,
}

impl<'a> Decided<'a> {
    /// What was decided about a finding; none where nobody has.
    pub fn on(&self, finding: &Finding) -> Option<Decision> {
        decision_on(self.state, Some(self.result), &self.result.pair, finding)
    }

    /// Whether the pair is told a finding.
    pub fn is_told(&self, finding: &Finding) -> bool {
        is_told(finding, self.on(finding))
    }

    /// Whether the pair is told that a claim differs: not where the finding about it, or about its root, was dismissed.
    pub fn is_told_of_claim(&self, index: usize) -> bool {
        let root = self
            .result
            .claims
            .get(index)
            .and_then(|claim| claim.recomputed.consequence_of);
        let decisions: Vec<Option<bool>> = self
            .result
            .findings
            .iter()
            .filter(|finding| is_about_a_wrong_number(finding))
            .filter(|finding| {
                finding.claim == Some(index) || (root.is_some() && finding.claim == root)
            })
            .map(|finding| match self.on(finding) {
                Some(Decision::Dismiss | Decision::Ask) => None,
                decision => Some(is_told(finding, decision)),
            })
            .collect();
        decisions.contains(&Some(true)) && !decisions.contains(&None)
    }

    /// The claims that differ and of which the pair is told so, with their places among all claims.
    pub fn wrong_claims(&self) -> Vec<(usize, &'a ExaminedClaim)> {
        self.result
            .claims
            .iter()
            .enumerate()
            .filter(|(index, claim)| is_wrong(claim) && self.is_told_of_claim(*index))
            .collect()
    }

    /// Whether a finding says nothing that the page doesn't say elsewhere: it is about a number of the list, or about two that the list has one of.
    pub fn is_in_the_list(&self, finding: &Finding) -> bool {
        let wrong = self.wrong_claims();
        if is_about_a_wrong_number(finding) {
            return finding
                .claim
                .is_some_and(|index| wrong.iter().any(|(at, _)| *at == index));
        }
        finding.check == "numbers.inconsistent"
            && wrong
                .iter()
                .any(|(_, claim)| finding.places.contains(&claim.claim.place))
    }

    /// Whether what an evidence point says where it isn't met was dismissed, or is being asked about: of the findings that say the same one was,
    /// and the pair is told of none.
    pub fn is_withdrawn(&self, evidence: &Evidence) -> bool {
        let says_it = |finding: &&Finding| evidence.is_said_by(finding.check);
        let mut is_withdrawn = false;
        for finding in self.result.findings.iter().filter(says_it) {
            let decision = self.on(finding);
            if is_told(finding, decision) {
                return false;
            }
            is_withdrawn |= decision.is_some();
        }
        is_withdrawn
    }
}

/// Upheld findings are told, dismissed ones never; those about which nobody decided are told unless they only ask a person to look.
fn is_told(finding: &Finding, decision: Option<Decision>) -> bool {
    match decision {
        Some(Decision::Uphold) => true,
        Some(Decision::Dismiss | Decision::Ask) => false,
        None => finding.weight > Weight::Query,
    }
}

/// Whether a finding says that a number is not what the trials give; the pair reads that in the list of its numbers.
pub fn is_about_a_wrong_number(finding: &Finding) -> bool {
    matches!(
        finding.check,
        "numbers.differs" | "numbers.impossible" | "data.formula-range"
    )
}

/// Whether a claim is not what the trials give.
pub fn is_wrong(claim: &ExaminedClaim) -> bool {
    matches!(
        claim.recomputed.verdict,
        Verdict::Differs | Verdict::Impossible
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn queries_that_nobody_looked_at_and_dismissed_findings_are_not_told() {
        let finding = |weight| Finding::new("testing.one-rater", weight, "m", "c");
        let (query, concern) = (finding(Weight::Query), finding(Weight::Concern));
        assert!(!is_told(&query, None));
        assert!(is_told(&query, Some(Decision::Uphold)));
        assert!(is_told(&concern, None));
        assert!(!is_told(&concern, Some(Decision::Dismiss)));
    }
}
