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
mod rating_model;
mod rise_chance;

use std::rc::Rc;

pub use changes::{Change, Changes, FEWEST_SESSIONS, Variability, changes};

use self::changes::{SessionSummary, about, extremes, falls_by, largest_rise, rises_by};
use self::rating_model::{MOST_POINTS, RatingModel, Ratings, Sums};
use self::rise_chance::chance_of_rise;
use super::curve_shape::{Shape, ShapeFit, curve_shapes_among};
use super::isotonic::{Monotone, monotone_fit};
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

/// Squared standard errors by which neighbouring levels of the fit must differ to stay apart where dips are counted. Chosen by the simulation
/// below: from 3 on, flat learners raise false alarms at the stated level; larger values only cost power.
const LEVEL_APART: f64 = 3.0;

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

/// What is left of the mean squared difference where the largest rise is left out: 0.80 to 0.85 for normal scatter and 5 to 19 differences,
/// from the tabled moments of normal order statistics (Harter 1961, Biometrika 48:151–165).
const WITHOUT_LARGEST_RISE: f64 = 0.8;

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

/// A smooth learner fitted to sessions. Means are oriented: more is better.
struct SmoothLearner {
    observed: Changes,
    summaries: Vec<SessionSummary>,
    /// The best monotone fit.
    fit: Vec<f64>,
    /// What to add to the fit to take out what chance alone made it rise.
    calming: Vec<f64>,
    /// Pooled sd of scores within sessions, and its degrees of freedom.
    spread: f64,
    freedom: f64,
    /// How scores vary: normal until told otherwise.
    noise: Noise,
    /// The step between scores, where all of them are on it.
    grid: Option<f64>,
    /// Half the least distance of two session means, where scores have steps.
    grace: f64,
    /// The sd of good and bad days, where these are simulated too.
    days: f64,
    /// The ends of the scale.
    lowest: f64,
    highest: f64,
}

/// How scores vary about a session's expected mean.
enum Noise {
    Normal,
    /// On the points of a short scale: a table a session, the oriented score of point 0, and the oriented distance between points.
    Ratings {
        tables: Vec<Rc<Ratings>>,
        origin: f64,
        step: f64,
    },
}

impl SmoothLearner {
    fn fitted(
        sessions: &[&[f64]],
        direction: Direction,
        scale: ScoreScale,
    ) -> Result<Self, Undefined> {
        let observed = changes(sessions, direction)?;
        let mut summaries = Vec::with_capacity(sessions.len());
        for scores in sessions {
            let mut summary = SessionSummary::of(scores)?;
            summary.mean = direction.orient(summary.mean);
            summaries.push(summary);
        }
        let freedom = summaries.iter().map(|s| s.n as f64 - 1.0).sum::<f64>();
        if freedom < 1.0 {
            return Err(Undefined::TooFew {
                needed: 2,
                given: 1,
            });
        }
        let variance = summaries.iter().map(|s| s.squares).sum::<f64>() / freedom;
        if !variance.is_finite() {
            return Err(Undefined::Overflow);
        }
        if variance <= 0.0 {
            return Err(Undefined::NoSpread);
        }
        let means: Vec<f64> = summaries.iter().map(|s| s.mean).collect();
        let trials: Vec<f64> = summaries.iter().map(|s| s.n as f64).collect();
        let fit = monotone_fit(&means, &trials, Monotone::Rising)?;
        let calming = levelled(&fit, &trials, variance)
            .iter()
            .zip(&fit)
            .map(|(level, fit)| level - fit)
            .collect();
        let ends = [scale.lowest, scale.highest].map(|end| end.map(|end| direction.orient(end)));
        let (lowest, highest) = match direction {
            Direction::Higher => (ends[0], ends[1]),
            Direction::Lower => (ends[1], ends[0]),
        };
        let most_trials = trials.iter().copied().fold(1.0, f64::max);
        let grid = scale
            .step
            .filter(|&step| step > 0.0 && on_grid(sessions, scale, step));
        Ok(Self {
            observed,
            noise: Noise::Normal,
            grid,
            summaries,
            fit,
            calming,
            spread: variance.sqrt(),
            freedom,
            grace: grid.map_or(0.0, |step| step / most_trials / 2.0),
            days: 0.0,
            lowest: lowest.unwrap_or(f64::NEG_INFINITY),
            highest: highest.unwrap_or(f64::INFINITY),
        })
    }

