//! What a cohort's reports have in common, counted over all of them, with no pair named.

use std::collections::{BTreeMap, BTreeSet};

use super::lines::without_scale;
use super::told::Decided;
use crate::checks;
use crate::claims::Verdict;
use crate::claims::slips;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{State, Subject};
use crate::report::page::cohort_feedback::{CohortFeedbackPage, Common};
use crate::rubric::{Evidence, Rubric, Settled};
use crate::wording::capitalised;

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
        counts.add(&result, rubric, state);
    }
    let (strengths, missing) = counts.evidence(rubric);
    let mut faults = counts.faults();
    faults.extend(missing);
    let judged = counts.judged(rubric);
    CohortFeedbackPage {
        course: course.to_owned(),
        reports: counts.reports,
        strengths: commonest(strengths),
        faults: commonest(faults),
        judged: commonest(judged),
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
    /// By criterion and judged part: how many were judged, and how many of these got less than full points.
    judged: BTreeMap<(String, String), (usize, usize)>,
    /// Errors and concerns that stand, by check.
    faults: BTreeMap<&'static str, usize>,
    /// The slips that wrong numbers come out of.
    slips: BTreeMap<&'static str, usize>,
}

impl Counts {
    fn add(&mut self, result: &PairResult, rubric: &Rubric, state: &State) {
        let decided = Decided { state, result };
        // What somebody dismissed, or nobody looked at, is counted for nobody.
        let wrong = decided.wrong_claims();
        self.reports += 1;
        let agree = result.claims_with(Verdict::Agrees);
        self.agree += agree;
        self.recomputed += agree + wrong.len();
        for suggestion in &result.suggestions {
            let criterion = rubric
                .criteria
                .iter()
                .find(|criterion| criterion.id == suggestion.criterion);
            for outcome in &suggestion.evidence {
                let evidence = criterion.and_then(|criterion| {
                    criterion.evidence.iter().find(|one| one.id == outcome.id)
                });
                let is_not_met = matches!(outcome.settled, Settled::Partly | Settled::Unmet);
                if is_not_met && evidence.is_some_and(|evidence| decided.is_withdrawn(evidence)) {
                    continue;
                }
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
        self.add_judged(result, rubric, state);
        let faults = result
            .findings
            .iter()
            .filter(|finding| !finding.check.starts_with("marks.") && decided.is_told(finding));
        for check in faults.map(|finding| finding.check).collect::<BTreeSet<_>>() {
            *self.faults.entry(check).or_default() += 1;
        }
        let slips = wrong
            .iter()
            .filter(|(_, claim)| claim.recomputed.verdict == Verdict::Differs)
            .filter_map(|(_, claim)| claim.recomputed.explanations.first())
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
                    what: capitalised(&point.name()),
                    advice: String::new(),
                    count,
                    of,
                };
                if met * 2 > of {
                    strengths.push(common(met));
                } else if unmet * 2 > of && !self.is_among_the_faults(point) {
                    missing.push(Common {
                        what: format!("Not there yet: {}", point.name()),
                        ..common(unmet)
                    });
                }
            }
        }
        (strengths, missing)
    }

    /// Whether a check that says the same is among the faults already.
    fn is_among_the_faults(&self, point: &Evidence) -> bool {
        self.faults.keys().any(|check| point.is_said_by(check))
    }

    fn add_judged(&mut self, result: &PairResult, rubric: &Rubric, state: &State) {
        let Some(of_pair) = state.pair(&result.pair) else {
            return;
        };
        for criterion in &rubric.criteria {
            for judged in &criterion.judged {
                let subject = Subject::Judged(criterion.id.clone(), judged.id.clone());
                let given = of_pair
                    .standing(&subject, "")
                    .and_then(|held| held.value.parse::<f64>().ok());
                if let Some(given) = given {
                    let key = (criterion.id.clone(), judged.id.clone());
                    let (all, below) = self.judged.entry(key).or_default();
                    *all += 1;
                    *below += usize::from(given < judged.points);
                }
            }
        }
    }

    /// The questions to which reports had less than a full answer.
    fn judged(&self, rubric: &Rubric) -> Vec<Common> {
        let mut all = Vec::new();
        for criterion in &rubric.criteria {
            for judged in &criterion.judged {
                let key = (criterion.id.clone(), judged.id.clone());
                let (of, count) = self.judged.get(&key).copied().unwrap_or_default();
                all.push(Common {
                    what: criterion.title.clone(),
                    advice: without_scale(&judged.asks).to_owned(),
                    count,
                    of,
                });
            }
        }
        all
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
