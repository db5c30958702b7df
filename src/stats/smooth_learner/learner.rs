//! A learner with a smooth practice curve, fitted to sessions: what is expected of each, and how scores vary about that.

use std::rc::Rc;

use super::ScoreScale;
use super::changes::{Changes, SessionSummary, changes};
use super::levels::levelled;
use super::rating_model::{MOST_POINTS, RatingModel, Ratings};
use super::rise_chance::chance_of_rise;
use crate::stats::isotonic::{Monotone, monotone_fit};
use crate::stats::{Direction, Undefined};

/// What is left of the mean squared difference where the largest rise is left out: 0.80 to 0.85 for normal scatter and 5 to 19 differences,
/// from the tabled moments of normal order statistics (Harter 1961, Biometrika 48:151–165).
const WITHOUT_LARGEST_RISE: f64 = 0.8;

/// A smooth learner fitted to sessions. Means are oriented: more is better.
pub(super) struct SmoothLearner {
    pub(super) observed: Changes,
    pub(super) summaries: Vec<SessionSummary>,
    /// The best monotone fit.
    pub(super) fit: Vec<f64>,
    /// What to add to the fit to take out what chance alone made it rise.
    pub(super) calming: Vec<f64>,
    /// Pooled sd of scores within sessions, and its degrees of freedom.
    pub(super) spread: f64,
    pub(super) freedom: f64,
    /// How scores vary: normal until told otherwise.
    pub(super) noise: Noise,
    /// The step between scores, where all of them are on it.
    pub(super) grid: Option<f64>,
    /// Half the least distance of two session means, where scores have steps.
    pub(super) grace: f64,
    /// The sd of good and bad days, where these are simulated too.
    pub(super) days: f64,
    /// The ends of the scale.
    pub(super) lowest: f64,
    pub(super) highest: f64,
}

/// How scores vary about a session's expected mean.
pub(super) enum Noise {
    Normal,
    /// On the points of a short scale: a table a session, the oriented score of point 0, and the oriented distance between points.
    Ratings {
        tables: Vec<Rc<Ratings>>,
        origin: f64,
        step: f64,
    },
}

impl SmoothLearner {
    pub(super) fn fitted(
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
    pub(super) fn expect(&mut self, means: &[f64]) {
        self.fit = means.iter().map(|&mean| self.on_scale(mean)).collect();
        self.calming = vec![0.0; means.len()];
    }

    /// The size that counts as large as an observed one. Sums of decimals in another order differ in the last digits: as large means as
    /// large within rounding.
    pub(super) fn as_large(&self, size: f64) -> f64 {
        size * (1.0 - 1e-9) - 1e-12 * self.spread
    }

    /// The chance of a rise as large as the one observed, where scores are on a short scale; none where that takes too long.
    pub(super) fn chance_of_rise(&self, rated: &Rated) -> Option<f64> {
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
    pub(super) fn rated(&self, direction: Direction, scale: ScoreScale) -> Option<Rated> {
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
    pub(super) fn variance_of_days(&self) -> f64 {
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

    #[inline]
    pub(super) fn on_scale(&self, mean: f64) -> f64 {
        mean.max(self.lowest).min(self.highest)
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
pub(super) struct Rated {
    model: RatingModel,
    /// The oriented score of the scale's lowest point, and the oriented distance between points.
    origin: f64,
    step: f64,
}

impl Rated {
    pub(super) fn noise(&self) -> Noise {
        Noise::Ratings {
            tables: self.model.tables(),
            origin: self.origin,
            step: self.step,
        }
    }
}
