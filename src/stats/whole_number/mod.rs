//! Whole-number possibility: which means and standard deviations can n scores on a scale with a step have?
//!
//! Exact: every score is an anchor plus a whole number of steps, so that a mean is the anchor plus K·step/n for a whole K, and everything is
//! decided in fractions. Source: the GRIM test, Brown & Heathers 2017, Social Psychological and Personality Science 8:363–369; the
//! GRIMMER test, Anaya 2016, PeerJ Preprints 4:e2400, and Allard 2018.

mod fraction;
mod sum_of_squares;
mod window;

use std::ops::RangeInclusive;

use super::Undefined;
use fraction::Fraction;
use window::Window;

/// How a computed number becomes the stated one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rounding {
    /// A half goes away from zero: 1.125 is 1.13.
    HalfUp,
    /// A half goes to the even digit: 1.125 is 1.12.
    HalfEven,
    /// A half may go either way: what nothing rules out.
    Either,
}

/// What the sum of squares is divided by in a standard deviation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Divisor {
    /// n − 1, the sample's.
    NMinusOne,
    /// n, the population's.
    N,
}

/// A number as it was stated: the value and the decimals given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AtDecimals {
    /// The number.
    pub value: f64,
    /// How many decimals were stated.
    pub decimals: u8,
}

/// A scale on which scores lie a whole number of steps apart, with or without ends.
#[derive(Debug, Clone, Copy)]
pub struct SteppedScale {
    /// A score that exists: the lowest, else the highest, else 0.
    anchor: Fraction,
    step: Fraction,
    fewest_steps: Option<i128>,
    most_steps: Option<i128>,
}

/// The possible means next to a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeighbouringMeans {
    /// The largest possible mean not above it; absent below the lowest.
    pub below: Option<f64>,
    /// The least possible mean not below it; absent above the highest.
    pub above: Option<f64>,
}

impl SteppedScale {
    /// A scale from `lowest` to `highest` (either may be open) in steps of `step`, each score the mean of `raters` ratings.
    ///
    /// Numbers stand for the decimal they print as (a step of 0.1 is a tenth). With neither end, scores are multiples of the step.
    ///
    /// # Errors
    /// [`Undefined::OutOfRange`] where step or raters is not above 0, the ends are the wrong way round, or a number has too many digits.
    pub fn new(
        lowest: Option<f64>,
        highest: Option<f64>,
        step: f64,
        raters: u32,
    ) -> Result<Self, Undefined> {
        let exact =
            |value: f64| Fraction::from_shortest_decimal(value).ok_or(Undefined::OutOfRange);
        let lowest = lowest.map(exact).transpose()?;
        let highest = highest.map(exact).transpose()?;
        let step = exact(step)?
            .over(Fraction::whole(i128::from(raters)))
            .filter(|step| step.signum() > 0)
            .ok_or(Undefined::OutOfRange)?;
        let most_steps = match (lowest, highest) {
            (Some(lowest), Some(highest)) => {
                let range = highest.minus(lowest).filter(|range| range.signum() >= 0);
                let steps = range.and_then(|range| range.over(step));
                Some(steps.ok_or(Undefined::OutOfRange)?.floor())
            }
            (None, Some(_)) => Some(0),
            _ => None,
        };
        Ok(Self {
            anchor: lowest.or(highest).unwrap_or(Fraction::ZERO),
            step,
            fewest_steps: lowest.map(|_| 0),
            most_steps,
        })
    }

    /// Whether `n` scores on this scale can have a mean that rounds to the one stated.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] without scores, [`Undefined::OutOfRange`] where the digits pass 128-bit arithmetic.
    pub fn mean_is_possible(
        &self,
        n: usize,
        mean: AtDecimals,
        rounding: Rounding,
    ) -> Result<bool, Undefined> {
        Ok(!self.totals(n, mean, rounding)?.is_empty())
    }

    /// The possible means of `n` scores next to `mean`.
    ///
    /// # Errors
    /// As [`Self::mean_is_possible`].
    pub fn neighbouring_means(&self, n: usize, mean: f64) -> Result<NeighbouringMeans, Undefined> {
        let n = count(n)?;
        let neighbours = || {
            let total = Fraction::from_shortest_decimal(mean)?
                .minus(self.anchor)?
                .times(Fraction::whole(n))?
                .over(self.step)?;
            let (fewest, most) = self.ends_of_totals(n)?;
            let mean_of = |total: i128| self.mean_of(total, n).map(Fraction::to_f64);
            let below = most.map_or(total.floor(), |most| most.min(total.floor()));
            let above = fewest.map_or(total.ceiling(), |fewest| fewest.max(total.ceiling()));
            Some(NeighbouringMeans {
                below: match fewest {
                    Some(fewest) if below < fewest => None,
                    _ => Some(mean_of(below)?),
                },
                above: match most {
                    Some(most) if above > most => None,
                    _ => Some(mean_of(above)?),
                },
            })
        };
        neighbours().ok_or(Undefined::OutOfRange)
    }

