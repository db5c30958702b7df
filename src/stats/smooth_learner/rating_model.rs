//! Scores on a short scale with steps: of all distributions over its points with a given mean, the one with the wanted spread that assumes
//! least (maximum entropy: a normal curve cut to the points, tilted to its mean).
//!
//! Near an end of the scale it spreads less by itself, as ratings do. With two points it is the binomial.

use std::rc::Rc;

use super::alias_table::AliasTable;
use super::rise_chance::Outcomes;
use crate::stats::random::Stream;

/// Points up to which a scale counts as short; on longer ones normal scores do as well and cost less.
pub(super) const MOST_POINTS: usize = 33;

/// Outcomes of several ratings together that one table may hold.
const MOST_OUTCOMES: usize = 300;

/// What a session's ratings sum to, in steps above the lowest point.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Sums {
    pub(super) sum: u32,
    squares: u32,
}

impl Sums {
    /// The sum of squared deviations of `n` ratings about their mean, times n: n·Σk² − (Σk)², whole numbers that don't cancel.
    pub(super) fn squared_deviations_times(self, n: usize) -> u64 {
        let (sum, squares) = (u64::from(self.sum), u64::from(self.squares));
        (n as u64 * squares).saturating_sub(sum * sum)
    }
}

/// One session's ratings. Only their sum and their sum of squares are drawn, of as many ratings at a time as a table of all their outcomes allows.
#[derive(Debug, Clone)]
pub(super) struct Ratings {
    batches: usize,
    batch: Batch,
    rest: Option<Batch>,
}

/// All outcomes of a few ratings together.
#[derive(Debug, Clone)]
struct Batch {
    outcomes: AliasTable<Sums>,
}

impl Ratings {
    /// `ratings` ratings of which each is point k with probability `probabilities[k]`.
    fn of(probabilities: &[f64], ratings: usize) -> Self {
        let size = (1..=ratings)
            .rev()
            .find(|&size| outcomes_of(size, probabilities.len()) <= MOST_OUTCOMES)
            .unwrap_or(1);
        let rest = ratings % size;
        Self {
            batches: ratings / size,
            batch: Batch::of(probabilities, size),
            rest: (rest > 0).then(|| Batch::of(probabilities, rest)),
        }
    }

    #[inline]
    pub(super) fn draw(&self, stream: &mut Stream) -> Sums {
        let mut total = Sums::default();
        let mut add = |batch: &Batch| {
            if let Some(drawn) = batch.outcomes.pick(stream.next_u32()) {
                total.sum += drawn.sum;
                total.squares += drawn.squares;
            }
        };
        for _ in 0..self.batches {
            add(&self.batch);
        }
        if let Some(rest) = &self.rest {
            add(rest);
        }
        total
    }
}

impl Batch {
    fn of(probabilities: &[f64], ratings: usize) -> Self {
        let mut outcomes = Vec::with_capacity(outcomes_of(ratings, probabilities.len()));
        let mut add = |chance: f64, sums: Sums| outcomes.push((chance, sums));
        each_outcome(
            probabilities,
            0,
            // As many as a table holds: few.
            u32::try_from(ratings).unwrap_or(u32::MAX),
            1.0,
            Sums::default(),
            &mut add,
        );
        Self {
            outcomes: AliasTable::of(&outcomes),
        }
    }
}

/// In how many ways `ratings` can be shared out among `points`; some large number where that is large.
fn outcomes_of(ratings: usize, points: usize) -> usize {
    // C(ratings + points − 1, ratings), built up so that every step is a whole number.
    (1..points).fold(1, |ways: usize, k| {
        ways.saturating_mul(ratings + k).min(usize::MAX / 2) / k
    })
}

/// Calls `add` with the multinomial probability and the sums of every way to share out the remaining ratings among the points from `point` on.
fn each_outcome(
    probabilities: &[f64],
    point: u32,
    remaining: u32,
    chance: f64,
    sums: Sums,
    add: &mut impl FnMut(f64, Sums),
) {
    let Some((&p, later)) = probabilities.split_first() else {
        return;
    };
    let with = |count: u32| Sums {
        sum: sums.sum + count * point,
        squares: sums.squares + count * point * point,
    };
    if remaining == 0 {
        add(chance, sums);
        return;
    }
    if later.is_empty() {
        add(chance * p.powf(f64::from(remaining)), with(remaining));
        return;
    }
    // C(remaining, count)·pᶜᵒᵘⁿᵗ, from one count to the next.
    let mut factor = 1.0;
    for count in 0..=remaining {
        each_outcome(
            later,
            point + 1,
            remaining - count,
            chance * factor,
            with(count),
            add,
        );
        factor *= p * f64::from(remaining - count) / f64::from(count + 1);
    }
}

/// The least and the largest curvature: next to nothing but two neighbouring points, next to nothing but the ends.
const CURVATURES: (f64, f64) = (-30.0, 3.0);

