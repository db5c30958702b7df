//! Less trial-to-trial variation than the cohort's measures show.

use std::collections::{HashMap, HashSet};

use rayon::prelude::*;

use super::likeness::chance;
use super::pool::{Pool, millionths};
use super::trace::Scale;
use crate::checks::check::PlacedFindings;
use crate::checks::wording::{in_force, the_phase};
use crate::checks::{Check, CohortSeen, Explanation, Run, Weight};
use crate::number::readable;
use crate::place::Place;
use crate::stats::distribution::chi_square_lower_tail;
use crate::stats::robust::RobustCentre;

/// Pairs with a like measure from which on its usual spread is known.
const LEAST_PAIRS: usize = 8;
/// Degrees of freedom from which on a spread is judged.
const LEAST_DEGREES: f64 = 4.0;
/// Learners differ in how steady they are: the sd of the log of their variances is taken for this much at least.
const LEAST_DIFFERENCES: f64 = 0.3;
/// The MAD of a normal distribution in standard deviations.
const NORMAL_MAD: f64 = 0.674_489_750_196_081_7;

/// Less trial-to-trial variation than the cohort's measures show.
pub const CHECK: Check = Check {
    id: "cohort.too-regular",
    weight: Weight::Query,
    title: "trials more regular than the cohort's",
    explanation: Explanation {
        looks_at: "The spread of trials within sessions, block by block and for all of a pair's trials of a measure together, against sessions of like level of other pairs: how many spreads this small chance would give over all of the cohort, when learners differ as much in steadiness as these do. The end of a scale, where trials must be alike, is understood.",
        matters: "Trials scatter, beginners' most of all. Scores that hardly vary may be rounded, typed from memory, or averages in place of trials: what they were should be known before they are marked.",
        example: "Ten distances between 41.2 and 41.6 cm, where sessions of like level spread over 30 cm.",
        remedy: "Ask the pair how the trials were recorded and whether each score is one trial.",
        source: "χ² distribution of a sample variance, mixed over a log-normal spread of true variances",
    },
    thresholds: &["too_regular"],
    run: Run::Cohort(run),
};

/// A spread that is judged: one block, or all sessions of a measure.
struct Spread {
    sessions: Vec<usize>,
    member: usize,
    whole: bool,
    degrees: f64,
    /// Sum of squares in units of what is usual at each session's level.
    ratio: f64,
    /// The variance within sessions, and the usual one.
    variance: f64,
    usual: f64,
}

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    let pool = seen.pool();
    let spreads = spreads(pool);
    if spreads.is_empty() {
        findings.could_not(
            CHECK.id,
            format!("no like measure is that of {LEAST_PAIRS} pairs, so there is no usual spread"),
        );
        return;
    }
    let judged = spreads.len() as f64;
    let steadiness = [
        Steadiness::of(&spreads, false),
        Steadiness::of(&spreads, true),
    ];
    let allowed = seen.thresholds.too_regular;
    let mut found: Vec<(&Spread, f64)> = spreads
        .par_iter()
        .filter_map(|spread| {
            let steadiness = &steadiness[usize::from(spread.whole)];
            let chance = steadiness.chance_up_to(spread, allowed / judged)?;
            Some((spread, judged * chance))
        })
        .filter(|(_, expected)| *expected <= allowed)
        .collect();
    // All of a measure first: where that is too regular, its blocks are not named one by one.
    found.sort_by_key(|(spread, _)| !spread.whole);
    let wholes: HashSet<usize> = found
        .iter()
        .filter(|(spread, _)| spread.whole)
        .map(|(spread, _)| spread.member)
        .collect();
    found.retain(|(spread, _)| spread.whole || !wholes.contains(&spread.member));
    for (spread, expected) in found {
        report(seen, findings, pool, spread, expected);
    }
}

