//! Runs the checks that are on, and weighs what they found as the course has set.

use super::check::{Placed, PlacedFindings, Run};
use super::concerned::name_blocks;
use super::finding::Findings;
use super::marks::MarksSeen;
use super::policy::Policy;
use super::seen::{CohortSeen, Seen};
use super::{ALL, find};
use crate::place::Place;

/// Every check of one pair. Findings are in order of check, then first cell.
pub fn run_all(seen: &Seen, policy: &Policy) -> Findings {
    let mut findings = Findings::default();
    for check in ALL.iter().filter(|check| policy.is_on(check.id)) {
        if let Run::Pair(run) | Run::PairAndCohort(run, _) = check.run {
            run(seen, &mut findings);
        }
    }
    for finding in &mut findings.found {
        if let Some(check) = find(finding.check) {
            policy.weigh(finding, check.weight);
        }
    }
    name_blocks(seen, &mut findings.found);
    findings
        .found
        .sort_by(|a, b| (rank(a.check), &a.places).cmp(&(rank(b.check), &b.places)));
    findings
}

/// Every check of the cohort as a whole.
pub fn run_cohort(seen: &CohortSeen, policy: &Policy) -> PlacedFindings {
    run_placed(policy, |run, findings| {
        if let Run::Cohort(run) | Run::PairAndCohort(_, run) = run {
            run(seen, findings);
        }
    })
}

/// Every check of what markers entered.
pub fn run_marks(seen: &MarksSeen, policy: &Policy) -> PlacedFindings {
    run_placed(policy, |run, findings| {
        if let Run::Marks(run) = run {
            run(seen, findings);
        }
    })
}

fn run_placed(policy: &Policy, mut each: impl FnMut(&Run, &mut PlacedFindings)) -> PlacedFindings {
    let mut findings = PlacedFindings::default();
    for check in ALL.iter().filter(|check| policy.is_on(check.id)) {
        each(&check.run, &mut findings);
    }
    for placed in &mut findings.found {
        if let Some(check) = find(placed.finding.check) {
            policy.weigh(&mut placed.finding, check.weight);
        }
    }
    findings.found.sort_by(|a, b| key(a).cmp(&key(b)));
    findings
}

/// By pair as far as the text of its id tells (whoever knows the roster puts pairs in its order), check, first cell.
fn key(placed: &Placed) -> (&Option<String>, usize, &Vec<Place>) {
    (
        &placed.pair,
        rank(placed.finding.check),
        &placed.finding.places,
    )
}

/// A check's place in the legend.
pub fn rank(check: &str) -> usize {
    ALL.iter()
        .position(|known| known.id == check)
        .unwrap_or(ALL.len())
}

#[cfg(test)]
mod tests {
    use super::super::finding::Weight;
    use super::super::policy::{Policy, Setting};
    use super::super::sample::Sample;
    use crate::logbook::model::Score;

    #[test]
    fn a_sound_pair_gives_neither_error_nor_concern() {
        let findings = Sample::sound().run_all(&Policy::default());
        let heavy: Vec<String> = findings
            .found
            .iter()
            .filter(|finding| finding.weight > Weight::Query)
            .map(|finding| format!("{}: {}", finding.check, finding.message))
            .collect();
        assert_eq!(heavy, Vec::<String>::new());
    }

    #[test]
    fn a_course_switches_checks_off_and_reweighs_them() {
        let mut sample = Sample::sound();
        sample.logbook.trials[0].score = Score::Number(9.0);
        let weight = |setting| {
            let mut policy = Policy::default();
            policy.set("data.out-of-scale", setting);
            sample
                .run_all(&policy)
                .found
                .iter()
                .find(|finding| finding.check == "data.out-of-scale")
                .map(|finding| finding.weight)
        };
        assert_eq!(weight(Setting::Off), None);
        assert_eq!(weight(Setting::At(Weight::Query)), Some(Weight::Query));
        assert_eq!(weight(Setting::At(Weight::Error)), Some(Weight::Error));
    }
}