    /// Whether `n` scores on this scale can have the standard deviation stated, together with the mean stated (where there is one).
    ///
    /// Exact up to [`sum_of_squares::MOST_SEARCHED`] scores; beyond, and where a search would take too long, what range and parity
    /// don't rule out counts as possible, so that `false` is always a proof.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] below two scores, [`Undefined::OutOfRange`] where the digits pass 128-bit arithmetic or the sd is below 0.
    pub fn sd_is_possible(
        &self,
        n: usize,
        mean: Option<AtDecimals>,
        sd: AtDecimals,
        divisor: Divisor,
        rounding: Rounding,
    ) -> Result<bool, Undefined> {
        super::requirements::at_least(2, n)?;
        let totals = match mean {
            Some(mean) => self.totals(n, mean, rounding)?,
            None => self.all_totals(count(n)?).ok_or(Undefined::OutOfRange)?,
        };
        if totals.is_empty() {
            return Ok(false);
        }
        let n = count(n)?;
        let spreads = self
            .squared_spreads(n, sd, divisor, rounding)
            .ok_or(Undefined::OutOfRange)?;
        if self
            .largest_spread(n, &totals)
            .is_some_and(|most| most < *spreads.start())
        {
            return Ok(false);
        }
        sum_of_squares::any_is_attainable(n, totals, spreads, self.fewest_steps, self.most_steps)
            .ok_or(Undefined::OutOfRange)
    }

    /// The largest standard deviation that `n` scores between the ends can have at the mean stated.
    ///
    /// # Errors
    /// [`Undefined::TooFew`] below two scores, [`Undefined::OutOfRange`] for a scale with an open end, for a mean that no scores give, or
    /// for too many digits.
    pub fn largest_sd(
        &self,
        n: usize,
        mean: AtDecimals,
        divisor: Divisor,
        rounding: Rounding,
    ) -> Result<f64, Undefined> {
        super::requirements::at_least(2, n)?;
        let totals = self.totals(n, mean, rounding)?;
        let n = count(n)?;
        let largest = || {
            let spread = self.largest_spread(n, &totals)?;
            let per = match divisor {
                Divisor::N => n,
                Divisor::NMinusOne => n - 1,
            };
            let variance = Fraction::new(spread, n.checked_mul(per)?)?
                .times(self.step)?
                .times(self.step)?;
            Some(variance.to_f64().sqrt())
        };
        if totals.is_empty() {
            return Err(Undefined::OutOfRange);
        }
        largest().ok_or(Undefined::OutOfRange)
    }

    /// The totals, in steps above n anchors, whose mean rounds to the one stated; empty where none does.
    fn totals(
        &self,
        n: usize,
        mean: AtDecimals,
        rounding: Rounding,
    ) -> Result<RangeInclusive<i128>, Undefined> {
        let n = count(n)?;
        let totals = || {
            let window = Window::of(mean, rounding)?;
            let total_at = |mean: Fraction| {
                mean.minus(self.anchor)?
                    .times(Fraction::whole(n))?
                    .over(self.step)
            };
            let mut least = total_at(window.low)?.ceiling();
            let mut most = total_at(window.high)?.floor();
            // Only the outermost totals can lie on a half.
            if least <= most && !window.includes(self.mean_of(least, n)?) {
                least += 1;
            }
            if least <= most && !window.includes(self.mean_of(most, n)?) {
                most -= 1;
            }
            let (fewest, greatest) = self.ends_of_totals(n)?;
            Some(
                fewest.map_or(least, |end| end.max(least))
                    ..=greatest.map_or(most, |end| end.min(most)),
            )
        };
        totals().ok_or(Undefined::OutOfRange)
    }