fn report(
    seen: &CohortSeen,
    findings: &mut PlacedFindings,
    pool: &Pool,
    spread: &Spread,
    expected: f64,
) {
    let Some(member) = pool.members.get(spread.member) else {
        return;
    };
    let sessions = spread
        .sessions
        .iter()
        .filter_map(|session| pool.sessions.get(*session));
    let mut places: Vec<Place> = Vec::new();
    let mut block = String::new();
    for session in sessions {
        places.extend(session.trace.places(0..session.trace.scores.len()));
        block = the_phase(session.trace.phase);
    }
    let which = if spread.whole {
        "all sessions".to_owned()
    } else {
        block
    };
    let (sd, usual) = (
        readable(spread.variance.sqrt()),
        readable(spread.usual.sqrt()),
    );
    findings.add(
        Some(pool.pair(member.pair)),
        CHECK
            .finding(
                format!(
                    "Within sessions the trials of {which} have a standard deviation of {sd}; sessions of like level of other pairs have {usual}. Over all spreads of this cohort chance would give {} this small ({}).",
                    chance(expected),
                    in_force(seen.thresholds, "too_regular")
                ),
                format!("Your trials of {which} vary very little: a standard deviation of {sd}, where learners at this level usually show about {usual}. Please tell your instructor how they were recorded, and whether each score is one trial: an average or a rounded value would explain it."),
            )
            .at(places, format!("sd {sd}")),
    );
}

/// Every spread that can be judged.
fn spreads(pool: &Pool) -> Vec<Spread> {
    let mut pairs: HashMap<Scale, Vec<usize>> = HashMap::new();
    for member in &pool.members {
        let known = pairs.entry(member.scale).or_default();
        if known.last() != Some(&member.pair) {
            known.push(member.pair);
        }
    }
    let grains = grains(pool);
    let mut found = Vec::new();
    for (index, member) in pool.members.iter().enumerate() {
        if pairs.get(&member.scale).map_or(0, Vec::len) < LEAST_PAIRS {
            continue;
        }
        // A score stands for all that round to it: their spread is added on both sides.
        let rounding = grains
            .get(&member.scale)
            .map_or(0.0, |grain| grain * grain / 12.0);
        let mut whole = Spread::empty(index, true);
        let mut blocks: Vec<(crate::phase::Phase, Spread)> = Vec::new();
        for session in member.sessions.clone() {
            let Some(phase) = pool
                .sessions
                .get(session)
                .map(|session| session.trace.phase)
            else {
                continue;
            };
            whole.add(pool, session, rounding);
            if blocks.last().is_none_or(|(known, _)| *known != phase) {
                blocks.push((phase, Spread::empty(index, false)));
            }
            if let Some((_, block)) = blocks.last_mut() {
                block.add(pool, session, rounding);
            }
        }
        let several = blocks.len() > 1;
        let all = blocks
            .into_iter()
            .map(|(_, block)| block)
            .chain(several.then_some(whole));
        found.extend(
            all.filter(|spread| spread.degrees >= LEAST_DEGREES)
                .map(Spread::settled),
        );
    }
    found
}

/// The grain of each scale's scores: the largest step of which all are multiples.
fn grains(pool: &Pool) -> HashMap<Scale, f64> {
    let mut grains: HashMap<Scale, u64> = HashMap::new();
    for session in &pool.sessions {
        let Some(member) = pool.members.get(session.member) else {
            continue;
        };
        let grain = grains.entry(member.scale).or_insert(0);
        for score in &session.trace.scores {
            *grain = common_divisor(*grain, millionths(*score).unsigned_abs());
        }
    }
    grains
        .into_iter()
        .map(|(scale, grain)| (scale, grain as f64 / 1e6))
        .collect()
}

fn common_divisor(mut a: u64, mut b: u64) -> u64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

impl Spread {
    fn empty(member: usize, whole: bool) -> Self {
        Self {
            sessions: Vec::new(),
            member,
            whole,
            degrees: 0.0,
            ratio: 0.0,
            variance: 0.0,
            usual: 0.0,
        }
    }

    /// Adds a session, in units of what is usual at its level; where nothing varies at that level, it says nothing.
    fn add(&mut self, pool: &Pool, session: usize, rounding: f64) {
        let Some(own) = pool.sessions.get(session) else {
            return;
        };
        let degrees = own.trace.scores.len() as f64 - 1.0;
        let (mut squares, mut like_degrees) = (0.0, 0.0);
        for like in pool.levels.like_sessions(pool, session) {
            if let Some(like) = pool.sessions.get(like) {
                squares += like.squares;
                like_degrees += like.trace.scores.len() as f64 - 1.0;
            }
        }
        self.sessions.push(session);
        if degrees < 1.0 || like_degrees < LEAST_DEGREES || squares <= 0.0 {
            return;
        }
        let usual = squares / like_degrees;
        self.ratio += (own.squares + degrees * rounding) / (usual + rounding);
        self.degrees += degrees;
        // Sums for now; divided once all sessions are in.
        self.variance += own.squares;
        self.usual += degrees * usual;
    }