    /// Expects these (oriented) means instead of the monotone fit.
    fn expect(&mut self, means: &[f64]) {
        self.fit = means.iter().map(|&mean| self.on_scale(mean)).collect();
        self.calming = vec![0.0; means.len()];
    }

    /// The size that counts as large as an observed one. Sums of decimals in another order differ in the last digits: as large means as
    /// large within rounding.
    fn as_large(&self, size: f64) -> f64 {
        size * (1.0 - 1e-9) - 1e-12 * self.spread
    }

    /// The chance of a rise as large as the one observed, where scores are on a short scale; none where that takes too long.
    fn chance_of_rise(&self, rated: &Rated) -> Option<f64> {
        let least = self.as_large(self.observed.rise?.size);
        let means = rated.model.outcomes()?.into_iter().map(|outcomes| {
            let mut outcomes = Rc::unwrap_or_clone(outcomes);
            for (mean, _) in &mut outcomes {
                *mean = rated.origin + rated.step * *mean;
            }
            if rated.step < 0.0 {
                outcomes.reverse();
            }
            outcomes
        });
        // What is too rare for a double is still possible.
        Some(chance_of_rise(means, least).max(f64::MIN_POSITIVE))
    }

    /// How scores about the expected means vary on a short scale; none on others.
    fn rated(&self, direction: Direction, scale: ScoreScale) -> Option<Rated> {
        let (lowest, highest, step) = (scale.lowest?, scale.highest?, self.grid?);
        let steps = ((highest - lowest) / step).round();
        if !(1.0..MOST_POINTS as f64).contains(&steps) {
            return None;
        }
        let points = (2..=MOST_POINTS).find(|&points| points as f64 > steps)?;
        let expected: Vec<f64> = self
            .fit
            .iter()
            .zip(&self.summaries)
            .map(|(&fit, summary)| {
                // A session of nothing but the best score doesn't mean that the next trial can't fall short.
                let margin = (0.5 / summary.n as f64).min(0.25);
                ((direction.orient(fit) - lowest) / step)
                    .clamp(margin, (steps - margin).max(margin))
            })
            .collect();
        let ratings = self.summaries.iter().map(|summary| summary.n).collect();
        let variance = self.spread * self.spread / (step * step);
        Some(Rated {
            model: RatingModel::fitted(&expected, ratings, variance, points),
            origin: direction.orient(lowest),
            step: direction.orient(step),
        })
    }

    /// The variance of good and bad days: how much the sessions' means scatter about the expected ones beyond what trials account for. From
    /// the squared differences of neighbouring sessions' departures (von Neumann 1941), the largest rise left out, so that a step doesn't
    /// pass for scatter.
    fn variance_of_days(&self) -> f64 {
        let rise = self.observed.rise.map(|rise| rise.session);
        let departures: Vec<f64> = self
            .summaries
            .iter()
            .zip(&self.fit)
            .map(|(summary, fit)| summary.mean - fit)
            .collect();
        let squares: Vec<f64> = (1..)
            .zip(departures.windows(2))
            .filter(|(session, _)| Some(*session) != rise)
            .filter_map(|(_, pair)| match pair {
                [a, b] => Some((b - a).powi(2)),
                _ => None,
            })
            .collect();
        if squares.is_empty() {
            return 0.0;
        }
        let scatter =
            squares.iter().sum::<f64>() / (2.0 * squares.len() as f64 * WITHOUT_LARGEST_RISE);
        let sessions = self.summaries.iter().map(|summary| 1.0 / summary.n as f64);
        let of_trials =
            self.spread * self.spread * sessions.sum::<f64>() / self.summaries.len() as f64;
        (scatter - of_trials).max(0.0)
    }

