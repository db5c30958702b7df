//! The ideal bootstrap of a difference of means: what endlessly many resamples would give, from the distribution of the sums.
//!
//! A resample's sum is a sum of independent draws from the block's own scores. On a grid of few steps, as ratings and counts are, its whole
//! distribution is had by adding one draw after the other, for less than two thousand resamples cost, and without their chance.
//! Efron & Tibshirani 1993, An Introduction to the Bootstrap, section 6.2: the ideal bootstrap estimate.

/// Multiplications above which drawing resamples costs less.
const MOST_WORK: usize = 600_000;

/// What rounding may take from a sum of chances.
const ROUNDING: f64 = 1e-12;

/// The distribution of nA · (sum of a resampled B) − nB · (sum of a resampled A), in steps.
#[derive(Debug)]
pub(super) struct IdealDifference {
    lowest: f64,
    step: f64,
    /// The chance of each value: `lowest`, `lowest + step` …
    chances: Vec<f64>,
}

impl IdealDifference {
    /// From both blocks' scores in whole steps; none where the grid has too many steps, or where they don't fit whole numbers.
    pub(super) fn of(earlier: &[i64], later: &[i64]) -> Option<Self> {
        let (a, b) = (Sums::of(earlier)?, Sums::of(later)?);
        if a.chances.len().checked_mul(b.chances.len())? > MOST_WORK {
            return None;
        }
        let n_a = i64::try_from(earlier.len()).ok()?;
        let n_b = i64::try_from(later.len()).ok()?;
        // A larger sum of A makes the difference smaller.
        let step_a = n_b.checked_mul(a.step)?;
        let step_b = n_a.checked_mul(b.step)?;
        let step = greatest_common_divisor(step_a, step_b).max(1);
        let (stride_a, stride_b) = (
            usize::try_from(step_a / step).ok()?,
            usize::try_from(step_b / step).ok()?,
        );
        let (last_a, last_b) = (a.chances.len() - 1, b.chances.len() - 1);
        let values = last_a
            .checked_mul(stride_a)?
            .checked_add(last_b.checked_mul(stride_b)?)?
            .checked_add(1)?;
        if values > MOST_WORK {
            return None;
        }
        let mut chances = vec![0.0; values];
        for (place, chance_a) in a.chances.iter().rev().enumerate() {
            let from = chances.iter_mut().skip(place * stride_a);
            for (slot, chance_b) in from.step_by(stride_b.max(1)).zip(&b.chances) {
                *slot += chance_a * chance_b;
            }
        }
        let highest_a = a
            .lowest
            .checked_add(a.step.checked_mul(i64::try_from(last_a).ok()?)?)?;
        let lowest = n_a
            .checked_mul(b.lowest)?
            .checked_sub(n_b.checked_mul(highest_a)?)?;
        Some(Self {
            lowest: lowest as f64,
            step: step as f64,
            chances,
        })
    }

    fn values(&self) -> impl Iterator<Item = (f64, f64)> {
        let value = |place: usize| self.lowest + self.step * place as f64;
        self.chances
            .iter()
            .enumerate()
            .map(move |(place, chance)| (value(place), *chance))
    }

    /// The share below a value, with half of what equals it.
    pub(super) fn share_below(&self, value: f64) -> f64 {
        self.values()
            .map(|(other, chance)| {
                if other < value - self.step / 2.0 {
                    chance
                } else if other < value + self.step / 2.0 {
                    chance / 2.0
                } else {
                    0.0
                }
            })
            .sum()
    }

    /// The smallest value that has at least this share at or below it.
    pub(super) fn quantile(&self, share: f64) -> f64 {
        let mut below = 0.0;
        let mut last = self.lowest;
        for (value, chance) in self.values().filter(|(_, chance)| *chance > 0.0) {
            below += chance;
            last = value;
            if below >= share - ROUNDING {
                break;
            }
        }
        last
    }

    /// The standard deviation.
    pub(super) fn sd(&self) -> f64 {
        let mean: f64 = self.values().map(|(value, chance)| value * chance).sum();
        self.values()
            .map(|(value, chance)| (value - mean).powi(2) * chance)
            .sum::<f64>()
            .sqrt()
    }
}