/// Multiplications that the chances of all sums may take; beyond, simulating costs less.
const MOST_WORK: usize = 3_000_000;

/// How the ratings of sessions are spread.
pub(super) struct RatingModel {
    /// Neighbouring sessions of one expected mean are one level of the fit.
    levels: Vec<Tilted>,
    /// How many ratings each session has.
    ratings: Vec<usize>,
}

impl RatingModel {
    /// Sessions with these means (in steps above the lowest point) whose variances (in squared steps), weighted, average `variance`
    /// as nearly as the scale allows.
    pub(super) fn fitted(means: &[f64], ratings: Vec<usize>, variance: f64, points: usize) -> Self {
        let mut levels: Vec<Tilted> = Vec::with_capacity(means.len());
        for (&mean, &n) in means.iter().zip(&ratings) {
            // A session counts by its degrees of freedom; alone, a rating counts for next to nothing.
            let weight = (n as f64 - 1.0).max(1e-9);
            match levels.last_mut() {
                Some(level) if (level.mean - mean).abs() <= 0.0 => {
                    level.weight += weight;
                    level.sessions += 1;
                }
                _ => levels.push(Tilted::new(mean, weight, points)),
            }
        }
        fit_variance(&mut levels, variance);
        Self { levels, ratings }
    }

    /// Something made of each session's probabilities and its number of ratings; made once for neighbours that share both.
    fn of_each_session<T>(&self, make: impl Fn(&[f64], usize) -> T) -> Vec<Rc<T>> {
        let mut numbers = self.ratings.iter();
        let mut all: Vec<Rc<T>> = Vec::with_capacity(self.ratings.len());
        for level in &self.levels {
            let mut made: Option<(usize, Rc<T>)> = None;
            for &n in numbers.by_ref().take(level.sessions) {
                let one = match made {
                    Some((same, one)) if same == n => one,
                    _ => Rc::new(make(&level.probabilities, n)),
                };
                all.push(one.clone());
                made = Some((n, one));
            }
        }
        all
    }

    /// Tables to draw each session's ratings from.
    pub(super) fn tables(&self) -> Vec<Rc<Ratings>> {
        self.of_each_session(Ratings::of)
    }

    /// The means that each session can have, in steps above the lowest point, with their chances; none where there are too many.
    pub(super) fn outcomes(&self) -> Option<Vec<Rc<Outcomes>>> {
        let points = self.levels.first()?.probabilities.len();
        let work = self
            .ratings
            .iter()
            .map(|n| n.saturating_mul(*n).saturating_mul(points * points / 2))
            .fold(0, usize::saturating_add);
        (work <= MOST_WORK).then(|| self.of_each_session(chances_of_means))
    }
}

/// Every mean of `n` ratings, from low to high, with its chance.
fn chances_of_means(probabilities: &[f64], n: usize) -> Outcomes {
    let mut chances = vec![1.0];
    for _ in 0..n {
        let mut wider = vec![0.0; chances.len() + probabilities.len() - 1];
        for (point, probability) in probabilities.iter().enumerate() {
            let slots = wider.get_mut(point..).unwrap_or_default();
            for (slot, chance) in slots.iter_mut().zip(&chances) {
                *slot += probability * chance;
            }
        }
        chances = wider;
    }
    let mean = |sum: usize| sum as f64 / n as f64;
    chances
        .into_iter()
        .enumerate()
        .map(|(sum, chance)| (mean(sum), chance))
        .collect()
}

/// Finds the curvature at which the levels' variances average `variance`; the nearest that the scale allows where none does.
fn fit_variance(levels: &mut [Tilted], variance: f64) {
    let total: f64 = levels.iter().map(|level| level.weight).sum();
    let mut excess_at = |curvature: f64| {
        levels
            .iter_mut()
            .map(|level| level.solve(curvature) * level.weight / total)
            .sum::<f64>()
            - variance
    };
    // The spread grows with the curvature: from two neighbouring points, past the normal, to the two ends. Begin where a normal curve of this
    // variance has it, reach outwards until the variance lies between, then draw straight lines (the Illinois rule of Dowell & Jarratt
    // 1971, BIT 11:168–174).
    let close = 1e-4 * variance;
    let normal = (-0.5 / variance.max(1e-3)).max(CURVATURES.0);
    let (mut low, mut high) = (normal, normal);
    let (mut below, mut above) = (excess_at(normal), 0.0);
    if below > 0.0 {
        above = below;
    }
    let mut reach = 0.1 + 0.2 * normal.abs();
    while below > 0.0 && low > CURVATURES.0 {
        (high, above) = (low, below);
        low = (low - reach).max(CURVATURES.0);
        below = excess_at(low);
        reach *= 2.0;
    }
    while above <= 0.0 && high < CURVATURES.1 {
        if high > low {
            (low, below) = (high, above);
        }
        high = (high + reach).min(CURVATURES.1);
        above = excess_at(high);
        reach *= 2.0;
    }
    if below > 0.0 {
        excess_at(low);
        return;
    }
    for _ in 0..20 {
        if above <= below {
            break;
        }
        let between = (low - (high - low) * below / (above - below)).clamp(low, high);
        let excess = excess_at(between);
        if excess.abs() <= close {
            break;
        }
        if excess < 0.0 {
            (low, below) = (between, excess);
            above /= 2.0;
        } else {
            (high, above) = (between, excess);
            below /= 2.0;
        }
    }
}

