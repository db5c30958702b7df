//! Which of the numbers stay.

use super::collector::{Collector, Item};
use super::goodness;
use crate::claims::computation::{BestBy, Keep, OutlierRule, Transform};
use crate::number::close;
use crate::stats::moments::Moments;

impl Collector<'_> {
    /// Leaves out what the selection does not keep.
    pub(super) fn keep(&mut self) {
        let n = self.items.len();
        match self.selection.keep {
            Keep::All => {}
            Keep::First(k) => self.items.truncate(usize::from(k)),
            Keep::Last(k) => {
                self.items.drain(..n.saturating_sub(usize::from(k)));
            }
            Keep::WithoutFirst(k) => {
                self.items.drain(..usize::from(k).min(n));
            }
            Keep::WithoutLast(k) => self.items.truncate(n.saturating_sub(usize::from(k))),
            Keep::WithoutFirstOfEach => {
                let mut last = None;
                self.items.retain(|item| {
                    let first = last != Some(item.from.session);
                    last = Some(item.from.session);
                    !first
                });
            }
            Keep::WithoutLastOfEach => {
                let mut last = None;
                self.items.reverse();
                self.items.retain(|item| {
                    let first = last != Some(item.from.session);
                    last = Some(item.from.session);
                    !first
                });
                self.items.reverse();
            }
            Keep::WithoutWorst(k) => {
                for _ in 0..k {
                    self.drop_extreme(|item| -item.goodness);
                }
            }
            Keep::WithoutLastWorst => {
                self.items.reverse();
                self.drop_extreme(|item| -item.goodness);
                self.items.reverse();
            }
            Keep::WithoutBestAndWorst(k) => {
                for _ in 0..k {
                    self.drop_extreme(|item| -item.goodness);
                    self.drop_extreme(|item| item.goodness);
                }
            }
            Keep::WithoutExtremes => {
                self.drop_extreme(|item| -item.recorded);
                self.drop_extreme(|item| item.recorded);
            }
            Keep::WithoutOutliers(rule) => self.drop_outliers(rule),
            Keep::Best => {
                let best = self.items.iter().copied().reduce(|best, item| {
                    if item.goodness > best.goodness {
                        item
                    } else {
                        best
                    }
                });
                self.items = best.into_iter().collect();
            }
            Keep::BestSession(by) => self.keep_best_session(by),
            Keep::WithoutZeros => self.items.retain(|item| item.value != 0.0),
            Keep::WithoutOffStep => self.items.retain(|item| !item.off_step),
            Keep::WithoutHidden => self.items.retain(|item| !item.hidden),
            Keep::WithoutRepeated => {
                let repeated = self
                    .material
                    .measures
                    .get(self.selection.measure)
                    .map(|measure| measure.second_records.as_slice())
                    .unwrap_or_default();
                self.items.retain(|item| {
                    !repeated
                        .iter()
                        .any(|(first, _)| Some(*first) == item.from.row)
                });
            }
            Keep::WithinFormula(claim) => {
                let left_out = self
                    .material
                    .logbook
                    .claims
                    .get(claim as usize)
                    .and_then(|claim| claim.formula.as_ref())
                    .map(|range| range.left_out.as_slice())
                    .unwrap_or_default();
                self.items
                    .retain(|item| item.from.row.is_none_or(|row| !left_out.contains(&row)));
            }
        }
    }

    /// Leaves out the first of the numbers for which the measure is largest.
    fn drop_extreme(&mut self, measure: impl Fn(&Item) -> f64) {
        let mut extreme: Option<(usize, f64)> = None;
        for (at, item) in self.items.iter().enumerate() {
            let size = measure(item);
            if extreme.is_none_or(|(_, largest)| size > largest) {
                extreme = Some((at, size));
            }
        }
        if let Some((at, _)) = extreme {
            self.items.remove(at);
        }
    }

    fn drop_outliers(&mut self, rule: OutlierRule) {
        let values: Vec<f64> = self.items.iter().map(|item| item.recorded).collect();
        if let Some((low, high)) = bounds(&values, rule) {
            // A value on the bound by its last bit is on it.
            let slack = 1e-12 * low.abs().max(high.abs());
            self.items
                .retain(|item| low - slack <= item.recorded && item.recorded <= high + slack);
        }
    }

    fn keep_best_session(&mut self, by: BestBy) {
        // Session, sum of scores, sum of how good they are, number.
        let mut sums: Vec<(usize, f64, f64, f64)> = Vec::new();
        for item in &self.items {
            match sums
                .iter_mut()
                .find(|(session, ..)| *session == item.from.session)
            {
                Some((_, value, good, n)) => {
                    *value += item.recorded;
                    *good += item.goodness;
                    *n += 1.0;
                }
                None => sums.push((item.from.session, item.recorded, item.goodness, 1.0)),
            }
        }
        let mut best: Option<(usize, f64)> = None;
        for (session, value, good, n) in sums {
            let good = match by {
                BestBy::Mean => goodness(value / n, Transform::AsRecorded, self.scale),
                BestBy::Trials | BestBy::TrialsLast => good / n,
            };
            let better = best.is_none_or(|(_, known)| {
                if by == BestBy::TrialsLast {
                    good >= known || close(good, known)
                } else {
                    good > known && !close(good, known)
                }
            });
            if better {
                best = Some((session, good));
            }
        }
        self.items
            .retain(|item| best.is_some_and(|(session, _)| item.from.session == session));
    }
}

/// Within which bounds a number is not far from the rest; none where the rule has nothing to go by.
fn bounds(values: &[f64], rule: OutlierRule) -> Option<(f64, f64)> {
    if let OutlierRule::TenthsOfSd(tenths) = rule {
        let moments = Moments::of(values).ok()?;
        let reach = f64::from(tenths) / 10.0 * moments.sd().ok()?;
        return Some((moments.mean - reach, moments.mean + reach));
    }
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    if n < 4 {
        return None;
    }
    let (lower, upper) = match rule {
        OutlierRule::InclusiveQuartiles => {
            let at = |share: f64| between(&sorted, (n - 1) as f64 * share);
            (at(0.25)?, at(0.75)?)
        }
        OutlierRule::ExclusiveQuartiles => {
            let at = |share: f64| between(&sorted, (n + 1) as f64 * share - 1.0);
            (at(0.25)?, at(0.75)?)
        }
        _ => {
            let half = n / 2;
            let middle = (half - 1) as f64 / 2.0;
            (
                between(&sorted, middle)?,
                between(&sorted, (n - half) as f64 + middle)?,
            )
        }
    };
    let reach = 1.5 * (upper - lower);
    Some((lower - reach, upper + reach))
}

/// The value at a place between two of a sorted list.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a place in a list of trials: small, and checked not to be below 0"
)]
fn between(sorted: &[f64], place: f64) -> Option<f64> {
    if place < 0.0 {
        return None;
    }
    let low = place.floor();
    let a = sorted.get(low as usize)?;
    let share = place - low;
    if share == 0.0 {
        return Some(*a);
    }
    let b = sorted.get(low as usize + 1)?;
    Some(a + share * (b - a))
}
