//! How often would a learner with a smooth practice curve show a dip, a rise or a spread before the rise as large as this one did?
//!
//! The smooth learner has the best monotone fit to these session means (in the improving direction, weighted by trials), this learner's own
//! trial-to-trial spread (the sds within sessions, pooled), the same sessions and as many trials in each. Many such learners are simulated;
//! p is (those who show as much + 1)/(those simulated + 1).
//!
//! Three things keep false alarms at the stated level, which the tests below measure:
//! - a monotone fit follows chance upwards, and its learners would dip too rarely: for dips, levels of the fit that chance alone would tell
//!   apart become one;
//! - the spread is itself an estimate: every simulated learner gets a spread that fits the sample (chi-squared);
//! - scores on a scale with steps are drawn from the scale's own points (short scales) or compared with half a step's grace (long ones).
//!
//! At the 5 % level, flat, straight, exponential and S-shaped learners raise false alarms in 2 to 6 % of logs; a dip of one trial sd in the
//! middle of twelve sessions is found in 14, 29 and 78 % of logs with 5, 10 and 30 trials a session (`calibration` prints the table).
//!
//! What dips and rises can't see: sessions that differ for reasons other than trial-to-trial spread (good and bad days). And since the best monotone fit
//! contains every true rise, `rise` only says how often a learner who rises as this one did would show it: it is never small for a true step.
//! [`sudden_rise`] asks the sharper question, and allows for days that differ.

mod alias_table;
mod changes;
mod learner;
mod levels;
mod rating_model;
mod rise_chance;
mod simulation;

pub use changes::{Change, Changes, FEWEST_SESSIONS, Variability, changes};

use self::changes::extremes;
use self::learner::SmoothLearner;
use super::curve_shape::{Shape, ShapeFit, curve_shapes_among};
use super::random::Stream;
use super::requirements::at_least;
use super::{Direction, Undefined};

/// Which scores exist.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ScoreScale {
    /// The lowest possible score.
    pub lowest: Option<f64>,
    /// The highest possible score.
    pub highest: Option<f64>,
    /// The distance between neighbouring scores.
    pub step: Option<f64>,
}

/// How often smooth learners show as much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// A dip as large; [`Undefined::NoSpread`] where no session was worse than the one before.
    pub dip: Result<f64, Undefined>,
    /// A rise as large; [`Undefined::NoSpread`] where no session was better than the one before.
    pub rise: Result<f64, Undefined>,
    /// A spread before the learner's own largest rise that is as large a multiple of the spread after; undefined where it is for this learner.
    pub variability: Result<f64, Undefined>,
    /// How many learners were simulated.
    pub learners: usize,
}

/// How often a smooth learner shows changes as large as these sessions do, by simulating `learners` of them from `stream`.
///
/// # Errors
/// [`Undefined::TooFew`] below six sessions, with an empty session, without any session of two scores, or without learners;
/// [`Undefined::NoSpread`] where no session's scores differ; [`Undefined::NotFinite`], [`Undefined::Overflow`].
pub fn chances(
    sessions: &[&[f64]],
    direction: Direction,
    scale: ScoreScale,
    learners: usize,
    stream: &mut Stream,
) -> Result<Chances, Undefined> {
    let mut learner = SmoothLearner::fitted(sessions, direction, scale)?;
    at_least(1, learners)?;
    if let Some(rated) = learner.rated(direction, scale) {
        learner.noise = rated.noise();
    }
    Ok(learner.simulate(learners, stream))
}

/// AIC above the best within which a smooth curve is not ruled out: half a likelihood ratio of e².
const CANNOT_RULE_OUT: f64 = 4.0;

/// The shapes of a learner without a step.
const SMOOTH: [Shape; 4] = [Shape::Flat, Shape::Line, Shape::Power, Shape::Exponential];

