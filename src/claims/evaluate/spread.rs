//! How much the numbers of a block spread, about their mean or about the target.

use super::{Evaluator, divided};
use crate::claims::computation::{
    Centre, Computation, Divisor, EarlyRounding, Formula, Side, Spread, SpreadForm, Transform,
};
use crate::claims::rounding::half_up;
use crate::claims::verdict::NoValue;
use crate::statistic::Statistic;
use crate::stats::moments::Moments;

impl Evaluator<'_> {
    /// The spread of one block, in the form asked for.
    pub(super) fn block_spread(&self, c: &Computation) -> Result<f64, NoValue> {
        if c.later.centre == Centre::BySession {
            // Each session for itself, then the mean over sessions.
            let sessions = self.some(&c.later)?.moments_of_sessions()?;
            let spreads: Result<Vec<f64>, NoValue> = sessions
                .iter()
                .map(|session| spread_of(session, c.spread, None))
                .collect();
            return Ok(Moments::of(&spreads?)?.mean);
        }
        self.spread(c, &c.later)
    }

    pub(super) fn spread(&self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
        if c.spread.form == SpreadForm::Sd
            && let Some(stated) = self.stated_instead(c, side, Statistic::Sd)
        {
            return Ok(stated);
        }
        let moments = self.moments(side)?;
        if c.spread.form != SpreadForm::Sd
            && matches!(
                c.early,
                EarlyRounding::To(_)
                    | EarlyRounding::StatedRight
                    | EarlyRounding::StatedAll
                    | EarlyRounding::StatedWrong
            )
        {
            // From the sd as rounded or stated.
            let sd_alone = Spread {
                form: SpreadForm::Sd,
                ..c.spread
            };
            let sd = match self.stated_instead(c, side, Statistic::Sd) {
                Some(stated) => stated,
                None => rounded_spread(c, spread_of(&moments, sd_alone, None)?),
            };
            return Ok(match c.spread.form {
                SpreadForm::Variance => sd * sd,
                _ => sd / (f64::from(side.planned.unwrap_or(count_u32(moments.n)))).sqrt(),
            });
        }
        spread_of(&moments, c.spread, side.planned).map(|spread| rounded_spread(c, spread))
    }

    pub(super) fn mean_square(&self, c: &Computation, divisor: Divisor) -> Result<f64, NoValue> {
        let numbers = self.some(&c.later)?;
        let n = numbers.values.len() as f64;
        let squares: f64 = numbers.values.iter().map(|value| value * value).sum();
        divided(
            squares,
            match divisor {
                Divisor::N => n,
                Divisor::NMinusOne => n - 1.0,
            },
        )
    }

    /// The same trials with x taken of each, and with y.
    fn axes(&mut self, side: Side) -> [Side; 2] {
        [Transform::X, Transform::Y].map(|axis| Side {
            trials: self
                .gatherer
                .changed(side.trials, |selection| selection.taking(axis)),
            ..side
        })
    }

    pub(super) fn centroid(&mut self, c: &Computation) -> Result<f64, NoValue> {
        let [x, y] = self.axes(c.later);
        Ok(self.level(c, &x)?.hypot(self.level(c, &y)?))
    }

    pub(super) fn bivariate_spread(&mut self, c: &Computation) -> Result<f64, NoValue> {
        let [x, y] = self.axes(c.later);
        let (x, y) = (self.moments(&x)?, self.moments(&y)?);
        let n = x.n as f64;
        let divisor = match c.spread.divisor {
            Divisor::N => n,
            Divisor::NMinusOne => n - 1.0,
        };
        let variance = divided(x.squared_deviations + y.squared_deviations, divisor)?;
        Ok(match c.spread.form {
            SpreadForm::Sd => variance.sqrt(),
            SpreadForm::Variance => variance,
            SpreadForm::StandardError => (variance / n).sqrt(),
        })
    }
}

pub(super) fn count_u32(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// A spread as it goes into the last step.
pub(super) fn rounded_spread(c: &Computation, spread: f64) -> f64 {
    match c.early {
        EarlyRounding::To(decimals)
            if c.formula != Formula::Spread || c.spread.form != SpreadForm::Sd =>
        {
            half_up(spread, decimals)
        }
        _ => spread,
    }
}

pub(super) fn spread_of(
    moments: &Moments,
    spread: Spread,
    planned: Option<u32>,
) -> Result<f64, NoValue> {
    let n = moments.n as f64;
    let variance = match spread.divisor {
        Divisor::NMinusOne => moments.variance()?,
        Divisor::N => moments.squared_deviations / n,
    };
    Ok(match spread.form {
        SpreadForm::Sd => variance.sqrt(),
        SpreadForm::Variance => variance,
        SpreadForm::StandardError => (variance / planned.map_or(n, f64::from)).sqrt(),
    })
}
