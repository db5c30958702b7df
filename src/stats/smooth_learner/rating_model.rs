//! Scores on a short scale with steps: of all distributions over its points with a given mean, the one with the wanted spread that assumes
//! least (maximum entropy: a normal curve cut to the points, tilted to its mean).
//!
//! Near an end of the scale it spreads less by itself, as ratings do. With two points it is the binomial.

/// Points up to which a scale counts as short; on longer ones normal scores do as well and cost less.
pub(super) const MOST_POINTS: usize = 33;

/// One session's scores, as steps above the lowest point.
#[derive(Debug, Clone)]
pub(super) struct Ratings {
    /// Where to look for each point (Vose 1991, IEEE Transactions on Software Engineering 17:972–975): itself below the threshold, else the other.
    columns: Vec<Column>,
}

#[derive(Debug, Clone, Copy)]
struct Column {
    threshold: u32,
    own: u16,
    other: u16,
}

impl Ratings {
    /// A table from which points are drawn with these probabilities.
    fn of(probabilities: &[f64]) -> Self {
        let count = probabilities.len() as f64;
        let mut scaled: Vec<f64> = probabilities.iter().map(|p| p * count).collect();
        let point = |index: usize| u16::try_from(index).unwrap_or(0);
        let mut columns: Vec<Column> = (0..scaled.len())
            .map(|index| Column {
                threshold: u32::MAX,
                own: point(index),
                other: point(index),
            })
            .collect();
        let (mut small, mut large): (Vec<usize>, Vec<usize>) =
            (0..scaled.len()).partition(|&index| scaled.get(index).is_some_and(|&p| p < 1.0));
        while let (Some(few), Some(&many)) = (small.pop(), large.last()) {
            let filled = scaled.get(few).copied().unwrap_or(1.0);
            if let Some(column) = columns.get_mut(few) {
                // Between 0 and 2³², cut to whole numbers.
                #[expect(
                    clippy::cast_possible_truncation,
                    clippy::cast_sign_loss,
                    reason = "a float to integer cast saturates"
                )]
                let threshold = (filled * 4_294_967_296.0) as u32;
                column.threshold = threshold;
                column.other = point(many);
            }
            if let Some(rest) = scaled.get_mut(many) {
                *rest -= 1.0 - filled;
                if *rest < 1.0 {
                    large.pop();
                    small.push(many);
                }
            }
        }
        Self { columns }
    }

    /// The point that 32 random bits stand for.
    #[inline]
    pub(super) fn point(&self, word: u32) -> u32 {
        let wide = u64::from(word) * self.columns.len() as u64;
        let (index, fraction) = ((wide >> 32) as usize, wide & 0xffff_ffff);
        self.columns.get(index).map_or(0, |column| {
            u32::from(if fraction <= u64::from(column.threshold) {
                column.own
            } else {
                column.other
            })
        })
    }
}

/// The least and the largest curvature: next to nothing but two neighbouring points, next to nothing but the ends.
const CURVATURES: (f64, f64) = (-30.0, 3.0);

