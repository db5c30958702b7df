//! Works out a computation: the right value of a claim and what every slip gives come out of the same arithmetic.

mod agreement;
mod comparison;
mod level;
mod line;
mod significance;
mod spread;

use crate::claims::computation::{
    Centre, Computation, Divisor, EarlyRounding, Formula, Report, Selection, Side, Source, Trials,
};
use crate::claims::gather::{Gathered, Gatherer, why_empty};
use crate::claims::material::Material;
use crate::claims::rounding::half_up;
use crate::claims::verdict::NoValue;
use crate::phase::BlockName;
use crate::statistic::Statistic;
use crate::stats::moments::Moments;
use crate::stats::{Undefined, summary};

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
    pub fn other_side(&self, c: &Computation, value: f64) -> Option<f64> {
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
    pub fn tied_modes(&self, c: &Computation) -> Vec<f64> {
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
        if c.formula.sides() >= Sides::Two {
            n += self.numbers(c.earlier.trials).values.len();
        }
        if c.formula.sides() == Sides::Three {
            n += self.numbers(c.between.trials).values.len();
        }
        n
    }

    /// The numbers of trials.
    pub fn numbers(&self, trials: Trials) -> &Gathered {
        self.gatherer.numbers(trials)
    }

    /// Which numbers trials are.
    pub fn selection(&self, trials: Trials) -> Selection {
        self.gatherer.selection(trials)
    }

    /// A definition with its trials gathered.
    pub fn gathered(&mut self, definition: Computation<Selection>) -> Computation {
        definition.with_trials(|selection| self.gatherer.gather(selection))
    }

    /// Whether the range of the claim's own formula decides which numbers enter.
    pub fn is_by_formula(&self, c: &Computation) -> bool {
        self.selection(c.later.trials).is_by_formula()
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
    fn some(&self, side: &Side) -> Result<&Gathered, NoValue> {
        let numbers = self.numbers(side.trials);
        if numbers.values.is_empty() {
            return Err(why_empty(self.material(), self.selection(side.trials)));
        }
        Ok(numbers)
    }

    fn moments(&self, side: &Side) -> Result<Moments, NoValue> {
        Ok(self.some(side)?.moments()?)
    }

    fn counted(&self, side: &Side) -> Result<f64, NoValue> {
        if let Some(planned) = side.planned {
            return Ok(f64::from(planned));
        }
        // A block without a score has n = 0 only where trials were recorded: else there is no block.
        let n = self.numbers(side.trials).values.len();
        let selection = self.selection(side.trials);
        if n == 0 && !self.is_recorded(selection) {
            return Err(why_empty(self.material(), selection));
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
}

/// What the last step starts from.
fn last_input(c: &Computation, value: f64) -> f64 {
    match c.early {
        EarlyRounding::LastInputTo(decimals) => half_up(value, decimals),
        _ => value,
    }
}

fn divided(numerator: f64, denominator: f64) -> Result<f64, NoValue> {
    if denominator == 0.0 {
        return Err(Undefined::ZeroDenominator.into());
    }
    Ok(numerator / denominator)
}