    /// Every total that can matter for a spread: all of a closed scale, else one of each remainder, as spreads don't change by whole steps.
    fn all_totals(&self, n: i128) -> Option<RangeInclusive<i128>> {
        Some(match self.ends_of_totals(n)? {
            (Some(fewest), Some(most)) => fewest..=most,
            // An open scale has room above or below for any spread only far from its end: start there.
            (Some(_), None) => {
                FAR_STEPS.checked_mul(n)?..=FAR_STEPS.checked_mul(n)?.checked_add(n - 1)?
            }
            (None, Some(_)) => {
                let far = (-FAR_STEPS).checked_mul(n)?;
                far..=far.checked_add(n - 1)?
            }
            (None, None) => 0..=n - 1,
        })
    }

    /// The largest n·Σk² − (Σk)² of `n` scores whose total, in steps, is one of `totals`; `None` where an end of the scale is open.
    fn largest_spread(&self, n: i128, totals: &RangeInclusive<i128>) -> Option<i128> {
        let most_steps = self.most_steps.filter(|_| self.fewest_steps.is_some())?;
        let spread = |total: i128| -> Option<i128> {
            let squares = sum_of_squares::largest(n, total, 0, most_steps)?;
            squares
                .checked_mul(n)?
                .checked_sub(total.checked_mul(total)?)
        };
        let (low, high) = (*totals.start(), *totals.end());
        // With a scores at the top and one between the ends the spread is convex in that one, so that it is largest where none is
        // between, or at the first or last total; with none between it is largest with half of them at the top.
        let (first, last) = if most_steps == 0 {
            (0, 0)
        } else {
            (-(-low).div_euclid(most_steps), high.div_euclid(most_steps))
        };
        let at_top = [n / 2, n - n / 2]
            .into_iter()
            .filter(|_| first <= last)
            .map(|half| half.clamp(first, last) * most_steps);
        [low, high]
            .into_iter()
            .chain(at_top)
            .filter(|total| totals.contains(total))
            .filter_map(spread)
            .max()
    }

    fn ends_of_totals(&self, n: i128) -> Option<(Option<i128>, Option<i128>)> {
        let times_n = |steps: Option<i128>| match steps {
            Some(steps) => steps.checked_mul(n).map(Some),
            None => Some(None),
        };
        Some((times_n(self.fewest_steps)?, times_n(self.most_steps)?))
    }

    fn mean_of(&self, total: i128, n: i128) -> Option<Fraction> {
        self.anchor.plus(Fraction::new(total, n)?.times(self.step)?)
    }

    /// The values of n·Σk² − (Σk)², k in steps, whose standard deviation rounds to the one stated.
    fn squared_spreads(
        &self,
        n: i128,
        sd: AtDecimals,
        divisor: Divisor,
        rounding: Rounding,
    ) -> Option<RangeInclusive<i128>> {
        let window = Window::of(sd, rounding)?;
        if window.stated.signum() < 0 {
            return None;
        }
        let per = match divisor {
            Divisor::N => n,
            Divisor::NMinusOne => n - 1,
        };
        let factor = Fraction::whole(n.checked_mul(per)?).over(self.step.times(self.step)?)?;
        let spread_at = |sd: Fraction| sd.times(sd)?.times(factor);
        let (low, high) = (window.low, spread_at(window.high)?);
        let mut least = 0;
        if low.signum() > 0 {
            let low = spread_at(low)?;
            least = low.ceiling();
            if least == low.floor() && !window.includes(window.low) {
                least += 1;
            }
        }
        let mut most = high.floor();
        if most == high.ceiling() && !window.includes(window.high) {
            most -= 1;
        }
        Some(least..=most)
    }
}

/// Steps from the end of a half-open scale at which the end no longer limits a spread anyone states.
const FAR_STEPS: i128 = 1_000_000_000;