/// The distribution of the sum of as many draws from a block as it has scores.
struct Sums {
    lowest: i64,
    step: i64,
    chances: Vec<f64>,
}

impl Sums {
    fn of(scores: &[i64]) -> Option<Self> {
        let (least, most) = (*scores.iter().min()?, *scores.iter().max()?);
        let step = scores
            .iter()
            .try_fold(0_i64, |step, score| {
                Some(greatest_common_divisor(step, score.checked_sub(least)?))
            })?
            .max(1);
        let n = scores.len();
        let reach = usize::try_from(most.checked_sub(least)? / step).ok()?;
        let mut levels = vec![0.0; reach.checked_add(1).filter(|levels| *levels <= MOST_WORK)?];
        for score in scores {
            let level = usize::try_from((score - least) / step).ok()?;
            if let Some(chance) = levels.get_mut(level) {
                *chance += 1.0 / n as f64;
            }
        }
        let levels: Vec<(usize, f64)> = levels
            .into_iter()
            .enumerate()
            .filter(|(_, chance)| *chance > 0.0)
            .collect();
        let sums = n.checked_mul(reach)?.checked_add(1)?;
        // The distribution widens with every draw: on average it is half as wide as in the end.
        let work = sums.checked_mul(n)?.checked_mul(levels.len())? / 2;
        if work > MOST_WORK {
            return None;
        }
        let mut chances = vec![1.0];
        for _ in 0..n {
            let mut wider = vec![0.0; chances.len() + reach];
            for (level, weight) in &levels {
                for (slot, chance) in wider.iter_mut().skip(*level).zip(&chances) {
                    *slot += weight * chance;
                }
            }
            chances = wider;
        }
        Some(Self {
            lowest: i64::try_from(n).ok()?.checked_mul(least)?,
            step,
            chances,
        })
    }
}

fn greatest_common_divisor(a: i64, b: i64) -> i64 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::testing::assert_close;

    /// Every resample of a block, as its sum.
    fn sums(block: &[i64]) -> Vec<i64> {
        block.iter().fold(vec![0], |sums, _| {
            sums.iter()
                .flat_map(|sum| block.iter().map(move |score| sum + score))
                .collect()
        })
    }

    /// By listing all resamples, 256 of the one block and 3,125 of the other.
    #[test]
    fn as_all_resamples_listed() {
        let (earlier, later) = ([2, 5, 5, 11], [4, 8, 8, 10, 16]);
        let ideal = IdealDifference::of(&earlier, &later).unwrap();
        let mut all: Vec<f64> = Vec::new();
        for a in sums(&earlier) {
            all.extend(sums(&later).iter().map(|b| (4 * b - 5 * a) as f64));
        }
        all.sort_by(f64::total_cmp);
        let count = all.len() as f64;
        for place in [9_840, 20_000, 248_123, 400_000, 779_999] {
            let share = f64::from(place) / count + 0.5 / count;
            let expected = all[usize::try_from(place).unwrap()];
            assert_eq!(ideal.quantile(share), expected, "{share}");
        }
        for value in [-3.0, 9.0, 69.0] {
            let below = all.iter().filter(|other| **other < value).count() as f64;
            let equal = all.iter().filter(|other| **other == value).count() as f64;
            assert_close(
                ideal.share_below(value),
                (below + equal / 2.0) / count,
                1e-12,
            );
        }
        let mean = all.iter().sum::<f64>() / count;
        let variance = all.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / count;
        assert_close(ideal.sd(), variance.sqrt(), 1e-12);
    }

    #[test]
    fn no_scores_are_too_much_for_it() {
        assert!(IdealDifference::of(&[], &[1]).is_none());
        assert!(IdealDifference::of(&[0, i64::MAX], &[i64::MIN, 0]).is_none());
        assert!(IdealDifference::of(&[1, 2], &[0, 1_000_000_007]).is_none());
        let one_value = IdealDifference::of(&[3, 3], &[4, 4]).unwrap();
        assert_eq!(one_value.quantile(0.5), 4.0);
        assert_eq!(one_value.sd(), 0.0);
    }
}