/// How often a learner whose curve has no step shows a rise as large as the largest one here. Small where the rise is sudden.
///
/// The expected means are those of the steepest among flat line, straight line, power and exponential curve that the sessions don't rule out
/// (AIC within 4 of the best of these). Days differ too: what the sessions' means scatter about that curve beyond their trials is simulated
/// as well, since without it a good day passes for a jump. All else as for [`chances`]; on a short scale, where the sessions' means scatter
/// no more than their trials, nothing is simulated: the chance is computed.
///
/// # Errors
/// As [`chances`]; [`Undefined::NoSpread`] also where no session was better than the one before.
pub fn sudden_rise(
    sessions: &[&[f64]],
    direction: Direction,
    scale: ScoreScale,
    learners: usize,
    stream: &mut Stream,
) -> Result<f64, Undefined> {
    at_least(1, learners)?;
    let mut learner = SmoothLearner::fitted(sessions, direction, scale)?;
    let means: Vec<f64> = learner
        .summaries
        .iter()
        .map(|summary| summary.mean)
        .collect();
    let shapes = curve_shapes_among(&means, &SMOOTH)?.fits;
    // Without the small-sample correction: what six sessions can't decide between is not thereby ruled out.
    let n = means.len() as f64;
    let unlikeliness = |fit: &ShapeFit| {
        n * fit.squared_error.max(f64::MIN_POSITIVE).ln() + 2.0 * fit.shape.parameters() as f64
    };
    let best = shapes
        .iter()
        .map(unlikeliness)
        .fold(f64::INFINITY, f64::min);
    let (curve, _) = shapes
        .iter()
        .filter(|fit| unlikeliness(fit) <= best + CANNOT_RULE_OUT)
        .map(|fit| fit.means(sessions.len()))
        .map(|curve| {
            let steepest = extremes(&curve).1.map_or(0.0, |rise| rise.size);
            (curve, steepest)
        })
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .ok_or(Undefined::NotConverged)?;
    learner.expect(&curve);
    learner.days = learner.variance_of_days().sqrt();
    if let Some(rated) = learner.rated(direction, scale) {
        if learner.days <= 0.0
            && let Some(p) = learner.chance_of_rise(&rated)
        {
            return Ok(p);
        }
        learner.noise = rated.noise();
    }
    // Only the rise is asked for.
    learner.observed.dip = None;
    learner.observed.variability = Err(Undefined::NoSpread);
    learner.simulate(learners, stream).rise
}

