//! What is said of theories to simulated learners whose curve is known: no verdict stronger than the data, and power against n.

use super::{Ladder, Theories};
use crate::expression::fixture;
use crate::facts::sample::{logbook, measure, practice};
use crate::facts::{FactSettings, Facts, Record, compute};
use crate::logbook::model::MeasureKind;
use crate::stats::random::Stream;

/// How a learner's expected score runs, from 0 to 1: by the share of the programme that is done, and by the session.
type Curve = fn(f64, f64) -> f64;

const FLAT: Curve = |_, _| 0.0;
const LINE: Curve = |t, _| t;
const EXPONENTIAL: Curve = |t, _| 1.0 - (-3.0 * t).exp();
const POWER: Curve = |_, session| 1.2 * (1.0 - session.powf(-0.7));
const LOGISTIC: Curve = |t, _| 1.0 / (1.0 + (-10.0 * (t - 0.5)).exp());
const STEP: Curve = |t, _| if t < 0.55 { 0.0 } else { 1.0 };

/// A programme of invented learners, measured in trial standard deviations on a scale without ends.
#[derive(Clone, Copy)]
struct Learners {
    sessions: u32,
    trials: u32,
    /// The gain of the programme.
    gain: f64,
    /// The sd of good and bad days.
    days: f64,
    /// How often trials vary as usual in the two sessions before a step.
    unsteady: f64,
    count: u64,
}

impl Learners {
    fn facts(&self, curve: Curve, seed: u64) -> Facts {
        let mut stream = Stream::new(seed, "judgement");
        let done = |session: u32| f64::from(session - 1) / f64::from(self.sessions - 1);
        let step = (1..=self.sessions).find(|session| done(*session) >= 0.55);
        let mut rows = Vec::new();
        for session in 1..=self.sessions {
            let level = 10.0
                + self.gain * curve(done(session), f64::from(session))
                + self.days * stream.normal();
            let before = step.is_some_and(|step| session < step && session + 2 >= step);
            let spread = if before { self.unsteady } else { 1.0 };
            let scores: Vec<f64> = (0..self.trials)
                .map(|_| level + spread * stream.normal())
                .collect();
            let day = i8::try_from(session).unwrap_or(i8::MAX);
            rows.extend(practice(session, day, &scores));
        }
        let logbook = logbook(vec![measure("time", MeasureKind::Quantity)], rows);
        let record = Record::new(&logbook);
        compute("P1", &logbook, &record, &FactSettings::default())
    }

    /// The share of learners of whom this is said when they name the theory: as predicted, and the opposite.
    fn verdicts(&self, theory: &str, curve: Curve) -> (f64, f64) {
        let [verdict] = self.verdicts_on([theory], curve);
        verdict
    }

    fn verdicts_on<const N: usize>(&self, named: [&str; N], curve: Curve) -> [(f64, f64); N] {
        let theories = Theories::shipped(&fixture::catalogue()).unwrap();
        let mut shares = [(0.0, 0.0); N];
        let one = 1.0 / self.count as f64;
        for seed in 0..self.count {
            let facts = self.facts(curve, seed);
            for ((met, opposite), theory) in shares.iter_mut().zip(named) {
                match theories.judge(Some(theory), &facts).ladder {
                    Ladder::AsPredicted => *met += one,
                    Ladder::Contradicted => *opposite += one,
                    _ => {}
                }
            }
        }
        shares
    }
}

const USUAL: Learners = Learners {
    sessions: 10,
    trials: 12,
    gain: 2.0,
    days: 0.1,
    unsteady: 1.0,
    count: 60,
};

/// Both of two tests at 5 % are asked for: of sixty, three is beyond chance (binomial at 0.25 %: 1 in 2,000).
#[test]
fn a_smooth_learner_is_not_told_that_a_system_reorganised() {
    for curve in [FLAT, LINE, EXPONENTIAL, LOGISTIC] {
        let (met, opposite) = USUAL.verdicts("dynamic systems", curve);
        assert!(met < 0.05 && opposite < 0.05, "{met} {opposite}");
    }
}

#[test]
fn a_jump_after_unsteady_trials_is_seen_where_trials_are_many() {
    let jump = Learners {
        sessions: 12,
        trials: 25,
        unsteady: 2.0,
        ..USUAL
    };
    let (met, opposite) = jump.verdicts("dynamic systems", STEP);
    assert!(met > 0.5 && opposite < 0.05, "{met} {opposite}");
}

/// Ten sessions of twelve trials can test the power law: a slowing learner is often seen to slow, and neither a straight line nor none is.
#[test]
fn ten_sessions_can_show_that_improvement_slows() {
    let (met, opposite) = USUAL.verdicts("power law", POWER);
    assert!(met > 0.4 && opposite < 0.05, "{met} {opposite}");
    for curve in [FLAT, LINE, STEP] {
        let (met, _) = USUAL.verdicts("power law", curve);
        assert!(met < 0.08, "{met}");
    }
}

/// `cargo test --release judgement::calibration::table -- --ignored --nocapture`
#[test]
#[ignore = "takes minutes: prints the table of verdicts against curve, sessions and trials"]
fn table() {
    use rayon::prelude::*;
    let mut rows = Vec::new();
    for (sessions, trials) in [(8, 10), (10, 10), (12, 10), (12, 20), (20, 10), (20, 20)] {
        for gain in [1.5, 3.0] {
            for days in [0.0, 0.2] {
                for (name, curve, unsteady) in [
                    ("flat", FLAT, 1.0),
                    ("straight", LINE, 1.0),
                    ("exponential", EXPONENTIAL, 1.0),
                    ("power", POWER, 1.0),
                    ("logistic", LOGISTIC, 1.0),
                    ("step", STEP, 1.0),
                    ("unsteady step", STEP, 2.0),
                ] {
                    let learners = Learners {
                        sessions,
                        trials,
                        gain,
                        days,
                        unsteady,
                        count: 100,
                    };
                    rows.push((name, curve, learners));
                }
            }
        }
    }
    let lines: Vec<String> = rows
        .par_iter()
        .map(|(name, curve, learners)| {
            let named = ["dynamic systems", "power law", "exponential law"];
            let [system, power, exponential] = learners.verdicts_on(named, *curve);
            format!(
                "{name:13} {:2} sessions of {:2}, gain {}, days {}: dynamic systems {system:.2?}, power {power:.2?}, exponential {exponential:.2?}",
                learners.sessions, learners.trials, learners.gain, learners.days
            )
        })
        .collect();
    println!("as predicted, opposite\n{}", lines.join("\n"));
}