fn count(n: usize) -> Result<i128, Undefined> {
    super::requirements::at_least(1, n)?;
    i128::try_from(n).map_err(|_| Undefined::OutOfRange)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::{assert_close, assert_relative};
    use proptest::prelude::*;

    fn stated(text: &str) -> AtDecimals {
        let decimals = text
            .split_once('.')
            .map_or(0, |(_, decimals)| decimals.len());
        AtDecimals {
            value: text.parse().unwrap(),
            decimals: u8::try_from(decimals).unwrap(),
        }
    }

    fn items(raters: u32) -> SteppedScale {
        SteppedScale::new(None, None, 1.0, raters).unwrap()
    }

    /// Brown & Heathers 2017 (5.19 of 28); a die rolled 20 times (encyclopedia, GRIM test); Allard 2018 (3.45 of 10); The Economist,
    /// 18 June 2016 (5.93 of 49); the others by division.
    #[test]
    fn published_means_of_whole_numbers() {
        for (mean, n, possible) in [
            ("5.19", 28, false),
            ("5.18", 28, true),
            ("3.48", 20, false),
            ("3.45", 20, true),
            ("3.45", 10, false),
            ("5.93", 49, false),
            ("5.92", 49, true),
            ("3.66", 12, false),
            ("3.67", 12, true),
            ("3.14", 100, true),
            ("2.35", 9, false),
        ] {
            let found = items(1).mean_is_possible(n, stated(mean), Rounding::Either);
            assert_eq!(found, Ok(possible), "{mean} of {n}");
        }
        // Four items a score: 581/112.
        assert_eq!(
            items(4).mean_is_possible(28, stated("5.19"), Rounding::Either),
            Ok(true)
        );
    }

    /// 9/8 is exactly 1.125.
    #[test]
    fn a_half_rounds_as_asked() {
        let possible = |mean, rounding| {
            items(1)
                .mean_is_possible(8, stated(mean), rounding)
                .unwrap()
        };
        assert!(possible("1.13", Rounding::HalfUp) && !possible("1.13", Rounding::HalfEven));
        assert!(possible("1.12", Rounding::HalfEven) && !possible("1.12", Rounding::HalfUp));
        assert!(possible("1.12", Rounding::Either) && possible("1.13", Rounding::Either));
        assert!(possible("-1.13", Rounding::HalfUp) && !possible("-1.12", Rounding::HalfUp));
        assert!(!possible("0.1", Rounding::HalfUp) || possible("0.13", Rounding::HalfUp));
    }

    /// Allard 2018 and Anaya 2016: 3.44 (2.47) of 18 fails by parity, 2.48 passes; the possible ones have known sums and squares.
    #[test]
    fn published_standard_deviations_of_whole_numbers() {
        for (mean, sd, n, possible) in [
            ("3.44", "2.47", 18, false),
            ("3.44", "2.48", 18, true),
            ("3.40", "1.50", 10, false),
            ("3.40", "1.51", 10, true),
            ("2.58", "1.93", 12, true),
        ] {
            for scale in [
                items(1),
                SteppedScale::new(Some(1.0), Some(7.0), 1.0, 1).unwrap(),
            ] {
                let found = scale.sd_is_possible(
                    n,
                    Some(stated(mean)),
                    stated(sd),
                    Divisor::NMinusOne,
                    Rounding::Either,
                );
                assert_eq!(found, Ok(possible), "{mean} ({sd}) of {n}");
            }
        }
    }

    #[test]
    fn ends_of_the_scale_bind() {
        let scale = SteppedScale::new(Some(1.0), Some(4.0), 1.0, 1).unwrap();
        assert_eq!(
            scale.mean_is_possible(10, stated("4.10"), Rounding::Either),
            Ok(false)
        );
        assert_eq!(
            scale.mean_is_possible(10, stated("0.9"), Rounding::Either),
            Ok(false)
        );
        // All ten at 4, but not spread.
        let top = Some(stated("4.0"));
        let sd =
            |sd| scale.sd_is_possible(10, top, stated(sd), Divisor::NMinusOne, Rounding::Either);
        assert_eq!(sd("0.00"), Ok(true));
        assert_eq!(sd("0.50"), Ok(false));
        // Five at each end: sd √(10·2.25/9).
        let largest = scale
            .largest_sd(10, stated("2.5"), Divisor::NMinusOne, Rounding::Either)
            .unwrap();
        assert_relative(largest, 2.5_f64.sqrt(), 1e-15);
        // Without the mean: more than the scale allows.
        let alone =
            |sd| scale.sd_is_possible(10, None, stated(sd), Divisor::NMinusOne, Rounding::Either);
        assert_eq!(alone("1.58"), Ok(true));
        assert_eq!(alone("1.60"), Ok(false));
    }

    #[test]
    fn a_step_shared_by_three_raters_is_a_third() {
        let scale = SteppedScale::new(Some(1.0), Some(4.0), 1.0, 3).unwrap();
        assert_eq!(
            scale.mean_is_possible(2, stated("2.17"), Rounding::HalfUp),
            Ok(true)
        );
        assert_eq!(
            scale.mean_is_possible(2, stated("2.25"), Rounding::HalfUp),
            Ok(false)
        );
        let found = scale.neighbouring_means(2, 2.25).unwrap();
        assert_close(found.below.unwrap(), 13.0 / 6.0, 1e-15);
        assert_close(found.above.unwrap(), 14.0 / 6.0, 1e-15);
        assert_eq!(scale.neighbouring_means(2, 4.5).unwrap().above, None);
        assert_eq!(scale.neighbouring_means(2, 0.5).unwrap().below, None);
    }

    #[test]
    fn undefined_where_it_cannot_be_said() {
        assert!(SteppedScale::new(Some(4.0), Some(1.0), 1.0, 1).is_err());
        assert!(SteppedScale::new(None, None, 0.0, 1).is_err());
        assert!(SteppedScale::new(None, None, 1.0, 0).is_err());
        assert!(SteppedScale::new(None, None, f64::NAN, 1).is_err());
        let scale = items(1);
        assert!(
            scale
                .mean_is_possible(0, stated("1.0"), Rounding::Either)
                .is_err()
        );
        assert_eq!(
            scale.mean_is_possible(
                5,
                AtDecimals {
                    value: 1e300,
                    decimals: 2
                },
                Rounding::Either
            ),
            Err(Undefined::OutOfRange)
        );
        assert!(
            scale
                .largest_sd(5, stated("1.0"), Divisor::N, Rounding::Either)
                .is_err()
        );
    }

    proptest! {
        /// What real scores give is never called impossible.
        #[test]
        fn what_scores_give_is_possible(
            scores in prop::collection::vec(0..8_i32, 2..25_usize),
            decimals in 0..4_u8,
            step in prop_oneof![Just(1.0), Just(0.5), Just(0.1)],
            open in any::<bool>(),
        ) {
            let n = scores.len();
            let sum: i32 = scores.iter().sum();
            let squares: i32 = scores.iter().map(|k| k * k).sum();
            let mean = f64::from(sum) * step / n as f64;
            let count = n as f64;
            let variance = (f64::from(squares) * count - f64::from(sum * sum)) / (count * (count - 1.0));
            let sd = variance.sqrt() * step;
            let top = if open { None } else { Some(7.0 * step) };
            let scale = SteppedScale::new(Some(0.0), top, step, 1).unwrap();
            let rounded = |value: f64| stated(&format!("{value:.*}", usize::from(decimals)));
            prop_assert_eq!(scale.mean_is_possible(n, rounded(mean), Rounding::Either), Ok(true));
            for mean in [None, Some(rounded(mean))] {
                let found = scale.sd_is_possible(n, mean, rounded(sd), Divisor::NMinusOne, Rounding::Either);
                prop_assert_eq!(found, Ok(true));
            }
            if !open {
                let most = scale.largest_sd(n, rounded(mean), Divisor::NMinusOne, Rounding::Either).unwrap();
                prop_assert!(most >= sd - 1e-12);
            }
        }

        #[test]
        fn nothing_panics(
            lowest in any::<Option<f64>>(), highest in any::<Option<f64>>(), step in any::<f64>(), raters in 0..4_u32,
            n in 0..300_usize, mean in any::<f64>(), sd in -1e3..1e6, decimals in any::<u8>(),
        ) {
            if let Ok(scale) = SteppedScale::new(lowest, highest, step, raters) {
                let (mean, sd) = (AtDecimals { value: mean, decimals }, AtDecimals { value: sd, decimals });
                let _ = scale.mean_is_possible(n, mean, Rounding::HalfUp);
                let _ = scale.neighbouring_means(n, mean.value);
                let _ = scale.sd_is_possible(n, Some(mean), sd, Divisor::N, Rounding::HalfEven);
                let _ = scale.largest_sd(n, mean, Divisor::N, Rounding::Either);
            }
        }

        #[test]
        fn nothing_panics_near_ordinary_numbers(
            lowest in prop::option::of(-50..50_i32), range in 0..200_i32, step in 1..30_u32, n in 0..150_usize,
            mean in -100.0..300.0, sd in 0.0..60.0, decimals in 0..12_u8,
        ) {
            let low = lowest.map(f64::from);
            let scale = SteppedScale::new(low, low.map(|l| l + f64::from(range)), f64::from(step) / 10.0, 1).unwrap();
            let (mean, sd) = (AtDecimals { value: mean, decimals }, AtDecimals { value: sd, decimals });
            let _ = scale.mean_is_possible(n, mean, Rounding::HalfUp);
            let _ = scale.sd_is_possible(n, Some(mean), sd, Divisor::N, Rounding::HalfEven);
            let _ = scale.sd_is_possible(n, None, sd, Divisor::N, Rounding::HalfEven);
            let _ = scale.largest_sd(n, mean, Divisor::N, Rounding::Either);
        }
    }
}
