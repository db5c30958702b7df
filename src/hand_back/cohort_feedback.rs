//! What a cohort's reports have in common, counted over all of them, with no pair named.

use std::collections::{BTreeMap, BTreeSet};

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
    let mut counts = Counts::default();
    for result in cohort.results().filter(|result| result.hand_in.is_some()) {
        counts.add(&result, state);
    }
    let (strengths, missing) = counts.evidence(rubric);
    let mut faults = counts.faults();
    faults.extend(missing);
    CohortFeedbackPage {
        course: course.to_owned(),
        reports: counts.reports,
        strengths: commonest(strengths),
        faults: commonest(faults),
        slips: commonest(counts.slips()),
        numbers: (counts.recomputed > 0).then_some((counts.recomputed, counts.agree)),
    }
}

/// The commonest of what several reports have in common; of two as common, the one listed first.
fn commonest(mut all: Vec<Common>) -> Vec<Common> {
    all.retain(|one| one.count >= LEAST);
    all.sort_by_key(|one| std::cmp::Reverse(one.count));
    all.truncate(LISTED);
    all
}

/// In how many reports an evidence point is met, partly met and unmet.
#[derive(Debug, Clone, Copy, Default)]
struct Outcomes {
    met: usize,
    partly: usize,
    unmet: usize,
}

/// What was counted report by report, each thing once a report.
#[derive(Debug, Default)]
struct Counts {
    reports: usize,
    recomputed: usize,
    agree: usize,
    /// By criterion and evidence point.
    outcomes: BTreeMap<(String, String), Outcomes>,
    /// Errors and concerns that stand, by check.
    faults: BTreeMap<&'static str, usize>,
    /// The slips that wrong numbers come out of.
    slips: BTreeMap<&'static str, usize>,
}

impl Counts {
    fn add(&mut self, result: &PairResult, state: &State) {
        self.reports += 1;
        let agree = result.claims_with(Verdict::Agrees);
        self.agree += agree;
        self.recomputed +=
            agree + result.claims_with(Verdict::Differs) + result.claims_with(Verdict::Impossible);
        for suggestion in &result.suggestions {
            for outcome in &suggestion.evidence {
                let point = (suggestion.criterion.clone(), outcome.id.clone());
                let outcomes = self.outcomes.entry(point).or_default();
                match outcome.settled {
                    Settled::Met => outcomes.met += 1,
                    Settled::Partly => outcomes.partly += 1,
                    Settled::Unmet => outcomes.unmet += 1,
                    Settled::Undecided { .. } | Settled::Untestable => {}
                }
            }
        }
        let faults = result.findings.iter().filter(|finding| {
            match decision_on(state, Some(result), &result.pair, finding) {
                Some(Decision::Uphold) => true,
                Some(Decision::Dismiss | Decision::Ask) => false,
                None => finding.weight > Weight::Query,
            }
        });
        for check in faults.map(|finding| finding.check).collect::<BTreeSet<_>>() {
            *self.faults.entry(check).or_default() += 1;
        }
        let slips = result
            .claims
            .iter()
            .filter(|claim| claim.recomputed.verdict == Verdict::Differs)
            .filter_map(|claim| claim.recomputed.explanations.first())
            .flat_map(|first| first.slips.iter().map(|slip| slip.code));
        for code in slips.collect::<BTreeSet<_>>() {
            *self.slips.entry(code).or_default() += 1;
        }
    }

    /// Evidence that most reports have, and evidence that many lack.
    fn evidence(&self, rubric: &Rubric) -> (Vec<Common>, Vec<Common>) {
        let mut strengths = Vec::new();
        let mut missing = Vec::new();
        for criterion in &rubric.criteria {
            for point in &criterion.evidence {
                let key = (criterion.id.clone(), point.id.clone());
                let outcomes = self.outcomes.get(&key).copied().unwrap_or_default();
                let Outcomes { met, partly, unmet } = outcomes;
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

    /// Errors and concerns that stand, in the order of the checks.
    fn faults(&self) -> Vec<Common> {
        checks::ALL
            .iter()
            .filter_map(|check| {
                Some(Common {
                    what: capitalised(check.title),
                    advice: check.explanation.remedy.to_owned(),
                    count: *self.faults.get(check.id)?,
                    of: self.reports,
                })
            })
            .collect()
    }

    /// The slips that wrong numbers most often come out of.
    fn slips(&self) -> Vec<Common> {
        slips::ALL
            .iter()
            .map(|slip| Common {
                what: slip.title.to_owned(),
                advice: slip.remedy.to_owned(),
                count: self.slips.get(slip.code).copied().unwrap_or(0),
                of: self.reports,
            })
            .collect()
    }
}

fn capitalised(title: &str) -> String {
    let mut letters = title.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
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
