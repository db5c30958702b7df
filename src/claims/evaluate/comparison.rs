//! Two blocks compared: change, percent, effect sizes, overlap, and shares of a gain.

use super::level::rounded;
use super::spread::{rounded_spread, spread_of};
use super::{Evaluator, divided, last_input};
use crate::claims::computation::{Base, Computation, EarlyRounding, GainForm, Yardstick};
use crate::claims::rounding::half_up;
use crate::claims::verdict::NoValue;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, decimal_grid};

/// Means of pre- and post-test nearer than this are the same: there is no gain.
const NO_GAIN: f64 = 1e-9;

/// Levels of two blocks.
pub(super) struct Two {
    pub(super) earlier: f64,
    pub(super) later: f64,
}

impl Evaluator<'_> {
    pub(super) fn two(&self, c: &Computation) -> Result<Two, NoValue> {
        Ok(Two {
            later: self.level(c, &c.later)?,
            earlier: self.level(c, &c.earlier)?,
        })
    }

    pub(super) fn percent(&self, c: &Computation, base: Base) -> Result<f64, NoValue> {
        let two = self.two(c)?;
        let scale = self.scale(&c.later).copied();
        let ends = || {
            let scale = scale.as_ref().ok_or(NoValue::NoScale)?;
            Ok::<_, NoValue>((scale.lowest, scale.highest.ok_or(NoValue::NoScale)?))
        };
        let base = match base {
            Base::Earlier => two.earlier.abs(),
            Base::Later => two.later.abs(),
            Base::ScaleRange => {
                let (low, high) = ends()?;
                high - low.ok_or(NoValue::NoScale)?
            }
            Base::ScaleTop => ends()?.1.abs(),
        };
        let share = divided(two.later - two.earlier, base)?;
        // 100·share would round otherwise than 100·difference/base in the last bit; only early rounding takes the share apart.
        Ok(match c.early {
            EarlyRounding::LastInputTo(_) => 100.0 * last_input(c, share),
            _ => 100.0 * (two.later - two.earlier) / base,
        })
    }

    pub(super) fn standardised(
        &self,
        c: &Computation,
        yardstick: Yardstick,
        corrected: bool,
    ) -> Result<f64, NoValue> {
        if yardstick == Yardstick::Differences {
            let differences = self.differences(c)?;
            let moments = Moments::of(&differences)?;
            let sd = spread_of(&moments, c.spread, None)?;
            return over_spread(rounded(c, moments.mean), rounded_spread(c, sd));
        }
        let two = self.two(c)?;
        let (n_earlier, n_later) = (self.moments(&c.earlier)?.n, self.moments(&c.later)?.n);
        let (a, b) = (n_earlier as f64, n_later as f64);
        let by = match yardstick {
            Yardstick::Earlier => self.spread(c, &c.earlier)?,
            Yardstick::Later => self.spread(c, &c.later)?,
            Yardstick::Together => {
                let together: Vec<f64> = [c.earlier.trials, c.later.trials]
                    .iter()
                    .flat_map(|trials| self.numbers(*trials).values.iter().copied())
                    .collect();
                spread_of(&Moments::of(&together)?, c.spread, None)?
            }
            _ => {
                let earlier = self.spread(c, &c.earlier)?;
                let later = self.spread(c, &c.later)?;
                match yardstick {
                    Yardstick::MeanSpread => f64::midpoint(earlier, later),
                    Yardstick::RootMeanVariance => {
                        f64::midpoint(earlier * earlier, later * later).sqrt()
                    }
                    Yardstick::PooledOverN => divided(
                        earlier * earlier * (a - 1.0) + later * later * (b - 1.0),
                        a + b,
                    )?
                    .sqrt(),
                    _ => divided(
                        earlier * earlier * (a - 1.0) + later * later * (b - 1.0),
                        a + b - 2.0,
                    )?
                    .sqrt(),
                }
            }
        };
        if corrected {
            let d = over_spread(two.later - two.earlier, by)?;
            let factor = crate::stats::effect_size::small_sample_factor(a + b - 2.0)?;
            return Ok(last_input(c, d) * factor);
        }
        over_spread(two.later - two.earlier, last_input(c, by))
    }

    /// Later less earlier, by trial number.
    pub(super) fn differences(&self, c: &Computation) -> Result<Vec<f64>, NoValue> {
        let (earlier, later) = self.paired(c)?;
        Ok(decimal_grid::differences(&earlier, &later))
    }

    /// The scores of the trials that both blocks have, earlier and later, by trial number.
    pub(super) fn paired(&self, c: &Computation) -> Result<(Vec<f64>, Vec<f64>), NoValue> {
        let (earlier, later) = (self.some(&c.earlier)?, self.some(&c.later)?);
        if earlier.is_of_several_sessions() || later.is_of_several_sessions() {
            return Err(NoValue::SeveralSessions);
        }
        let most = later.values.len();
        let (mut a, mut b) = (Vec::with_capacity(most), Vec::with_capacity(most));
        for (value, origin) in later.values.iter().zip(&later.from) {
            let partner = earlier
                .from
                .iter()
                .position(|other| other.number == origin.number && other.rater == origin.rater)
                .and_then(|place| earlier.values.get(place));
            if let Some(partner) = partner {
                a.push(*partner);
                b.push(*value);
            }
        }
        Ok((a, b))
    }

    pub(super) fn nonoverlap(
        &self,
        c: &Computation,
        higher_is_better: bool,
    ) -> Result<f64, NoValue> {
        let (above, ties, pairs) = self.pairs(c)?;
        let better = if higher_is_better {
            above
        } else {
            pairs - above - ties
        };
        divided(better + 0.5 * ties, pairs)
    }

    /// Pairs of trials with the later above the earlier, tied pairs, all pairs.
    pub(super) fn pairs(&self, c: &Computation) -> Result<(f64, f64, f64), NoValue> {
        let (earlier, later) = (&self.some(&c.earlier)?.values, &self.some(&c.later)?.values);
        let (mut above, mut ties) = (0_u64, 0_u64);
        for b in later {
            for a in earlier {
                above += u64::from(b > a);
                #[expect(clippy::float_cmp, reason = "tied scores are the same double")]
                let tied = a == b;
                ties += u64::from(tied);
            }
        }
        let pairs = earlier.len() * later.len();
        Ok((above as f64, ties as f64, pairs as f64))
    }

    pub(super) fn gain(&self, c: &Computation, form: GainForm) -> Result<f64, NoValue> {
        let test = self.level(c, &c.later)?;
        let post = self.level(c, &c.between)?;
        if form == GainForm::OfPost {
            return divided(100.0 * test, post);
        }
        if form == GainForm::LostOfPost {
            return Ok(100.0 - divided(100.0 * test, post)?);
        }
        let pre = self.level(c, &c.earlier)?;
        if form == GainForm::Points {
            return Ok(test - pre);
        }
        if (post - pre).abs() < NO_GAIN {
            return Err(NoValue::NoGain);
        }
        let kept = match c.early {
            EarlyRounding::LastInputTo(decimals) => {
                let (kept, gained) = (half_up(test - pre, decimals), half_up(post - pre, decimals));
                divided(100.0 * kept, gained)?
            }
            _ => 100.0 * (test - pre) / (post - pre),
        };
        Ok(if form == GainForm::Lost {
            100.0 - kept
        } else {
            kept
        })
    }
}

pub(super) fn over_spread(numerator: f64, spread: f64) -> Result<f64, NoValue> {
    if spread == 0.0 {
        return Err(Undefined::NoSpread.into());
    }
    Ok(numerator / spread)
}
