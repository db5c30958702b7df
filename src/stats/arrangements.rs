//! Exact tests: among all arrangements of the trials that chance could have made, the share that is at least as far from the middle as the one seen.
//!
//! Weights are whole numbers (ranks, or scores in steps of their grid), so that ties are ties. Small sums are counted by dynamic programming
//! over all their values, few weights of any size by meeting in the middle (Pagano & Tritchler 1983, Journal of the American Statistical
//! Association 78:435–440; Horowitz & Sahni 1974, Journal of the ACM 21:277–292).

/// How a p value came about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Method {
    /// From all arrangements.
    Exact,
    /// From a seeded sample of 9,999 arrangements, the one seen counted with them: (k + 1)/10,000.
    MonteCarlo,
    /// From the normal approximation.
    Normal,
}

/// Additions up to which sums are counted by dynamic programming: about 5 ms.
const MOST_ADDITIONS: usize = 16_000_000;
/// Additions up to which that is quicker than meeting in the middle.
const FEW_ADDITIONS: usize = 200_000;
/// Weights up to which halves are enumerated: 2 × 8,192 sums.
const MOST_WEIGHTS: usize = 26;

/// The share of all choices of `count` of the weights whose sum is at least as far from the mean sum as `sum` is, less `slack`.
///
/// `None` where neither way of counting is feasible. `slack` is in units of the weights, 0 where they are exact.
pub(super) fn share_of_choices(weights: &[i64], count: usize, sum: i64, slack: i64) -> Option<f64> {
    let all = weights.len();
    let total: i128 = weights.iter().map(|&weight| i128::from(weight)).sum();
    // The complement is as far on the other side; the smaller of the two has fewer sums.
    let (count, sum) = if 2 * count > all {
        (all - count, total - i128::from(sum))
    } else {
        (count, i128::from(sum))
    };
    let reduced = Reduced::of(weights, slack);
    let from_lowest = sum - count as i128 * i128::from(reduced.lowest);
    let reduced_total: i128 = reduced
        .weights
        .iter()
        .map(|&weight| i128::from(weight))
        .sum();
    let limits = Limits::about(
        all as i128,
        count as i128 * reduced_total,
        from_lowest / i128::from(reduced.step),
        i128::from(slack),
    );
    let widest: i128 = reduced
        .weights
        .iter()
        .rev()
        .take(count)
        .map(|&weight| i128::from(weight))
        .sum();
    let additions = usize::try_from(widest)
        .ok()
        .and_then(|widest| widest.checked_add(1)?.checked_mul(count)?.checked_mul(all));
    match additions {
        Some(additions) if additions <= FEW_ADDITIONS => {
            count_choices(&reduced.weights, count, limits)
        }
        _ if all <= MOST_WEIGHTS => meet_choices(&reduced.weights, count, limits),
        Some(additions) if additions <= MOST_ADDITIONS => {
            count_choices(&reduced.weights, count, limits)
        }
        _ => None,
    }
}

/// The share of all choices of signs of the weights (none negative) whose positive sum is at least as far from half the total as `positive_sum`
/// is, less `slack`; `None` where counting isn't feasible.
pub(super) fn share_of_signs(weights: &[i64], positive_sum: i64, slack: i64) -> Option<f64> {
    let mut weights = weights.to_vec();
    weights.sort_unstable();
    let step = shared_step(&weights, slack);
    for weight in &mut weights {
        *weight /= step;
    }
    let total: i128 = weights.iter().map(|&weight| i128::from(weight)).sum();
    let limits = Limits::about(
        2,
        total,
        i128::from(positive_sum) / i128::from(step),
        i128::from(slack),
    );
    let additions = usize::try_from(total)
        .ok()
        .and_then(|total| total.checked_add(1)?.checked_mul(weights.len()));
    match additions {
        Some(additions) if additions <= FEW_ADDITIONS => count_signs(&weights, limits),
        _ if weights.len() <= MOST_WEIGHTS => Some(meet_signs(&weights, limits)),
        Some(additions) if additions <= MOST_ADDITIONS => count_signs(&weights, limits),
        _ => None,
    }
}

/// Weights from 0 up in the largest step that all their differences share, ascending.
struct Reduced {
    weights: Vec<i64>,
    lowest: i64,
    step: i64,
}

impl Reduced {
    fn of(weights: &[i64], slack: i64) -> Self {
        let mut weights = weights.to_vec();
        weights.sort_unstable();
        let lowest = weights.first().copied().unwrap_or_default();
        for weight in &mut weights {
            *weight -= lowest;
        }
        let step = shared_step(&weights, slack);
        for weight in &mut weights {
            *weight /= step;
        }
        Self {
            weights,
            lowest,
            step,
        }
    }
}

/// The largest step that the weights share; 1 where slack is counted in steps of 1.
fn shared_step(weights: &[i64], slack: i64) -> i64 {
    if slack > 0 {
        return 1;
    }
    weights
        .iter()
        .copied()
        .fold(0, greatest_common_divisor)
        .max(1)
}