/// Tables for sessions with these means (in steps above the lowest point) whose variances (in squared steps), weighted, average `variance`
/// as nearly as the scale allows.
pub(super) fn ratings_for(
    means: &[f64],
    weights: &[f64],
    variance: f64,
    points: usize,
) -> Vec<Ratings> {
    let mut tilts: Vec<Tilted> = means
        .iter()
        .map(|&mean| Tilted::new(mean, points))
        .collect();
    let total: f64 = weights.iter().sum();
    let mut excess_at = |curvature: f64| {
        let mut average = 0.0;
        for (tilt, weight) in tilts.iter_mut().zip(weights) {
            average += tilt.solve(curvature) * weight / total;
        }
        average - variance
    };
    // The spread grows with the curvature: from two neighbouring points, past the normal, to the two ends. Begin where a normal curve of this
    // variance has it, reach outwards until the variance lies between, then halve.
    let normal = (-0.5 / variance.max(1e-3)).max(CURVATURES.0);
    let (mut low, mut high) = (normal, normal);
    let mut reach = 0.1 + 0.2 * normal.abs();
    while low > CURVATURES.0 && excess_at(low) > 0.0 {
        high = low;
        low = (low - reach).max(CURVATURES.0);
        reach *= 2.0;
    }
    while high < CURVATURES.1 && excess_at(high) < 0.0 {
        low = high;
        high = (high + reach).min(CURVATURES.1);
        reach *= 2.0;
    }
    for _ in 0..14 {
        let middle = f64::midpoint(low, high);
        if excess_at(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    excess_at(f64::midpoint(low, high));
    tilts
        .iter()
        .map(|tilt| Ratings::of(&tilt.probabilities))
        .collect()
}

/// Probabilities ∝ exp(tilt·k + curvature·(k − mean)²), tilted so that their mean is the one wanted.
struct Tilted {
    mean: f64,
    tilt: f64,
    probabilities: Vec<f64>,
}

impl Tilted {
    fn new(mean: f64, points: usize) -> Self {
        Self {
            mean,
            tilt: 0.0,
            probabilities: vec![0.0; points],
        }
    }

    /// Tilts to the mean for this curvature; gives the variance.
    fn solve(&mut self, curvature: f64) -> f64 {
        // The mean grows with the tilt. Newton's step, whose slope is the variance, as long as it stays between the tilts known to be too
        // low and too high; half-way otherwise.
        let widest = (2.0 * curvature.abs() + 2.0) * self.probabilities.len() as f64 + 40.0;
        let (mut low, mut high) = (-widest, widest);
        self.tilt = self.tilt.clamp(low, high);
        let mut variance = 0.0;
        for _ in 0..80 {
            let (found, spread) = self.fill(curvature);
            variance = spread;
            let off = self.mean - found;
            if off.abs() < 1e-9 {
                break;
            }
            if off > 0.0 {
                low = self.tilt;
            } else {
                high = self.tilt;
            }
            let newton = self.tilt + off / spread;
            self.tilt = if newton > low && newton < high {
                newton
            } else {
                f64::midpoint(low, high)
            };
        }
        variance
    }

    /// Writes the probabilities; gives their mean and variance.
    fn fill(&mut self, curvature: f64) -> (f64, f64) {
        let (tilt, centre) = (self.tilt, self.mean);
        let exponent = |k: f64| tilt * k + curvature * (k - centre).powi(2);
        let largest = (0..self.probabilities.len())
            .map(|k| exponent(k as f64))
            .fold(f64::NEG_INFINITY, f64::max);
        let mut total = 0.0;
        let mut mean = 0.0;
        let mut square = 0.0;
        for (k, slot) in self.probabilities.iter_mut().enumerate() {
            let k = k as f64;
            let weight = libm::exp(exponent(k) - largest);
            *slot = weight;
            total += weight;
            mean += weight * (k - centre);
            square += weight * (k - centre).powi(2);
        }
        for slot in &mut self.probabilities {
            *slot /= total;
        }
        let (mean, square) = (mean / total, square / total);
        (centre + mean, square - mean * mean)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::random::Stream;
    use crate::stats::testing::assert_close;

    fn moments(ratings: &Ratings) -> (f64, f64) {
        let mut stream = Stream::new(7, "test");
        let (mut sum, mut squares) = (0.0, 0.0);
        let draws = 200_000;
        for _ in 0..draws {
            let k = f64::from(ratings.point(stream.next_u32()));
            sum += k;
            squares += k * k;
        }
        let mean = sum / f64::from(draws);
        (mean, squares / f64::from(draws) - mean * mean)
    }

    #[test]
    fn draws_have_the_mean_and_the_average_variance_asked_for() {
        let means = [0.4, 1.0, 1.7, 2.6];
        let tables = ratings_for(&means, &[9.0; 4], 0.5, 4);
        let mut average = 0.0;
        for (table, mean) in tables.iter().zip(means) {
            let (found, variance) = moments(table);
            assert_close(found, mean, 0.01);
            average += variance / 4.0;
        }
        assert_close(average, 0.5, 0.01);
        // Less spread next to the end of the scale than in its middle.
        assert!(moments(&tables[3]).1 < moments(&tables[1]).1);
    }

    #[test]
    fn two_points_are_the_binomial() {
        let tables = ratings_for(&[0.3], &[9.0], 0.1, 2);
        let (mean, variance) = moments(&tables[0]);
        assert_close(mean, 0.3, 0.005);
        assert_close(variance, 0.21, 0.005);
    }

    #[test]
    fn extreme_wishes_stay_on_the_scale() {
        for variance in [0.0, 1e-9, 1e6] {
            for mean in [0.05, 5.0, 9.95] {
                let tables = ratings_for(&[mean], &[1.0], variance, 11);
                assert_close(moments(&tables[0]).0, mean, 0.05);
            }
        }
    }
}
