//! What stands for a block: its mean, median, best or the like.

use super::{Evaluator, divided};
use crate::claims::computation::{
    Centre, Computation, EarlyRounding, Formula, Side, Source, Transform,
};
use crate::claims::gather::goodness;
use crate::claims::material::Scale;
use crate::claims::rounding::half_up;
use crate::claims::verdict::NoValue;
use crate::statistic::Statistic;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, summary};

impl Evaluator<'_> {
    /// The scale on which a side was measured.
    pub(super) fn scale(&self, side: &Side) -> Option<&Scale> {
        self.material().scale(self.selection(side.trials).measure)
    }

    /// What stands for a block.
    pub(super) fn level(&self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
        if let Some(stated) = self.stated_instead(c, side, Statistic::Mean) {
            return Ok(stated);
        }
        let level = match side.centre {
            Centre::Mean => {
                let by_session =
                    matches!(c.early, EarlyRounding::To(_) | EarlyRounding::LevelsTo(_))
                        && c.formula == Formula::Level;
                if by_session {
                    return self.put_together_from_sessions(c, side);
                }
                let moments = self.moments(side)?;
                side.planned.map_or(moments.mean, |planned| {
                    moments.sum / f64::from(planned.max(1))
                })
            }
            Centre::Median => self.some(side)?.median()?,
            Centre::Mode(which) => {
                let modes = summary::modes(&self.some(side)?.values)?;
                modes
                    .get(usize::from(which))
                    .copied()
                    .ok_or(Undefined::OutOfRange)?
            }
            Centre::Sum => self.moments(side)?.sum,
            Centre::Best | Centre::LastBest => self.best(side)?,
            Centre::BySession => mean_of_means(self.some(side)?.moments_of_sessions()?)?,
            Centre::ByRater => {
                let raters = self.some(side)?.by(|origin| origin.rater);
                let moments: Result<Vec<Moments>, Undefined> =
                    raters.iter().map(|group| Moments::of(group)).collect();
                mean_of_means(&moments?)?
            }
        };
        Ok(rounded(c, level))
    }

    pub(super) fn best(&self, side: &Side) -> Result<f64, NoValue> {
        let of = self.selection(side.trials).of;
        let last = side.centre == Centre::LastBest;
        let scale = self.scale(side);
        let best = self
            .some(side)?
            .values
            .iter()
            .copied()
            .reduce(|best, value| match scale {
                Some(scale) => {
                    let (is, was) = (goodness(value, of, scale), goodness(best, of, scale));
                    if is > was || (last && is >= was) {
                        value
                    } else {
                        best
                    }
                }
                None => best,
            });
        best.ok_or(NoValue::Undefined(Undefined::TooFew {
            needed: 1,
            given: 0,
        }))
    }

    /// The mean of all trials put together from the rounded means of sessions.
    pub(super) fn put_together_from_sessions(
        &self,
        c: &Computation,
        side: &Side,
    ) -> Result<f64, NoValue> {
        let (mut sum, mut n) = (0.0, 0.0);
        for session in self.some(side)?.moments_of_sessions()? {
            let count = session.n as f64;
            sum += count * rounded(c, session.mean);
            n += count;
        }
        divided(sum, n)
    }

    /// The number that the report states for a block, where the computation goes by stated numbers.
    pub(super) fn stated_instead(
        &self,
        c: &Computation,
        side: &Side,
        statistic: Statistic,
    ) -> Option<f64> {
        let (right, wrong) = match c.early {
            EarlyRounding::StatedRight => (true, false),
            EarlyRounding::StatedWrong => (false, true),
            EarlyRounding::StatedAll => (true, true),
            _ => return None,
        };
        if statistic == Statistic::Mean && side.centre != Centre::Mean {
            return None;
        }
        let selection = self.selection(side.trials);
        let Source::Named(block) = selection.block else {
            return None;
        };
        let statistic = match (statistic, selection.of) {
            (statistic, Transform::AsRecorded) => statistic,
            (Statistic::Mean, Transform::Distance) => Statistic::AbsoluteError,
            _ => return None,
        };
        self.stated
            .iter()
            .find(|input| {
                input.measure == selection.measure
                    && input.block == block
                    && input.statistic == statistic
                    && if input.wrong { wrong } else { right }
            })
            .map(|input| input.value)
    }
}

/// A level as it goes into the last step.
pub(super) fn rounded(c: &Computation, level: f64) -> f64 {
    match c.early {
        EarlyRounding::To(decimals) | EarlyRounding::LevelsTo(decimals) => half_up(level, decimals),
        _ => level,
    }
}

fn mean_of_means(groups: &[Moments]) -> Result<f64, Undefined> {
    let means: Vec<f64> = groups.iter().map(|group| group.mean).collect();
    Ok(Moments::of(&means)?.mean)
}