    fn settled(mut self) -> Self {
        self.variance /= self.degrees;
        self.usual /= self.degrees;
        self
    }
}

/// How learners differ in steadiness: the log of true variance over the usual one, normally spread.
struct Steadiness {
    centre: f64,
    spread: f64,
}

impl Steadiness {
    /// From the cohort itself, by median and median absolute deviation; what samples of that size scatter by themselves is taken off.
    fn of(spreads: &[Spread], whole: bool) -> Self {
        let of = || {
            spreads
                .iter()
                .filter(|spread| spread.whole == whole && spread.ratio > 0.0)
        };
        let logs: Vec<f64> = of()
            .map(|spread| (spread.ratio / spread.degrees).ln())
            .collect();
        let sampling =
            of().map(|spread| 2.0 / spread.degrees).sum::<f64>() / logs.len().max(1) as f64;
        let (centre, sd) = RobustCentre::of(&logs).map_or((0.0, 0.0), |centre| {
            (centre.median, centre.mad / NORMAL_MAD)
        });
        Self {
            centre,
            spread: (sd * sd - sampling).max(0.0).sqrt().max(LEAST_DIFFERENCES),
        }
    }

    /// The chance of a spread as small: that of χ², averaged over learners' steadiness from −6 to 6 standard deviations. None where it is
    /// more than `most`, which for most spreads the first terms settle.
    fn chance_up_to(&self, spread: &Spread, most: f64) -> Option<f64> {
        const STEP: f64 = 0.25;
        let each = (-24_i32..=24).map(|step| {
            let z = f64::from(step) * STEP;
            (z, (-0.5 * z * z).exp())
        });
        let weights: f64 = each.clone().map(|(_, weight)| weight).sum();
        let mut sum = 0.0;
        for (z, weight) in each {
            let variance = (self.centre + self.spread * z).exp();
            sum += weight
                * chi_square_lower_tail(spread.ratio / variance, spread.degrees).unwrap_or(1.0);
            // What rounding could still undo is judged at the end.
            if sum / weights > most * (1.0 + 1e-9) {
                return None;
            }
        }
        Some(sum / weights)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::cohort::testing::Cohort;

    #[test]
    fn distances_within_a_fiftieth_of_the_usual_spread_are_found_by_block() {
        let mut cohort = Cohort::of_distances(40);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        cohort.flatten(9, 80..90, 0.02);
        let found = cohort.found(&CHECK);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(found[0].pair.as_deref(), Some("P09"));
        assert_eq!(found[0].finding.places.len(), 10);
        assert!(
            found[0].finding.message.contains("the post-test"),
            "{}",
            found[0].finding.message
        );
    }

    #[test]
    fn a_steady_learner_is_not_found() {
        let mut cohort = Cohort::of_distances(40);
        cohort.flatten(9, 80..90, 0.5);
        assert_eq!(cohort.found(&CHECK), Vec::new());
    }

    #[test]
    fn a_measure_that_never_varies_is_one_finding() {
        let mut cohort = Cohort::of_ratings(40);
        assert_eq!(cohort.found(&CHECK), Vec::new());
        for block in 0..9 {
            cohort.fill(
                9,
                10 * block..10 * block + 10,
                if block < 4 { 2.0 } else { 3.0 },
            );
        }
        let found = cohort.found(&CHECK);
        assert_eq!(found.len(), 1, "{found:#?}");
        assert_eq!(found[0].finding.places.len(), 90);
    }

    #[test]
    fn the_top_of_a_scale_must_be_regular() {
        let mut cohort = Cohort::of_ratings(40);
        for pair in 0..25 {
            cohort.fill(pair, 60..90, 4.0);
        }
        assert_eq!(cohort.found(&CHECK), Vec::new());
    }

    #[test]
    fn a_few_pairs_have_no_usual_spread() {
        let findings = Cohort::of_distances(7).run(&CHECK);
        assert!(findings.found.is_empty());
        assert_eq!(findings.not_checked.len(), 1);
    }
}