fn greatest_common_divisor(mut a: i64, mut b: i64) -> i64 {
    while b != 0 {
        (a, b) = (b, a % b);
    }
    a
}

/// Sums at or below `low` or at or above `high` are as far from the middle as the one seen.
#[derive(Debug, Clone, Copy)]
struct Limits {
    low: i128,
    high: i128,
}

impl Limits {
    /// The middle is `middle/parts`, seldom a whole number.
    fn about(parts: i128, middle: i128, sum: i128, slack: i128) -> Self {
        let distance = (parts * sum - middle).abs();
        let distance = (distance - parts * slack).max(0);
        Self {
            low: (middle - distance).div_euclid(parts),
            high: -(-(middle + distance)).div_euclid(parts),
        }
    }

    fn hold(self, sum: i128) -> bool {
        sum <= self.low || sum >= self.high
    }

    fn share(self, counts: &[f64]) -> Option<f64> {
        let total: f64 = counts.iter().sum();
        let far: f64 = counts
            .iter()
            .enumerate()
            .filter(|&(sum, _)| self.hold(sum as i128))
            .map(|(_, count)| count)
            .sum();
        (total.is_finite() && total > 0.0).then(|| (far / total).clamp(0.0, 1.0))
    }
}

/// By the number of choices for every size and sum; `weights` ascending from 0.
fn count_choices(weights: &[i64], count: usize, limits: Limits) -> Option<f64> {
    let weights: Vec<usize> = weights
        .iter()
        .map(|&weight| usize::try_from(weight).ok())
        .collect::<Option<_>>()?;
    let widest: usize = weights.iter().rev().take(count).sum();
    // One row a size. Counts are whole, and exact up to 2^53.
    let mut rows = vec![vec![0.0_f64; widest + 1]; count + 1];
    *rows.first_mut()?.first_mut()? = 1.0;
    let mut largest_sums = vec![0_usize; count + 1];
    for (done, &weight) in weights.iter().enumerate() {
        for size in (1..=count.min(done + 1)).rev() {
            let (smaller, larger) = rows.split_at_mut(size);
            let from = smaller.last()?;
            let reach = *largest_sums.get(size - 1)?;
            let to = larger.first_mut()?.get_mut(weight..=weight + reach)?;
            for (to, from) in to.iter_mut().zip(from) {
                *to += from;
            }
            // Ascending weights: the largest sum of a size always has the latest one in it.
            *largest_sums.get_mut(size)? = weight + reach;
        }
    }
    limits.share(rows.last()?)
}

/// By the number of choices for every sum.
fn count_signs(weights: &[i64], limits: Limits) -> Option<f64> {
    let total = usize::try_from(weights.iter().sum::<i64>()).ok()?;
    let mut counts = vec![0.0_f64; total + 1];
    *counts.first_mut()? = 1.0;
    let mut reach = 0;
    for &weight in weights {
        let weight = usize::try_from(weight).ok()?;
        reach += weight;
        for sum in (weight..=reach).rev() {
            let add = *counts.get(sum - weight)?;
            *counts.get_mut(sum)? += add;
        }
    }
    limits.share(&counts)
}

/// By the sums of all choices within either half, sorted.
fn meet_choices(weights: &[i64], count: usize, limits: Limits) -> Option<f64> {
    // Taken in turns, so that the halves are alike.
    let half =
        |parity: usize| -> Vec<i64> { weights.iter().skip(parity).step_by(2).copied().collect() };
    let (first, second) = (sums_by_size(&half(0)), sums_by_size(&half(1)));
    let (mut far, mut all) = (0_u64, 0_u64);
    for (size, first) in first.iter().enumerate() {
        let Some(second) = count.checked_sub(size).and_then(|rest| second.get(rest)) else {
            continue;
        };
        all += first.len() as u64 * second.len() as u64;
        far += far_pairs(first, second, limits);
    }
    (all > 0).then(|| far as f64 / all as f64)
}

fn meet_signs(weights: &[i64], limits: Limits) -> f64 {
    let half = |parity: usize| -> Vec<i64> {
        let half: Vec<i64> = weights.iter().skip(parity).step_by(2).copied().collect();
        let mut sums: Vec<i64> = sums_by_size(&half).into_iter().flatten().collect();
        sums.sort_unstable();
        sums
    };
    let (first, second) = (half(0), half(1));
    far_pairs(&first, &second, limits) as f64 / (first.len() as f64 * second.len() as f64)
}

/// The sums of all choices of few weights, by how many were chosen, ascending.
fn sums_by_size(weights: &[i64]) -> Vec<Vec<i64>> {
    let mut by_size: Vec<Vec<i64>> = vec![Vec::new(); weights.len() + 1];
    if let Some(none) = by_size.first_mut() {
        none.push(0);
    }
    for &weight in weights {
        for size in (1..by_size.len()).rev() {
            let (smaller, larger) = by_size.split_at_mut(size);
            if let (Some(from), Some(to)) = (smaller.last(), larger.first_mut()) {
                to.extend(from.iter().map(|sum| sum + weight));
            }
        }
    }
    for sums in &mut by_size {
        sums.sort_unstable();
    }
    by_size
}

