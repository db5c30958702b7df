//! Works out a computation: the right value of a claim and what every slip gives come out of the same arithmetic.

use super::computation::{
    AgreementKind, Base, Centre, Computation, Design, Divisor, EarlyRounding, Formula, GainForm,
    LineValue, Points, Ratings, Report, Selection, Side, Source, Spread, SpreadForm, Tails,
    Transform, Yardstick, small,
};
use super::gather::{Gathered, Gatherer, goodness, why_empty};
use super::material::Material;
use super::rounding::half_up;
use super::verdict::NoValue;
use crate::phase::{BlockName, Phase};
use crate::statistic::Statistic;
use crate::stats::agreement::cohen::{Weights, cohen_kappa};
use crate::stats::agreement::percent::percent_agreement;
use crate::stats::distribution::t_two_sided;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, decimal_grid, icc, mann_whitney, regression, summary, wilcoxon};

/// Means of pre- and post-test nearer than this are the same: there is no gain.
const NO_GAIN: f64 = 1e-9;

/// Works out computations over one logbook's numbers.
#[derive(Debug)]
pub struct Evaluator<'a> {
    /// The numbers, gathered.
    pub gatherer: Gatherer<'a>,
    /// Levels and spreads as the report states them, for what was computed from them.
    pub stated: Vec<StatedInput>,
}

/// A level or spread that the report states.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StatedInput {
    /// Of which measure.
    pub measure: usize,
    /// Of which block.
    pub block: BlockName,
    /// Mean, sd or the like.
    pub statistic: Statistic,
    /// The number stated.
    pub value: f64,
    /// It isn't what the trials give.
    pub wrong: bool,
}

/// All ratings of one trial, told by session and number.
struct RatedTrial {
    key: (usize, u32),
    ratings: Vec<(usize, f64)>,
}

/// Levels of two blocks.
struct Two {
    earlier: f64,
    later: f64,
}

impl<'a> Evaluator<'a> {
    /// Nothing worked out yet.
    pub fn new(material: &'a Material<'a>) -> Self {
        Self {
            gatherer: Gatherer::new(material),
            stated: Vec::new(),
        }
    }

    /// The numbers there are.
    pub fn material(&self) -> &'a Material<'a> {
        self.gatherer.material
    }

    /// The value of a computation, unrounded at the end.
    ///
    /// # Errors
    /// Why it has none.
    pub fn value(&mut self, c: &Computation) -> Result<f64, NoValue> {
        let result = self.formula(c)?;
        let result = match c.early {
            EarlyRounding::ResultTo(decimals) => half_up(result, decimals),
            _ => result,
        };
        let result = result * c.factor;
        if result.is_finite() {
            // A negative zero would print as −0.
            Ok(result + 0.0)
        } else {
            Err(Undefined::OutOfRange.into())
        }
    }

    /// The count from the other side, for the statistics that have two.
    pub fn other_side(&mut self, c: &Computation, value: f64) -> Option<f64> {
        match c.formula {
            Formula::MannWhitney(Report::Statistic) => {
                let n = self.numbers(c.later.trials).values.len()
                    * self.numbers(c.earlier.trials).values.len();
                Some(n as f64 - value)
            }
            Formula::Wilcoxon(Report::Statistic) => {
                let differences = self.differences(c).ok()?;
                let n = differences.iter().filter(|d| **d != 0.0).count() as f64;
                Some((n * (n + 1.0) / 2.0 - value).min(value))
            }
            _ => None,
        }
    }

    /// All most frequent values, where the computation gives one of them.
    pub fn tied_modes(&mut self, c: &Computation) -> Vec<f64> {
        if c.formula == Formula::Level && matches!(c.later.centre, Centre::Mode(_)) {
            summary::modes(&self.numbers(c.later.trials).values).unwrap_or_default()
        } else {
            Vec::new()
        }
    }

    /// How many numbers enter.
    pub fn count(&mut self, c: &Computation) -> usize {
        use super::computation::Sides;
        if let Formula::Agreement(_) = c.formula {
            return self.rated_twice(c.later.trials).0.len();
        }
        let mut n = self.numbers(c.later.trials).values.len();
        if c.uses() >= Sides::Two {
            n += self.numbers(c.earlier.trials).values.len();
        }
        if c.uses() == Sides::Three {
            n += self.numbers(c.between.trials).values.len();
        }
        n
    }

