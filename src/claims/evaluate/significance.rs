//! Tests of two blocks: t, Mann–Whitney, Wilcoxon.

use super::comparison::over_spread;
use super::level::rounded;
use super::spread::{rounded_spread, spread_of};
use super::{Evaluator, divided, last_input};
use crate::claims::computation::{Computation, Design, Report, Spread, SpreadForm, Tails};
use crate::claims::verdict::NoValue;
use crate::stats::distribution::t_two_sided;
use crate::stats::moments::Moments;
use crate::stats::{mann_whitney, wilcoxon};

impl Evaluator<'_> {
    pub(super) fn t_test(
        &self,
        c: &Computation,
        design: Design,
        report: Report,
    ) -> Result<f64, NoValue> {
        let (t, df) = if design == Design::Paired {
            let moments = Moments::of(&self.differences(c)?)?;
            let sd = rounded_spread(c, spread_of(&moments, c.spread, None)?);
            let n = moments.n as f64;
            (
                over_spread(rounded(c, moments.mean), sd / n.sqrt())?,
                n - 1.0,
            )
        } else {
            let two = self.two(c)?;
            let sd_alone = Computation {
                spread: Spread {
                    form: SpreadForm::Sd,
                    ..c.spread
                },
                ..*c
            };
            let a = self.spread(&sd_alone, &c.earlier)?.powi(2);
            let b = self.spread(&sd_alone, &c.later)?.powi(2);
            let n_a = self.moments(&c.earlier)?.n as f64;
            let n_b = self.moments(&c.later)?.n as f64;
            if design == Design::Pooled {
                let df = n_a + n_b - 2.0;
                let pooled = divided(a * (n_a - 1.0) + b * (n_b - 1.0), df)?;
                let error = (pooled * (1.0 / n_a + 1.0 / n_b)).sqrt();
                (over_spread(two.later - two.earlier, error)?, df)
            } else {
                let (a, b) = (a / n_a, b / n_b);
                let t = over_spread(two.later - two.earlier, (a + b).sqrt())?;
                let df = divided((a + b) * (a + b), a * a / (n_a - 1.0) + b * b / (n_b - 1.0))?;
                (t, df)
            }
        };
        match report {
            Report::Statistic => Ok(t),
            Report::P(tails) => {
                let two_sided = t_two_sided(last_input(c, t), df)?;
                Ok(of_tails(two_sided, tails))
            }
        }
    }

    pub(super) fn mann_whitney(&self, c: &Computation, report: Report) -> Result<f64, NoValue> {
        match report {
            Report::Statistic => {
                let (above, ties, _) = self.pairs(c)?;
                Ok(above + 0.5 * ties)
            }
            Report::P(tails) => {
                let (earlier, later) = (self.some(&c.earlier)?, self.some(&c.later)?);
                let test = mann_whitney::mann_whitney(&earlier.values, &later.values)?;
                Ok(of_tails(test.p, tails))
            }
        }
    }

    pub(super) fn wilcoxon(&self, c: &Computation, report: Report) -> Result<f64, NoValue> {
        let (earlier, later) = self.paired(c)?;
        let test = wilcoxon::wilcoxon(&earlier, &later)?;
        Ok(match report {
            Report::Statistic => test.positive_rank_sum,
            Report::P(tails) => of_tails(test.p, tails),
        })
    }
}

pub(super) fn of_tails(two_sided: f64, tails: Tails) -> f64 {
    match tails {
        Tails::Two => two_sided,
        Tails::One => two_sided / 2.0,
        Tails::OtherOne => 1.0 - two_sided / 2.0,
        Tails::TwiceTwo => 2.0 * two_sided,
    }
}
