//! A change far from those of the cohort.

use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, CohortSeen, Explanation, Run, Weight};
use crate::number::readable;
use crate::phase::Phase;
use crate::place::Place;
use crate::stats::distribution::normal_upper_tail;
use crate::stats::robust::RobustCentre;

/// Pairs whose change is needed before one can be called unusual.
const LEAST_PAIRS: usize = 8;

/// A change far from those of the cohort.
pub const CHECK: Check = Check {
    id: "cohort.unusual-gain",
    weight: Weight::Query,
    title: "a change far from those of the cohort",
    explanation: Explanation {
        looks_at: "Each pair's change from pre-test to post-test in pooled standard deviations, positive where it is better, against the cohort's median and median absolute deviation.",
        matters: "A change far from all others may be a remarkable programme, a scale read the wrong way, another task at the post-test, or rows in the wrong block: worth a look before it is marked.",
        example: "A change of 9 standard deviations in a cohort whose median is 1.2.",
        remedy: "Look at both test blocks and their conditions; if they hold, ask the pair what made the difference.",
        source: "Iglewicz & Hoaglin 1993, section 3.2: a robust z beyond 3.5",
    },
    thresholds: &["unusual_gain"],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    let gains: Vec<f64> = seen.traces.iter().filter_map(|trace| trace.gain).collect();
    if gains.len() < LEAST_PAIRS {
        findings.could_not(
            CHECK.id,
            format!(
                "it takes {LEAST_PAIRS} pairs with a change, and there are {}",
                gains.len()
            ),
        );
        return;
    }
    let Ok(centre) = RobustCentre::of(&gains) else {
        return;
    };
    if centre.mad <= 0.0 {
        findings.could_not(CHECK.id, "more than half of the pairs have the same change");
        return;
    }
    let limit = seen.thresholds.unusual_gain;
    let expected = 2.0 * normal_upper_tail(limit) * gains.len() as f64;
    for trace in seen.traces {
        let Some(gain) = trace.gain else { continue };
        let Ok(z) = centre.z(gain) else { continue };
        if z.abs() <= limit {
            continue;
        }
        let mut places: Vec<Place> = Vec::new();
        for phase in [Phase::POST, Phase::PRE] {
            let primary = trace
                .measures
                .first()
                .map_or(&[][..], |measure| &measure.sessions);
            for session in primary.iter().filter(|session| session.phase == phase) {
                places.extend(session.places(0..session.scores.len()));
            }
        }
        let (gain, z) = (readable(gain), readable(z));
        findings.add(
            Some(&trace.pair),
            CHECK
                .finding(
                    format!(
                        "The change from pre-test to post-test, {gain} standard deviations for the better, lies {z} robust standard deviations from the median of {} pairs, {} ({}). If changes were normally spread, chance would put about {} of them so far out.",
                        gains.len(),
                        readable(centre.median),
                        in_force(seen.thresholds, "unusual_gain"),
                        readable(expected)
                    ),
                    format!("From pre-test to post-test your learner's mean changed by {gain} standard deviations for the better, unlike most pairs. Check that both tests asked for the same and that rows stand in the right block; if so, tell your instructor what made the difference, for it may be worth knowing."),
                )
                .at(places, gain),
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::testing::Cohort;

    #[test]
    fn a_change_far_from_the_others_is_found() {
        let mut cohort = Cohort::of_distances(30);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        // The first ten trials are the pre-test.
        cohort.shift(7, 0..10, 60.0);
        let found = cohort.found(&CHECK);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].pair.as_deref(), Some("P07"));
        assert_eq!(found[0].finding.places.len(), 20);
    }

    #[test]
    fn a_few_pairs_have_no_usual_change() {
        let findings = Cohort::of_distances(7).run(&CHECK);
        assert!(findings.found.is_empty());
        assert_eq!(findings.not_checked.len(), 1);
    }
}