    /// A selection's numbers.
    pub fn numbers(&mut self, selection: Selection) -> &Gathered {
        self.gatherer.numbers(selection)
    }

    fn formula(&mut self, c: &Computation) -> Result<f64, NoValue> {
        match c.formula {
            Formula::Count => self.counted(&c.later),
            Formula::Level => self.level(c, &c.later),
            Formula::LevelInPercent => self.level(c, &c.later).map(|level| 100.0 * level),
            Formula::SizeOfLevel => self.level(c, &c.later).map(f64::abs),
            Formula::Smallest => Ok(summary::minimum(&self.some(&c.later)?.values)?),
            Formula::Largest => Ok(summary::maximum(&self.some(&c.later)?.values)?),
            Formula::Range => Ok(summary::range(&self.some(&c.later)?.values)?),
            Formula::Spread => self.block_spread(c),
            Formula::RelativeSpread => {
                let spread = self.spread(c, &c.later)?;
                let level = self.level(c, &c.later)?;
                divided(100.0 * spread, level)
            }
            Formula::RootMeanSquare(divisor) => self.mean_square(c, divisor).map(f64::sqrt),
            Formula::MeanSquare => self.mean_square(c, Divisor::N),
            Formula::Centroid => self.centroid(c),
            Formula::BivariateSpread => self.bivariate_spread(c),
            Formula::Change => self.two(c).map(|two| two.later - two.earlier),
            Formula::Percent(base) => self.percent(c, base),
            Formula::PercentRatio | Formula::Ratio => {
                let two = self.two(c)?;
                let ratio = divided(two.later, two.earlier)?;
                Ok(if c.formula == Formula::Ratio {
                    ratio
                } else {
                    100.0 * ratio
                })
            }
            Formula::Standardised(yardstick, corrected) => {
                self.standardised(c, yardstick, corrected)
            }
            Formula::Nonoverlap {
                tau,
                higher_is_better,
            } => {
                let nap = self.nonoverlap(c, higher_is_better)?;
                Ok(if tau {
                    2.0 * last_input(c, nap) - 1.0
                } else {
                    nap
                })
            }
            Formula::TTest(design, report) => self.t_test(c, design, report),
            Formula::MannWhitney(report) => self.mann_whitney(c, report),
            Formula::Wilcoxon(report) => self.wilcoxon(c, report),
            Formula::Gain(form) => self.gain(c, form),
            Formula::Line(value, points) => self.line(c, value, points),
            Formula::Agreement(kind) => self.agreement(c, kind),
        }
    }

    /// The numbers of a side, at least one.
    fn some(&mut self, side: &Side) -> Result<&Gathered, NoValue> {
        let place = self.gatherer.place(side.trials);
        if self.gatherer.at(place).values.is_empty() {
            return Err(why_empty(self.gatherer.material, side.trials));
        }
        Ok(self.gatherer.at(place))
    }

    fn moments(&mut self, side: &Side) -> Result<Moments, NoValue> {
        Ok(self.some(side)?.moments()?)
    }

    fn counted(&mut self, side: &Side) -> Result<f64, NoValue> {
        if let Some(planned) = side.planned {
            return Ok(f64::from(planned));
        }
        // A block without a score has n = 0 only where trials were recorded: else there is no block.
        let n = self.numbers(side.trials).values.len();
        if n == 0 && !self.is_recorded(side.trials) {
            return Err(why_empty(self.gatherer.material, side.trials));
        }
        Ok(n as f64)
    }

    /// Whether the block has trials at all, with scores or without.
    fn is_recorded(&self, selection: Selection) -> bool {
        match selection.block {
            Source::Named(block) => self
                .material()
                .sessions(selection.measure, block)
                .next()
                .is_some(),
            _ => false,
        }
    }

