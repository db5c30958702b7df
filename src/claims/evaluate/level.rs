//! What stands for a block: its mean, median, best or the like.

use super::{Evaluator, divided};
use crate::claims::computation::{
    Centre, Computation, EarlyRounding, Formula, Side, Source, Transform,
};
use crate::claims::gather::goodness;
use crate::claims::rounding::half_up;
use crate::claims::verdict::NoValue;
use crate::statistic::Statistic;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, summary};

impl Evaluator<'_> {
    /// What stands for a block.
    pub(super) fn level(&mut self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
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
            Centre::Median => summary::median(&self.some(side)?.values)?,
            Centre::Mode(which) => {
                let modes = summary::modes(&self.some(side)?.values)?;
                modes
                    .get(usize::from(which))
                    .copied()
                    .ok_or(Undefined::OutOfRange)?
            }
            Centre::Sum => self.moments(side)?.sum,
            Centre::Best | Centre::LastBest => self.best(side)?,
            Centre::BySession => {
                let groups = self.by(side, |origin| origin.session)?;
                mean_of_means(&groups)?
            }
            Centre::ByRater => {
                let groups = self.by(side, |origin| origin.rater)?;
                mean_of_means(&groups)?
            }
        };
        Ok(rounded(c, level))
    }

    pub(super) fn best(&mut self, side: &Side) -> Result<f64, NoValue> {
        let of = side.trials.of;
        let last = side.centre == Centre::LastBest;
        let scale = self.material().scale(side.trials.measure).copied();
        let numbers = self.some(side)?;
        let best = numbers
            .values
            .iter()
            .copied()
            .reduce(|best, value| match &scale {
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

    /// The numbers of a side in groups.
    pub(super) fn by(
        &mut self,
        side: &Side,
        key: impl Fn(&crate::claims::gather::Origin) -> usize,
    ) -> Result<Vec<Vec<f64>>, NoValue> {
        let numbers = self.some(side)?;
        let mut groups: Vec<(usize, Vec<f64>)> = Vec::new();
        for (value, origin) in numbers.values.iter().zip(&numbers.from) {
            let key = key(origin);
            match groups.iter_mut().find(|(known, _)| *known == key) {
                Some((_, group)) => group.push(*value),
                None => groups.push((key, vec![*value])),
            }
        }
        Ok(groups.into_iter().map(|(_, group)| group).collect())
    }

    /// The mean of all trials put together from the rounded means of sessions.
    pub(super) fn put_together_from_sessions(
        &mut self,
        c: &Computation,
        side: &Side,
    ) -> Result<f64, NoValue> {
        let groups = self.by(side, |origin| origin.session)?;
        let (mut sum, mut n) = (0.0, 0.0);
        for group in &groups {
            let count = group.len() as f64;
            sum += count * rounded(c, Moments::of(group)?.mean);
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
        let Source::Named(block) = side.trials.block else {
            return None;
        };
        let statistic = match (statistic, side.trials.of) {
            (statistic, Transform::AsRecorded) => statistic,
            (Statistic::Mean, Transform::Distance) => Statistic::AbsoluteError,
            _ => return None,
        };
        self.stated
            .iter()
            .find(|input| {
                input.measure == side.trials.measure
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

pub(super) fn mean_of_means(groups: &[Vec<f64>]) -> Result<f64, NoValue> {
    let means: Result<Vec<f64>, Undefined> = groups
        .iter()
        .map(|group| Moments::of(group).map(|moments| moments.mean))
        .collect();
    Ok(Moments::of(&means?)?.mean)
}