#[cfg(test)]
mod calibration;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_close;
    use proptest::prelude::*;

    const RATED: ScoreScale = ScoreScale {
        lowest: Some(1.0),
        highest: Some(4.0),
        step: Some(1.0),
    };

    fn slices(sessions: &[Vec<f64>]) -> Vec<&[f64]> {
        sessions.iter().map(Vec::as_slice).collect()
    }

    fn seeded(
        sessions: &[Vec<f64>],
        direction: Direction,
        scale: ScoreScale,
    ) -> Result<Chances, Undefined> {
        chances(
            &slices(sessions),
            direction,
            scale,
            500,
            &mut Stream::new(11, "test"),
        )
    }

    fn sessions_about(means: &[f64], spread: f64) -> Vec<Vec<f64>> {
        means
            .iter()
            .map(|mean| {
                [-1.5, -0.5, -0.2, 0.2, 0.5, 1.5]
                    .iter()
                    .map(|d| mean + spread * d)
                    .collect()
            })
            .collect()
    }

    #[test]
    fn undefined_where_there_is_nothing_to_see() {
        let rising: Vec<f64> = (0..8).map(f64::from).collect();
        let sessions = sessions_about(&rising, 1.0);
        assert!(matches!(
            seeded(&sessions[..5], Direction::Higher, ScoreScale::default()),
            Err(Undefined::TooFew { .. })
        ));
        assert_eq!(
            seeded(&sessions, Direction::Higher, ScoreScale::default())
                .unwrap()
                .dip,
            Err(Undefined::NoSpread)
        );
        let constant: Vec<Vec<f64>> = rising.iter().map(|&mean| vec![mean; 4]).collect();
        assert_eq!(
            seeded(&constant, Direction::Higher, ScoreScale::default()),
            Err(Undefined::NoSpread)
        );
        let single: Vec<Vec<f64>> = rising.iter().map(|&mean| vec![mean]).collect();
        assert!(matches!(
            seeded(&single, Direction::Higher, ScoreScale::default()),
            Err(Undefined::TooFew { .. })
        ));
        // A rise to the second session has no two sessions before it.
        let early = sessions_about(&[0.0, 9.0, 9.1, 9.2, 9.3, 9.4], 1.0);
        let found = seeded(&early, Direction::Higher, ScoreScale::default()).unwrap();
        assert!(found.variability.is_err() && found.rise.is_ok());
    }

    #[test]
    fn a_deep_dip_is_rare_and_a_shallow_one_is_not() {
        let deep = sessions_about(&[1.0, 2.0, 3.0, 0.0, 5.0, 6.0, 7.0, 8.0], 1.0);
        let shallow = sessions_about(&[1.0, 2.0, 3.0, 2.8, 3.0, 3.2, 3.3, 3.4], 1.0);
        let dip = |sessions: &[Vec<f64>]| {
            seeded(sessions, Direction::Higher, ScoreScale::default())
                .unwrap()
                .dip
                .unwrap()
        };
        assert!(dip(&deep) < 0.01);
        assert!(dip(&shallow) > 0.3);
    }

    #[test]
    fn a_step_is_a_sudden_rise_and_a_straight_line_is_not() {
        let sudden = |means: &[f64]| {
            let sessions = sessions_about(means, 1.0);
            let mut stream = Stream::new(3, "test");
            sudden_rise(
                &slices(&sessions),
                Direction::Higher,
                ScoreScale::default(),
                500,
                &mut stream,
            )
            .unwrap()
        };
        assert!(sudden(&[1.0, 1.2, 0.9, 1.1, 1.0, 4.0, 4.1, 3.9, 4.0, 4.2]) < 0.01);
        assert!(sudden(&[1.0, 1.3, 1.7, 1.9, 2.4, 2.6, 3.1, 3.3, 3.6, 4.0]) > 0.3);
    }

    #[test]
    fn a_computed_chance_of_a_rise_is_the_simulated_one() {
        let sessions: Vec<Vec<f64>> = [
            [1.0, 2.0, 1.0, 3.0, 2.0],
            [2.0, 2.0, 1.0, 2.0, 3.0],
            [2.0, 3.0, 1.0, 2.0, 2.0],
            [3.0, 4.0, 3.0, 2.0, 3.0],
            [4.0, 3.0, 3.0, 2.0, 4.0],
            [3.0, 4.0, 4.0, 3.0, 4.0],
        ]
        .map(Vec::from)
        .to_vec();
        let turned: Vec<Vec<f64>> = sessions
            .iter()
            .map(|scores| scores.iter().map(|score| 5.0 - score).collect())
            .collect();
        let chance = |sessions: &[Vec<f64>], direction| {
            let sessions = slices(sessions);
            let mut learner = SmoothLearner::fitted(&sessions, direction, RATED).unwrap();
            let rated = learner.rated(direction, RATED).unwrap();
            let computed = learner.chance_of_rise(&rated).unwrap();
            learner.noise = rated.noise();
            let simulated = learner.simulate(40_000, &mut Stream::new(5, "test"));
            assert_close(computed, simulated.rise.unwrap(), 0.01);
            computed
        };
        let higher = chance(&sessions, Direction::Higher);
        assert!((0.1..0.9).contains(&higher), "{higher}");
        assert_close(chance(&turned, Direction::Lower), higher, 1e-9);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(24))]

        /// Turning the scale over turns nothing else; the same seed gives the same answer.
        #[test]
        fn lower_is_higher_turned_over(
            sessions in prop::collection::vec(prop::collection::vec((1..5_i32).prop_map(f64::from), 2..7), 6..10),
        ) {
            let turned: Vec<Vec<f64>> = sessions.iter().map(|scores| scores.iter().map(|s| 5.0 - s).collect()).collect();
            let open = ScoreScale::default();
            let higher = seeded(&sessions, Direction::Higher, open);
            prop_assert_eq!(higher, seeded(&sessions, Direction::Higher, open));
            match (higher, seeded(&turned, Direction::Lower, open)) {
                (Ok(one), Ok(other)) => for (a, b) in [(one.dip, other.dip), (one.rise, other.rise)] {
                    match (a, b) {
                        (Ok(a), Ok(b)) => assert_close(a, b, 0.01),
                        (a, b) => prop_assert_eq!(a.is_err(), b.is_err()),
                    }
                },
                (one, other) => prop_assert_eq!(one.is_err(), other.is_err()),
            }
        }

        #[test]
        fn chances_are_probabilities(
            sessions in prop::collection::vec(prop::collection::vec((1..5_i32).prop_map(f64::from), 1..7), 6..10), rated in any::<bool>(),
        ) {
            let scale = if rated { RATED } else { ScoreScale { step: Some(1.0), ..ScoreScale::default() } };
            let Ok(found) = seeded(&sessions, Direction::Higher, scale) else { return Ok(()) };
            for p in [found.dip, found.rise, found.variability].into_iter().flatten() {
                prop_assert!(p > 0.0 && p <= 1.0);
            }
        }
    }
}