/// Probabilities ∝ exp(tilt·k + curvature·(k − mean)²), tilted so that their mean is the one wanted.
struct Tilted {
    mean: f64,
    /// Degrees of freedom of the sessions that have this mean, and how many they are.
    weight: f64,
    sessions: usize,
    tilt: f64,
    probabilities: Vec<f64>,
}

impl Tilted {
    fn new(mean: f64, weight: f64, points: usize) -> Self {
        Self {
            mean,
            weight,
            sessions: 1,
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
        let mut largest = f64::NEG_INFINITY;
        for (k, slot) in self.probabilities.iter_mut().enumerate() {
            let k = k as f64;
            *slot = tilt * k + curvature * (k - centre).powi(2);
            largest = largest.max(*slot);
        }
        let mut total = 0.0;
        let mut mean = 0.0;
        let mut square = 0.0;
        for (k, slot) in self.probabilities.iter_mut().enumerate() {
            let k = k as f64;
            let weight = libm::exp(*slot - largest);
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
    use crate::stats::testing::assert_close;

    /// Mean and variance of single ratings, from sums of `n`.
    fn moments(ratings: &Ratings, n: usize) -> (f64, f64) {
        let mut stream = Stream::new(7, "test");
        let draws = 60_000;
        let (mut sum, mut squares) = (0.0, 0.0);
        for _ in 0..draws {
            let drawn = ratings.draw(&mut stream);
            sum += f64::from(drawn.sum);
            squares += f64::from(drawn.squares);
        }
        let count = f64::from(draws) * n as f64;
        (sum / count, squares / count - (sum / count).powi(2))
    }

    #[test]
    fn draws_have_the_mean_and_the_average_variance_asked_for() {
        let means = [0.4, 1.0, 1.7, 2.6];
        let tables = RatingModel::fitted(&means, vec![10; 4], 0.5, 4).tables();
        let mut average = 0.0;
        for (table, mean) in tables.iter().zip(means) {
            let (found, variance) = moments(table, 10);
            assert_close(found, mean, 0.01);
            average += variance / 4.0;
        }
        assert_close(average, 0.5, 0.01);
        // Less spread next to the end of the scale than in its middle.
        assert!(moments(&tables[3], 10).1 < moments(&tables[1], 10).1);
    }

    #[test]
    fn two_points_are_the_binomial() {
        let tables = RatingModel::fitted(&[0.3], vec![10], 0.1, 2).tables();
        let (mean, variance) = moments(&tables[0], 10);
        assert_close(mean, 0.3, 0.005);
        assert_close(variance, 0.21, 0.005);
    }

    #[test]
    fn extreme_wishes_stay_on_the_scale() {
        for variance in [0.0, 1e-9, 1e6] {
            for mean in [0.05, 5.0, 9.95] {
                let tables = RatingModel::fitted(&[mean], vec![7], variance, 11).tables();
                assert_close(moments(&tables[0], 7).0, mean, 0.05);
            }
        }
    }

    /// By listing every sequence of ratings.
    #[test]
    fn a_batch_has_the_chances_of_its_ratings() {
        let p = [0.2, 0.5, 0.3];
        let batch = Batch::of(&p, 4);
        let mut draws = [[0.0; 17]; 9];
        let mut stream = Stream::new(9, "test");
        for _ in 0..100_000 {
            let drawn = batch.outcomes.pick(stream.next_u32()).unwrap();
            draws[usize::try_from(drawn.sum).unwrap()][usize::try_from(drawn.squares).unwrap()] +=
                1e-5;
        }
        for sequence in 0..81_usize {
            let points = [
                sequence % 3,
                sequence / 3 % 3,
                sequence / 9 % 3,
                sequence / 27,
            ];
            let sum: usize = points.iter().sum();
            let squares: usize = points.iter().map(|k| k * k).sum();
            draws[sum][squares] -= points.iter().map(|&k| p[k]).product::<f64>();
        }
        assert!(
            draws
                .iter()
                .flatten()
                .all(|difference| difference.abs() < 0.006)
        );
        assert_eq!(outcomes_of(4, 3), 15);
        assert_eq!(outcomes_of(10, 4), 286);
    }
}