    /// What stands for a block.
    fn level(&mut self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
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

    fn best(&mut self, side: &Side) -> Result<f64, NoValue> {
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
    fn by(
        &mut self,
        side: &Side,
        key: impl Fn(&super::gather::Origin) -> usize,
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
    fn put_together_from_sessions(&mut self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
        let groups = self.by(side, |origin| origin.session)?;
        let (mut sum, mut n) = (0.0, 0.0);
        for group in &groups {
            let count = group.len() as f64;
            sum += count * rounded(c, Moments::of(group)?.mean);
            n += count;
        }
        divided(sum, n)
    }

    /// The spread of one block, in the form asked for.
    fn block_spread(&mut self, c: &Computation) -> Result<f64, NoValue> {
        if c.later.centre == Centre::BySession {
            // Each session for itself, then the mean over sessions.
            let groups = self.by(&c.later, |origin| origin.session)?;
            let spreads: Result<Vec<f64>, NoValue> = groups
                .iter()
                .map(|group| spread_of(&Moments::of(group)?, c.spread, None))
                .collect();
            return Ok(Moments::of(&spreads?)?.mean);
        }
        self.spread(c, &c.later)
    }

    fn spread(&mut self, c: &Computation, side: &Side) -> Result<f64, NoValue> {
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

    fn mean_square(&mut self, c: &Computation, divisor: Divisor) -> Result<f64, NoValue> {
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

    fn axes(&mut self, c: &Computation) -> Result<(Moments, Moments), NoValue> {
        let axis = |of| Side {
            trials: c.later.trials.taking(of),
            ..c.later
        };
        let x = self.moments(&axis(Transform::X))?;
        let y = self.moments(&axis(Transform::Y))?;
        Ok((x, y))
    }

    fn centroid(&mut self, c: &Computation) -> Result<f64, NoValue> {
        let axis = |of| Side {
            trials: c.later.trials.taking(of),
            ..c.later
        };
        let x = self.level(c, &axis(Transform::X))?;
        let y = self.level(c, &axis(Transform::Y))?;
        Ok(x.hypot(y))
    }

    fn bivariate_spread(&mut self, c: &Computation) -> Result<f64, NoValue> {
        let (x, y) = self.axes(c)?;
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

    fn two(&mut self, c: &Computation) -> Result<Two, NoValue> {
        Ok(Two {
            later: self.level(c, &c.later)?,
            earlier: self.level(c, &c.earlier)?,
        })
    }

    fn percent(&mut self, c: &Computation, base: Base) -> Result<f64, NoValue> {
        let two = self.two(c)?;
        let scale = self.material().scale(c.later.trials.measure).copied();
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

    fn standardised(
        &mut self,
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
                    .flat_map(|selection| self.numbers(*selection).values.clone())
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
    fn differences(&mut self, c: &Computation) -> Result<Vec<f64>, NoValue> {
        let (earlier, later) = self.paired(c)?;
        Ok(decimal_grid::differences(&earlier, &later))
    }

    /// The scores of the trials that both blocks have, earlier and later, by trial number.
    fn paired(&mut self, c: &Computation) -> Result<(Vec<f64>, Vec<f64>), NoValue> {
        self.some(&c.earlier)?;
        self.some(&c.later)?;
        let earlier = self.gatherer.place(c.earlier.trials);
        let later = self.gatherer.place(c.later.trials);
        let (earlier, later) = (self.gatherer.at(earlier), self.gatherer.at(later));
        if earlier.sessions > 1 || later.sessions > 1 {
            return Err(NoValue::SeveralSessions);
        }
        let (mut a, mut b) = (Vec::new(), Vec::new());
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

    fn nonoverlap(&mut self, c: &Computation, higher_is_better: bool) -> Result<f64, NoValue> {
        let (above, ties, pairs) = self.pairs(c)?;
        let better = if higher_is_better {
            above
        } else {
            pairs - above - ties
        };
        divided(better + 0.5 * ties, pairs)
    }

    /// Pairs of trials with the later above the earlier, tied pairs, all pairs.
    fn pairs(&mut self, c: &Computation) -> Result<(f64, f64, f64), NoValue> {
        self.some(&c.earlier)?;
        self.some(&c.later)?;
        let earlier = self.gatherer.place(c.earlier.trials);
        let later = self.gatherer.place(c.later.trials);
        let (earlier, later) = (
            &self.gatherer.at(earlier).values,
            &self.gatherer.at(later).values,
        );
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

    fn t_test(&mut self, c: &Computation, design: Design, report: Report) -> Result<f64, NoValue> {
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

    fn mann_whitney(&mut self, c: &Computation, report: Report) -> Result<f64, NoValue> {
        match report {
            Report::Statistic => {
                let (above, ties, _) = self.pairs(c)?;
                Ok(above + 0.5 * ties)
            }
            Report::P(tails) => {
                self.some(&c.earlier)?;
                self.some(&c.later)?;
                let earlier = self.gatherer.place(c.earlier.trials);
                let later = self.gatherer.place(c.later.trials);
                let test = mann_whitney::mann_whitney(
                    &self.gatherer.at(earlier).values,
                    &self.gatherer.at(later).values,
                )?;
                Ok(of_tails(test.p, tails))
            }
        }
    }

    fn wilcoxon(&mut self, c: &Computation, report: Report) -> Result<f64, NoValue> {
        let (earlier, later) = self.paired(c)?;
        let test = wilcoxon::wilcoxon(&earlier, &later)?;
        Ok(match report {
            Report::Statistic => test.positive_rank_sum,
            Report::P(tails) => of_tails(test.p, tails),
        })
    }

    fn gain(&mut self, c: &Computation, form: GainForm) -> Result<f64, NoValue> {
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

    fn line(&mut self, c: &Computation, value: LineValue, points: Points) -> Result<f64, NoValue> {
        let (x, y) = self.points(c, points)?;
        if x.len() < 3 {
            return Err(NoValue::FewSessions(x.len()));
        }
        let line = regression::line(&x, &y)?;
        match value {
            LineValue::Slope => Ok(line.slope),
            LineValue::R => Ok(line.r.ok_or(Undefined::NoSpread)?),
            LineValue::R2 => match (c.early, line.r, line.r2) {
                (EarlyRounding::LastInputTo(_), Some(r), _) => Ok(last_input(c, r).powi(2)),
                (_, _, r2) => Ok(r2.ok_or(Undefined::NoSpread)?),
            },
        }
    }

    /// Session numbers and levels.
    fn points(&mut self, c: &Computation, points: Points) -> Result<(Vec<f64>, Vec<f64>), NoValue> {
        let measure = c.later.trials.measure;
        let Source::Named(name) = c.later.trials.block else {
            return Err(NoValue::FewSessions(0));
        };
        let material = self.material();
        let phase = match name {
            BlockName::Phase(phase) => phase,
            BlockName::PracticeSession(_) => Phase::PRACTICE,
        };
        let mut sessions: Vec<(f64, Phase, usize)> = material
            .sessions(measure, name)
            .filter(|(_, session)| session.has_scores())
            .filter_map(|(place, session)| Some((f64::from(session.number?), phase, place)))
            .collect();
        if points == Points::WithTests {
            for block in material
                .measures
                .get(measure)
                .map(|measure| measure.phases.as_slice())
                .unwrap_or_default()
                .iter()
                .filter(|block| block.phase.kind.is_test())
            {
                for (place, session) in block.sessions.iter().enumerate() {
                    if let Some(number) = session.recorded_number
                        && session.has_scores()
                    {
                        sessions.push((f64::from(number), block.phase, place));
                    }
                }
            }
        }
        if points == Points::InOrder {
            for (place, session) in sessions.iter_mut().enumerate() {
                session.0 = (place + 1) as f64;
            }
        }
        let (mut x, mut y) = (Vec::new(), Vec::new());
        for (number, phase, place) in sessions {
            let side = Side {
                trials: Selection {
                    block: Source::SessionOf(phase, small(place)),
                    ..c.later.trials
                },
                ..c.later
            };
            if points == Points::Trials {
                for value in self.some(&side)?.values.clone() {
                    x.push(number);
                    y.push(value);
                }
            } else {
                // A session of which a slip leaves nothing is no point.
                match self.level(c, &side) {
                    Ok(level) => {
                        x.push(number);
                        y.push(level);
                    }
                    Err(NoValue::NoScores(_)) => {}
                    Err(why) => return Err(why),
                }
            }
        }
        Ok((x, y))
    }

    /// The ratings of the first two raters, of all trials that both scored.
    fn rated_twice(&mut self, selection: Selection) -> (Vec<f64>, Vec<f64>) {
        let pooled = Selection {
            ratings: Ratings::Pooled,
            ..selection
        };
        let numbers = self.numbers(pooled);
        // By trial: session and number.
        let mut trials: Vec<RatedTrial> = Vec::new();
        let mut raters: Vec<(usize, usize)> = Vec::new();
        for (value, origin) in numbers.values.iter().zip(&numbers.from) {
            let key = (origin.session, origin.number);
            match trials.last_mut() {
                Some(trial) if trial.key == key => trial.ratings.push((origin.rater, *value)),
                _ => trials.push(RatedTrial {
                    key,
                    ratings: vec![(origin.rater, *value)],
                }),
            }
            let row = origin.row.unwrap_or(usize::MAX);
            match raters.iter_mut().find(|(rater, _)| *rater == origin.rater) {
                Some((_, first)) => *first = row.min(*first),
                None => raters.push((origin.rater, row)),
            }
        }
        // Raters are numbered in order of appearance over the whole measure; here the block's own counts.
        raters.sort_by_key(|(rater, row)| (*row, *rater));
        let (Some((a, _)), Some((b, _))) = (raters.first(), raters.get(1)) else {
            return (Vec::new(), Vec::new());
        };
        let by = |ratings: &[(usize, f64)], rater: usize| {
            ratings
                .iter()
                .find(|(by, _)| *by == rater)
                .map(|(_, value)| *value)
        };
        trials
            .iter()
            .filter_map(|trial| Some((by(&trial.ratings, *a)?, by(&trial.ratings, *b)?)))
            .unzip()
    }

    fn agreement(&mut self, c: &Computation, kind: AgreementKind) -> Result<f64, NoValue> {
        self.some(&c.later)?;
        let (first, second) = self.rated_twice(c.later.trials);
        if first.is_empty() {
            return Err(NoValue::OneRater);
        }
        Ok(match kind {
            AgreementKind::Percent => percent_agreement(&first, &second)?,
            AgreementKind::Kappa => cohen_kappa(&first, &second, Weights::Plain)?.kappa,
            AgreementKind::WeightedKappa => cohen_kappa(&first, &second, Weights::Quadratic)?.kappa,
            AgreementKind::Icc => {
                let things: Vec<Vec<f64>> = first
                    .iter()
                    .zip(&second)
                    .map(|(a, b)| vec![*a, *b])
                    .collect();
                icc::intraclass_correlations(&things)?.agreement?.value
            }
        })
    }

    /// The number that the report states for a block, where the computation goes by stated numbers.
    fn stated_instead(&self, c: &Computation, side: &Side, statistic: Statistic) -> Option<f64> {
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

fn count_u32(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// A level as it goes into the last step.
fn rounded(c: &Computation, level: f64) -> f64 {
    match c.early {
        EarlyRounding::To(decimals) | EarlyRounding::LevelsTo(decimals) => half_up(level, decimals),
        _ => level,
    }
}

/// A spread as it goes into the last step.
fn rounded_spread(c: &Computation, spread: f64) -> f64 {
    match c.early {
        EarlyRounding::To(decimals)
            if c.formula != Formula::Spread || c.spread.form != SpreadForm::Sd =>
        {
            half_up(spread, decimals)
        }
        _ => spread,
    }
}

/// What the last step starts from.
fn last_input(c: &Computation, value: f64) -> f64 {
    match c.early {
        EarlyRounding::LastInputTo(decimals) => half_up(value, decimals),
        _ => value,
    }
}

fn mean_of_means(groups: &[Vec<f64>]) -> Result<f64, NoValue> {
    let means: Result<Vec<f64>, Undefined> = groups
        .iter()
        .map(|group| Moments::of(group).map(|moments| moments.mean))
        .collect();
    Ok(Moments::of(&means?)?.mean)
}

fn spread_of(moments: &Moments, spread: Spread, planned: Option<u32>) -> Result<f64, NoValue> {
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

fn divided(numerator: f64, denominator: f64) -> Result<f64, NoValue> {
    if denominator == 0.0 {
        return Err(Undefined::ZeroDenominator.into());
    }
    Ok(numerator / denominator)
}

fn over_spread(numerator: f64, spread: f64) -> Result<f64, NoValue> {
    if spread == 0.0 {
        return Err(Undefined::NoSpread.into());
    }
    Ok(numerator / spread)
}

fn of_tails(two_sided: f64, tails: Tails) -> f64 {
    match tails {
        Tails::Two => two_sided,
        Tails::One => two_sided / 2.0,
        Tails::OtherOne => 1.0 - two_sided / 2.0,
        Tails::TwiceTwo => 2.0 * two_sided,
    }
}