/// How many pairs of sums, one of each list, are beyond the limits together. Both lists ascend.
fn far_pairs(first: &[i64], second: &[i64], limits: Limits) -> u64 {
    if limits.high <= limits.low + 1 {
        return first.len() as u64 * second.len() as u64;
    }
    let mut low_end = second.len();
    let mut high_start = second.len();
    let mut far = 0;
    for &sum in first {
        let together = |other: &i64| i128::from(sum) + i128::from(*other);
        while low_end > 0
            && second
                .get(low_end - 1)
                .is_some_and(|other| together(other) > limits.low)
        {
            low_end -= 1;
        }
        while high_start > 0
            && second
                .get(high_start - 1)
                .is_some_and(|other| together(other) >= limits.high)
        {
            high_start -= 1;
        }
        far += (low_end + second.len() - high_start) as u64;
    }
    far
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The share by listing every arrangement.
    fn listed(
        weights: &[i64],
        chosen: impl Fn(u32) -> bool,
        sum: i64,
        parts: i64,
        middle: i64,
    ) -> f64 {
        let (mut far, mut all) = (0_u32, 0_u32);
        for mask in 0_u32..1 << weights.len() {
            if chosen(mask) {
                let this: i64 = weights
                    .iter()
                    .enumerate()
                    .filter(|(place, _)| mask >> place & 1 == 1)
                    .map(|(_, weight)| weight)
                    .sum();
                all += 1;
                far += u32::from((parts * this - middle).abs() >= (parts * sum - middle).abs());
            }
        }
        f64::from(far) / f64::from(all)
    }

    /// Counts over binomials, combinatorial: the critical values of the tables of U and of signed ranks.
    #[test]
    fn tables() {
        for (m, n, u, count, of) in [
            (3_u8, 3_u8, 0, 1.0, 20.0),
            (4, 4, 0, 1.0, 70.0),
            (5, 5, 2, 4.0, 252.0),
            (6, 6, 5, 19.0, 924.0),
            (8, 8, 13, 321.0, 12_870.0),
            (10, 10, 23, 3_996.0, 184_756.0),
        ] {
            let ranks: Vec<i64> = (1..=m + n).map(i64::from).collect();
            let lowest: i64 = (1..=i64::from(m)).sum();
            let share = share_of_choices(&ranks, m.into(), u + lowest, 0).unwrap();
            // Both tails.
            assert!((share - 2.0 * count / of).abs() < 1e-14);
        }
        for (n, t, count) in [
            (5, 0, 1.0),
            (6, 2, 3.0),
            (8, 3, 5.0),
            (9, 5, 10.0),
            (10, 8, 25.0),
            (12, 13, 87.0),
            (15, 25, 785.0),
        ] {
            let ranks: Vec<i64> = (1..=n).collect();
            let share = share_of_signs(&ranks, t, 0).unwrap();
            assert!((share - 2.0 * count / f64::from(1 << n)).abs() < 1e-14);
        }
    }

    #[test]
    fn too_many_arrangements_are_refused() {
        let wide: Vec<i64> = (0..60).map(|step| step * 1_000_003 + step % 7).collect();
        assert_eq!(share_of_choices(&wide, 30, 5_000, 0), None);
        assert_eq!(share_of_signs(&wide, 5_000, 0), None);
    }

    proptest! {
        #[test]
        fn every_way_of_counting_agrees(weights in prop::collection::vec(-6..20_i64, 2..11), wide in any::<bool>(), count in 1_usize..9) {
            let count = count.min(weights.len() - 1);
            let weights: Vec<i64> = weights.into_iter().map(|weight| if wide { weight * 100_003 + weight % 3 } else { weight }).collect();
            let sum: i64 = weights.iter().take(count).sum();
            let total: i64 = weights.iter().sum();
            let parts = i64::try_from(weights.len()).unwrap();
            let expected = listed(&weights, |mask| mask.count_ones() as usize == count, sum, parts, total * i64::try_from(count).unwrap());
            prop_assert!((share_of_choices(&weights, count, sum, 0).unwrap() - expected).abs() < 1e-12);

            let absolute: Vec<i64> = weights.iter().map(|weight| weight.abs()).collect();
            let positive: i64 = weights.iter().filter(|&&weight| weight > 0).sum();
            let expected = listed(&absolute, |_| true, positive, 2, absolute.iter().sum());
            prop_assert!((share_of_signs(&absolute, positive, 0).unwrap() - expected).abs() < 1e-12);

            let reduced = Reduced::of(&weights, 0);
            let limits = Limits::about(parts.into(), i128::from(reduced.weights.iter().sum::<i64>()) * count as i128, 3, 0);
            if !wide {
                let (counted, met) = (count_choices(&reduced.weights, count, limits).unwrap(), meet_choices(&reduced.weights, count, limits).unwrap());
                prop_assert!((counted - met).abs() < 1e-12);
            }
        }
    }
}