    fn simulate(&self, learners: usize, stream: &mut Stream) -> Chances {
        let observed_ratio = self.observed.variability.and_then(Variability::ratio);
        let dip = self
            .observed
            .dip
            .map(|dip| self.as_large(dip.size) - self.grace);
        let rise = self.observed.rise.map(|rise| match self.noise {
            Noise::Normal => self.as_large(rise.size) - self.grace,
            Noise::Ratings { .. } => self.as_large(rise.size),
        });
        let (mut dips, mut rises, mut ratios, mut defined) = (0_usize, 0_usize, 0_usize, 0_usize);
        let mut means = vec![0.0; self.fit.len()];
        let mut calm = means.clone();
        let mut drawn = vec![Sums::default(); self.fit.len()];
        for _ in 0..learners {
            let spread = self.draw_means(stream, &mut means, &mut drawn);
            if self.days > 0.0 {
                for mean in &mut means {
                    *mean = self.on_scale(*mean + self.days * stream.normal());
                }
            }
            if let Some(least) = dip {
                for ((calm, mean), calming) in calm.iter_mut().zip(&means).zip(&self.calming) {
                    *calm = self.on_scale(mean + calming);
                }
                dips += usize::from(falls_by(&calm, least));
            }
            rises += usize::from(rise.is_some_and(|least| rises_by(&means, least)));
            if let Ok(least) = observed_ratio
                && let Some(shown) = largest_rise(&means)
            {
                let variability = about(shown.session, self.fit.len(), |session| {
                    self.draw_sd(session, spread, stream, &drawn)
                });
                if let Ok(shown) = variability.and_then(Variability::ratio) {
                    defined += 1;
                    ratios += usize::from(shown >= least * (1.0 - 1e-9));
                }
            }
        }
        let share = |shown: usize, of: usize| (shown as f64 + 1.0) / (of as f64 + 1.0);
        Chances {
            dip: dip
                .map(|_| share(dips, learners))
                .ok_or(Undefined::NoSpread),
            rise: rise
                .map(|_| share(rises, learners))
                .ok_or(Undefined::NoSpread),
            variability: observed_ratio.and_then(|_| {
                at_least(1, defined)?;
                Ok(share(ratios, defined))
            }),
            learners,
        }
    }

    /// Draws a learner's session means; gives the learner's spread.
    #[inline]
    fn draw_means(&self, stream: &mut Stream, means: &mut [f64], drawn: &mut [Sums]) -> f64 {
        match &self.noise {
            Noise::Normal => {
                let spread = self.spread * (self.freedom / stream.chi_squared(self.freedom)).sqrt();
                for ((mean, expected), summary) in
                    means.iter_mut().zip(&self.fit).zip(&self.summaries)
                {
                    *mean = self
                        .on_scale(expected + stream.normal() * spread / (summary.n as f64).sqrt());
                }
                spread
            }
            Noise::Ratings {
                tables,
                origin,
                step,
            } => {
                for (((mean, drawn), table), summary) in
                    means.iter_mut().zip(drawn).zip(tables).zip(&self.summaries)
                {
                    *drawn = table.draw(stream);
                    *mean = origin + step * (f64::from(drawn.sum) / summary.n as f64);
                }
                self.spread
            }
        }
    }

    /// The sd within a session of the learner drawn last.
    #[inline]
    fn draw_sd(
        &self,
        session: usize,
        spread: f64,
        stream: &mut Stream,
        drawn: &[Sums],
    ) -> Option<f64> {
        let ratings = self.summaries.get(session)?.n;
        let n = ratings as f64;
        if n < 2.0 {
            return None;
        }
        match &self.noise {
            Noise::Normal => Some(spread * (stream.chi_squared(n - 1.0) / (n - 1.0)).sqrt()),
            Noise::Ratings { step, .. } => {
                let squares = drawn.get(session)?.squared_deviations_times(ratings);
                Some(step.abs() * (squares as f64 / (n * (n - 1.0))).sqrt())
            }
        }
    }

    #[inline]
    fn on_scale(&self, mean: f64) -> f64 {
        mean.max(self.lowest).min(self.highest)
    }
}

