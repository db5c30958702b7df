//! How many raters put each thing into each category: what the chance-corrected coefficients of many raters start from.

use crate::stats::distribution::t_quantile;
use crate::stats::requirements::at_least;
use crate::stats::{Interval, Undefined};

/// Things by categories; things without a rating are left out.
pub(super) struct RatingCounts {
    /// For each thing, how many ratings fell into each category.
    counts: Vec<Vec<f64>>,
    /// How many categories were seen.
    pub(super) categories: usize,
}

/// A coefficient (observed − expected)/(1 − expected) with Gwet's linearised standard error.
pub(super) struct Coefficient {
    pub(super) value: f64,
    pub(super) observed: f64,
    pub(super) expected: f64,
    /// Absent with a single thing.
    pub(super) standard_error: Option<f64>,
    pub(super) interval: Option<Interval>,
}

impl RatingCounts {
    /// Counts ratings given thing by thing, one place a rater, missing ones `None`.
    pub(super) fn of(things: &[Vec<Option<f64>>]) -> Result<Self, Undefined> {
        let mut scores: Vec<f64> = things.iter().flatten().flatten().copied().collect();
        crate::stats::requirements::all_finite(&scores)?;
        scores.sort_by(f64::total_cmp);
        scores.dedup_by(|later, earlier| later <= earlier);
        let counts: Vec<Vec<f64>> = things
            .iter()
            .filter(|ratings| ratings.iter().any(Option::is_some))
            .map(|ratings| {
                let mut counts = vec![0.0; scores.len()];
                for &score in ratings.iter().flatten() {
                    if let Some(count) =
                        counts.get_mut(scores.partition_point(|&other| other < score))
                    {
                        *count += 1.0;
                    }
                }
                counts
            })
            .collect();
        let rated_twice = counts.iter().filter(|counts| total(counts) > 1.0).count();
        at_least(1, rated_twice)?;
        if scores.len() < 2 {
            return Err(Undefined::OneCategory);
        }
        Ok(Self {
            counts,
            categories: scores.len(),
        })
    }

    /// The mean share of each category over the things rated.
    pub(super) fn shares(&self) -> Vec<f64> {
        let things = self.counts.len() as f64;
        let mut shares = vec![0.0; self.categories];
        for counts in &self.counts {
            let raters = total(counts);
            for (share, count) in shares.iter_mut().zip(counts) {
                *share += count / raters / things;
            }
        }
        shares
    }

    /// The number of raters where it is the same for everything.
    pub(super) fn raters_of_each(&self) -> Option<f64> {
        let raters = total(self.counts.first()?);
        self.counts
            .iter()
            .all(|counts| (total(counts) - raters).abs() < 0.5)
            .then_some(raters)
    }

    /// How many things were rated.
    pub(super) fn things(&self) -> usize {
        self.counts.len()
    }

    /// The coefficient with agreement by chance `expected`, to which each category of a thing contributes `chance_of(category)`.
    ///
    /// Observed agreement is the mean over things rated twice or more of the share of pairs of raters who agree. Standard error: Gwet
    /// 2008, British Journal of Mathematical and Statistical Psychology 61:29–48, linearised over things; interval by Student's t.
    pub(super) fn coefficient(
        &self,
        expected: f64,
        chance_of: &[f64],
    ) -> Result<Coefficient, Undefined> {
        if 1.0 - expected <= f64::EPSILON {
            return Err(Undefined::OneCategory);
        }
        let things = self.counts.len() as f64;
        let agreements: Vec<Option<f64>> = self
            .counts
            .iter()
            .map(|counts| pair_agreement(counts))
            .collect();
        let rated_twice = agreements.iter().flatten().count() as f64;
        let observed = agreements.iter().flatten().sum::<f64>() / rated_twice;
        let value = (observed - expected) / (1.0 - expected);
        let squares: f64 = self
            .counts
            .iter()
            .zip(&agreements)
            .map(|(counts, agreement)| {
                let own_agreement = agreement.map_or(0.0, |agreement| {
                    things / rated_twice * (agreement - expected) / (1.0 - expected)
                });
                let own_expected: f64 = counts
                    .iter()
                    .zip(chance_of)
                    .map(|(count, chance)| count * chance)
                    .sum::<f64>()
                    / total(counts);
                let chance_part =
                    2.0 * (1.0 - value) * (own_expected - expected) / (1.0 - expected);
                (own_agreement - chance_part - value).powi(2)
            })
            .sum();
        let standard_error =
            (self.counts.len() > 1).then(|| (squares / things / (things - 1.0)).sqrt());
        let interval = standard_error.and_then(|error| {
            let t = t_quantile(0.975, things - 1.0).ok()?;
            let interval = Interval::around(value, t * error);
            Some(Interval {
                low: interval.low.max(-1.0),
                high: interval.high.min(1.0),
            })
        });
        Ok(Coefficient {
            value,
            observed,
            expected,
            standard_error,
            interval,
        })
    }
}

fn total(counts: &[f64]) -> f64 {
    counts.iter().sum()
}

/// The share of pairs of raters who put the thing into the same category; `None` with fewer than two raters.
fn pair_agreement(counts: &[f64]) -> Option<f64> {
    let raters = total(counts);
    (raters > 1.0).then(|| {
        counts
            .iter()
            .map(|count| count * (count - 1.0))
            .sum::<f64>()
            / (raters * (raters - 1.0))
    })
}
