//! How often simulated learners whose curve is known raise an alarm: false alarms at the stated level, and power against n.

use super::{ScoreScale, chances, sudden_rise};
use crate::stats::Direction;
use crate::stats::random::Stream;

/// A learner's expected score, in trial sds, at a share of the programme.
type Curve = fn(f64) -> f64;

const FLAT: Curve = |_| 0.0;
const LINE: Curve = |t| 1.5 * t;
const EXPONENTIAL: Curve = |t| 1.5 * (1.0 - (-3.0 * t).exp());
const LOGISTIC: Curve = |t| 1.5 / (1.0 + (-8.0 * (t - 0.5)).exp());
const STEP: Curve = |t| if t < 0.5 { 0.0 } else { 1.5 };
const DIP: Curve = |t| 1.5 * t - if (t - 0.5).abs() < 0.06 { 1.0 } else { 0.0 };

/// Shares of logs with p at or below a level.
#[derive(Debug, Default)]
struct Alarms {
    dip: f64,
    rise: f64,
    variability: f64,
    sudden: f64,
}

struct Logs {
    sessions: usize,
    trials: usize,
    /// The sd of good and bad days, in trial sds.
    days: f64,
    /// Ratings 1–4 instead of open scores.
    rated: bool,
    count: u32,
    learners: usize,
}

impl Logs {
    fn alarms(&self, curve: Curve, level: f64) -> Alarms {
        let mut alarms = Alarms::default();
        let share = 1.0 / f64::from(self.count);
        for log in 0..self.count {
            let mut stream = Stream::new(u64::from(log), "calibration");
            let days: Vec<f64> = (0..self.sessions)
                .map(|_| self.days * stream.normal())
                .collect();
            let mut score = |session: usize| {
                let x = curve(session as f64 / (self.sessions as f64 - 1.0))
                    + days[session]
                    + stream.normal();
                if self.rated {
                    (2.0 + 0.8 * x).round().clamp(1.0, 4.0)
                } else {
                    x
                }
            };
            let sessions: Vec<Vec<f64>> = (0..self.sessions)
                .map(|session| (0..self.trials).map(|_| score(session)).collect())
                .collect();
            let slices: Vec<&[f64]> = sessions.iter().map(Vec::as_slice).collect();
            let scale = if self.rated {
                ScoreScale {
                    lowest: Some(1.0),
                    highest: Some(4.0),
                    step: Some(1.0),
                }
            } else {
                ScoreScale::default()
            };
            let found = chances(
                &slices,
                Direction::Higher,
                scale,
                self.learners,
                &mut stream,
            )
            .unwrap();
            let sudden = sudden_rise(
                &slices,
                Direction::Higher,
                scale,
                self.learners,
                &mut stream,
            );
            for (count, p) in [
                (&mut alarms.dip, found.dip),
                (&mut alarms.rise, found.rise),
                (&mut alarms.variability, found.variability),
                (&mut alarms.sudden, sudden),
            ] {
                *count += if p.is_ok_and(|p| p <= level) {
                    share
                } else {
                    0.0
                };
            }
        }
        alarms
    }
}

/// Of 150 logs some 7 false alarms are due at 5 %, and 16 are still within chance (binomial, 1 in 500).
#[test]
fn smooth_learners_raise_no_more_false_alarms_than_stated() {
    for rated in [false, true] {
        let logs = Logs {
            sessions: 8,
            trials: 8,
            days: 0.0,
            rated,
            count: 150,
            learners: 99,
        };
        for curve in [FLAT, LINE, EXPONENTIAL] {
            let alarms = logs.alarms(curve, 0.05);
            for share in [alarms.dip, alarms.rise, alarms.variability, alarms.sudden] {
                assert!(share <= 16.0 / 150.0, "{alarms:?}");
            }
        }
    }
}

#[test]
fn stepped_and_dipping_learners_are_found_more_often_than_smooth_ones() {
    let logs = Logs {
        sessions: 11,
        trials: 20,
        days: 0.0,
        rated: false,
        count: 60,
        learners: 99,
    };
    assert!(logs.alarms(STEP, 0.05).sudden > 0.5);
    assert!(logs.alarms(DIP, 0.05).dip > 0.4);
}

/// A good day is no jump: days that differ by a fifth of a trial sd raise no more alarms than stated (of 150 some 7 due, 16 within chance).
#[test]
fn good_days_are_not_taken_for_jumps() {
    let logs = Logs {
        sessions: 12,
        trials: 15,
        days: 0.2,
        rated: false,
        count: 150,
        learners: 99,
    };
    for curve in [FLAT, LINE, EXPONENTIAL, LOGISTIC] {
        let sudden = logs.alarms(curve, 0.05).sudden;
        assert!(sudden <= 16.0 / 150.0, "{sudden}");
    }
}

/// `cargo test --release smooth_learner::calibration::table -- --ignored --nocapture`
#[test]
#[ignore = "takes minutes: prints the table of false alarms and power against sessions and trials"]
fn table() {
    for (name, curve) in [
        ("flat", FLAT),
        ("straight", LINE),
        ("exponential", EXPONENTIAL),
        ("logistic", LOGISTIC),
        ("step", STEP),
        ("dip", DIP),
    ] {
        for (sessions, trials) in [(6, 10), (8, 10), (12, 5), (12, 10), (12, 20), (20, 20)] {
            for (rated, days) in [(false, 0.0), (false, 0.2), (true, 0.0)] {
                let alarms = Logs {
                    sessions,
                    trials,
                    days,
                    rated,
                    count: 1000,
                    learners: 399,
                }
                .alarms(curve, 0.05);
                println!(
                    "{name:12} {sessions:2} sessions of {trials:2}, days {days}, rated {rated:5}: {alarms:.3?}"
                );
            }
        }
    }
}
