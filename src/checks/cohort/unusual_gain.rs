//! A change far from those of the cohort.

use super::trace::Gain;
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, CohortSeen, Explanation, Run, Weight};
use crate::number::readable;
use crate::phase::Phase;
use crate::place::Place;
use crate::stats::Undefined;
use crate::stats::robust::RobustCentre;

/// Pairs whose change is needed before one can be called unusual.
const LEAST_PAIRS: usize = 8;

/// A change far from those of the cohort.
pub const CHECK: Check = Check {
    id: "cohort.unusual-gain",
    weight: Weight::Query,
    title: "a change far from those of the cohort",
    explanation: Explanation {
        looks_at: "Each pair's change from pre-test to post-test in pooled standard deviations (d), positive where it is better, on a scale on which it scatters alike wherever it lies: √2·arsinh(d/√8). Its distance from the cohort's median is taken in robust standard deviations: the larger of that by the median absolute deviation and that by the outermost tenth on its own side, at least what so few trials scatter by themselves, and wider in a small cohort, whose own spread is hardly known.",
        matters: "A change far from all others may be a remarkable programme, a scale read the wrong way, another task at the post-test, or rows in the wrong block: worth a look before it is marked.",
        example: "A change of 9 standard deviations in a cohort whose median is 1.2.",
        remedy: "Look at both test blocks and their conditions; if they hold, ask the pair what made the difference.",
        source: "Iglewicz & Hoaglin 1993, section 3.2: a robust z beyond 3.5; Hedges & Olkin 1985, section 5.E: the scale of d; the widening is from simulated cohorts",
    },
    thresholds: &["unusual_gain"],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    let gains: Vec<Gain> = seen.traces.iter().filter_map(|trace| trace.gain).collect();
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
    let Ok(usual) = Usual::of(&gains) else {
        return;
    };
    let limit = seen.thresholds.unusual_gain;
    for trace in seen.traces {
        let Some(gain) = trace.gain else { continue };
        let z = usual.z(gain);
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
        let (gain, z) = (readable(gain.d), readable(z));
        findings.add(
            Some(&trace.pair),
            CHECK
                .finding(
                    format!(
                        "The change from pre-test to post-test, {gain} standard deviations for the better, lies {z} robust standard deviations from the median of {} pairs, {} ({}). Of a thousand sound pairs fewer than one lies so far out.",
                        gains.len(),
                        readable(usual.median),
                        in_force(seen.thresholds, "unusual_gain"),
                    ),
                    format!("From pre-test to post-test your learner's mean changed by {gain} standard deviations for the better, unlike most pairs. Check that both tests asked for the same and that rows stand in the right block; if so, tell your instructor what made the difference, for it may be worth knowing."),
                )
                .at(places, gain),
        );
    }
}

/// What is usual in a cohort, on the scale of [`levelled`].
struct Usual {
    /// The median change, in standard deviations.
    median: f64,
    centre: f64,
    /// Robust standard deviations for changes below and above the median.
    below: f64,
    above: f64,
    /// How much wider they are taken, since so few pairs know their spread badly.
    widened: f64,
}

impl Usual {
    fn of(gains: &[Gain]) -> Result<Self, Undefined> {
        let mut changes: Vec<f64> = gains.iter().map(|gain| levelled(gain.d)).collect();
        let centre = RobustCentre::of(&changes)?;
        let all: Vec<f64> = gains.iter().map(|gain| gain.d).collect();
        changes.sort_by(f64::total_cmp);
        let tenth = changes.len() / 10;
        let at = |index: usize| changes.get(index).copied().unwrap_or(centre.median);
        let by_mad = centre.mad / NORMAL_MAD;
        let side = |outer: f64| ((outer - centre.median).abs() / NORMAL_TENTH).max(by_mad);
        Ok(Self {
            median: RobustCentre::of(&all)?.median,
            centre: centre.median,
            below: side(at(tenth)),
            above: side(at(changes.len().saturating_sub(1 + tenth))),
            widened: 1.0 + WIDENING / (gains.len() as f64).sqrt(),
        })
    }

    fn z(&self, gain: Gain) -> f64 {
        let distance = levelled(gain.d) - self.centre;
        let usual = if distance < 0.0 {
            self.below
        } else {
            self.above
        };
        // By themselves trials scatter it by 1/√(2n); learners differ by as much again at the least.
        distance / (usual.max(1.0 / gain.trials.sqrt()) * self.widened)
    }
}

/// A standardised change on a scale on which it scatters alike wherever it lies (Hedges & Olkin 1985).
fn levelled(d: f64) -> f64 {
    std::f64::consts::SQRT_2 * (d / 8.0_f64.sqrt()).asinh()
}

/// The MAD of a normal distribution in standard deviations.
const NORMAL_MAD: f64 = 0.674_489_750_196_081_7;
/// Beyond so many standard deviations lies a tenth of a normal distribution on each side.
const NORMAL_TENTH: f64 = 1.281_551_565_544_600_4;
/// Found by simulation (NumPy 2.4): with it, fewer than one of a thousand sound pairs is called unusual in cohorts of 12 to 300 pairs whose
/// true gains are spread log-normally by 30 %, with 5 to 20 trials a test, for measured scores and for ratings.
const WIDENING: f64 = 2.5;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::testing::Cohort;

    #[test]
    fn a_change_far_from_the_others_is_found() {
        let mut cohort = Cohort::of_distances(30);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        // The first ten trials are the pre-test.
        cohort.shift(7, 0..10, 90.0);
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