/// A monotone fit without the rises that chance alone would have given it: neighbouring levels become one, the least different first, until
/// each differs from the next by more than √[`LEVEL_APART`] standard errors.
fn levelled(fit: &[f64], trials: &[f64], variance: f64) -> Vec<f64> {
    let mut levels: Vec<Level> = fit
        .iter()
        .zip(trials)
        .map(|(&mean, &trials)| Level {
            mean,
            trials,
            sessions: 1,
        })
        .collect();
    // Of levels alike far apart the first are joined, whatever the last digits of their distances make of it.
    let nearer = |distance: f64, than: f64| distance < than * (1.0 - 1e-9);
    loop {
        let nearest = (0..)
            .zip(levels.windows(2))
            .filter_map(|(place, pair)| match pair {
                [low, high] => Some((place, low.distance(high, variance))),
                _ => None,
            })
            .reduce(|nearest, next| {
                if nearer(next.1, nearest.1) {
                    next
                } else {
                    nearest
                }
            });
        match nearest {
            Some((place, distance)) if nearer(distance, LEVEL_APART) => {
                let high = levels.remove(place + 1);
                if let Some(low) = levels.get_mut(place) {
                    low.join(&high);
                }
            }
            _ => break,
        }
    }
    levels
        .iter()
        .flat_map(|level| std::iter::repeat_n(level.mean, level.sessions))
        .collect()
}

/// Sessions of one expected mean.
struct Level {
    mean: f64,
    trials: f64,
    sessions: usize,
}

impl Level {
    /// The squared difference in squared standard errors.
    fn distance(&self, other: &Self, variance: f64) -> f64 {
        (other.mean - self.mean).powi(2)
            * self.trials
            * (other.trials / (self.trials + other.trials))
            / variance
    }

    fn join(&mut self, other: &Self) {
        let trials = self.trials + other.trials;
        self.mean = (self.mean * self.trials + other.mean * other.trials) / trials;
        self.trials = trials;
        self.sessions += other.sessions;
    }
}

/// Whether every score is a whole number of steps from an end of the scale (from 0 where it has none).
fn on_grid(sessions: &[&[f64]], scale: ScoreScale, step: f64) -> bool {
    let origin = scale.lowest.or(scale.highest).unwrap_or(0.0);
    sessions.iter().copied().flatten().all(|score| {
        let steps = (score - origin) / step;
        (steps - steps.round()).abs() < 1e-6
    })
}

/// How scores vary on a short scale.
struct Rated {
    model: RatingModel,
    /// The oriented score of the scale's lowest point, and the oriented distance between points.
    origin: f64,
    step: f64,
}

impl Rated {
    fn noise(&self) -> Noise {
        Noise::Ratings {
            tables: self.model.tables(),
            origin: self.origin,
            step: self.step,
        }
    }
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

    /// By hand: means 1, 2, 2, 5, 4, 4, 5; the rise of 3 comes to the fourth, the dip of 1 to the fifth.
    #[test]
    fn changes_by_hand() {
        let sessions = vec![
            vec![0.0, 2.0],
            vec![0.0, 4.0],
            vec![1.0, 3.0],
            vec![4.0, 6.0],
            vec![4.0, 4.0],
            vec![4.0],
            vec![5.0, 5.0],
        ];
        let found = changes(&slices(&sessions), Direction::Higher).unwrap();
        assert_eq!(
            found.rise,
            Some(Change {
                size: 3.0,
                session: 3
            })
        );
        assert_eq!(
            found.dip,
            Some(Change {
                size: 1.0,
                session: 4
            })
        );
        let variability = found.variability.unwrap();
        // sds √8 and √2 before, √2 and 0 from the rise on.
        assert_close(variability.before, 1.5 * 2.0_f64.sqrt(), 1e-15);
        assert_close(variability.after, 0.5 * 2.0_f64.sqrt(), 1e-15);
        let lower = changes(&slices(&sessions), Direction::Lower).unwrap();
        assert_eq!(lower.dip, found.rise);
        assert_eq!(lower.rise, found.dip);
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
