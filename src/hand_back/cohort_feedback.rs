//! What a cohort's reports have in common, counted over all of them, with no pair named.

use std::collections::BTreeMap;

use crate::checks::{self, Weight};
use crate::claims::Verdict;
use crate::claims::slips;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Decision, State, decision_on};
use crate::report::page::cohort_feedback::{CohortFeedbackPage, Common};
use crate::report::wording::id_in_words;
use crate::rubric::{Rubric, Settled};

/// Things that a list names.
const LISTED: usize = 6;
/// Fewer reports than this have nothing in common: a single one could be told by it.
const LEAST: usize = 2;

/// Counts what the reports have in common.
pub fn feedback(
    course: &str,
    cohort: &CohortResult,
    rubric: &Rubric,
    state: &State,
) -> CohortFeedbackPage {
    let handed_in: Vec<&PairResult> = cohort
        .pairs
        .iter()
        .filter(|result| result.hand_in.is_some())
        .collect();
    let (strengths, missing) = evidence(&handed_in, rubric);
    let mut faults = faults(&handed_in, state);
    faults.extend(missing);
    let count = |verdict| -> usize {
        handed_in
            .iter()
            .map(|result| result.claims_with(verdict))
            .sum()
    };
    let agree = count(Verdict::Agrees);
    let recomputed = agree + count(Verdict::Differs) + count(Verdict::Impossible);
    CohortFeedbackPage {
        course: course.to_owned(),
        reports: handed_in.len(),
        strengths: commonest(strengths),
        faults: commonest(faults),
        slips: commonest(slips_of(&handed_in)),
        numbers: (recomputed > 0).then_some((recomputed, agree)),
    }
}

/// The commonest of what several reports have in common; of two as common, the one listed first.
fn commonest(mut all: Vec<Common>) -> Vec<Common> {
    all.retain(|one| one.count >= LEAST);
    all.sort_by_key(|one| std::cmp::Reverse(one.count));
    all.truncate(LISTED);
    all
}

/// Evidence that most reports have, and evidence that many lack.
fn evidence(handed_in: &[&PairResult], rubric: &Rubric) -> (Vec<Common>, Vec<Common>) {
    let mut strengths = Vec::new();
    let mut missing = Vec::new();
    for criterion in &rubric.criteria {
        for point in &criterion.evidence {
            let outcomes = handed_in
                .iter()
                .flat_map(|result| &result.suggestions)
                .filter(|suggestion| suggestion.criterion == criterion.id)
                .flat_map(|suggestion| &suggestion.evidence)
                .filter(|outcome| outcome.id == point.id);
            let (mut met, mut unmet, mut partly) = (0, 0, 0);
            for outcome in outcomes {
                match outcome.settled {
                    Settled::Met => met += 1,
                    Settled::Partly => partly += 1,
                    Settled::Unmet => unmet += 1,
                    Settled::Undecided { .. } | Settled::Untestable => {}
                }
            }
            let of = met + partly + unmet;
            let common = |count| Common {
                what: format!("{}: {}", criterion.title, id_in_words(&point.id)),
                advice: String::new(),
                count,
                of,
            };
            if met * 2 > of {
                strengths.push(common(met));
            } else if unmet * 2 > of {
                missing.push(Common {
                    what: format!(
                        "{}: not yet there: {}",
                        criterion.title,
                        id_in_words(&point.id)
                    ),
                    ..common(unmet)
                });
            }
        }
    }
    (strengths, missing)
}

/// Errors and concerns that stand, by check, each report counted once.
fn faults(handed_in: &[&PairResult], state: &State) -> Vec<Common> {
    let mut counts: BTreeMap<&'static str, usize> = BTreeMap::new();
    for result in handed_in {
        let mut seen: Vec<&'static str> = Vec::new();
        for finding in &result.findings {
            let decision = decision_on(state, Some(result), &result.pair, finding);
            let stands = match decision {
                Some(Decision::Uphold) => true,
                Some(Decision::Dismiss | Decision::Ask) => false,
                None => finding.weight > Weight::Query,
            };
            if stands && !seen.contains(&finding.check) {
                seen.push(finding.check);
                *counts.entry(finding.check).or_default() += 1;
            }
        }
    }
    checks::ALL
        .iter()
        .filter_map(|check| {
            Some(Common {
                what: capitalised(check.title),
                advice: check.explanation.remedy.to_owned(),
                count: *counts.get(check.id)?,
                of: handed_in.len(),
            })
        })
        .collect()
}

fn capitalised(title: &str) -> String {
    let mut letters = title.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// The slips that wrong numbers most often come out of, each report counted once.
fn slips_of(handed_in: &[&PairResult]) -> Vec<Common> {
    slips::ALL
        .iter()
        .map(|slip| {
            let has_it = |result: &&&PairResult| {
                result
                    .claims
                    .iter()
                    .filter(|claim| claim.recomputed.verdict == Verdict::Differs)
                    .filter_map(|claim| claim.recomputed.explanations.first())
                    .any(|first| first.slips.iter().any(|one| one.code == slip.code))
            };
            Common {
                what: slip.title.to_owned(),
                advice: slip.remedy.to_owned(),
                count: handed_in.iter().filter(has_it).count(),
                of: handed_in.len(),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_one_report_alone_has_is_not_listed() {
        let common = |what: &str, count| Common {
            what: what.to_owned(),
            advice: String::new(),
            count,
            of: 10,
        };
        let listed = commonest(vec![common("a", 1), common("b", 3), common("c", 7)]);
        let names: Vec<&str> = listed.iter().map(|one| one.what.as_str()).collect();
        assert_eq!(names, ["c", "b"]);
    }
}
