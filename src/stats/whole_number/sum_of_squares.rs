//! Can n whole numbers between two ends have a given sum and a given sum of squares?

use std::ops::RangeInclusive;

/// How many numbers are searched through; for more, only range and parity are asked.
pub(super) const MOST_SEARCHED: i128 = 100;

/// Steps of search for one question. What isn't ruled out by then counts as attainable.
const SEARCH_STEPS: u32 = 50_000;

/// Sizes beyond this could overflow 128 bits on the way.
const LARGEST_SPREAD: i128 = 10_i128.pow(30);

/// Whether some n whole numbers between the ends have a sum in `totals` and n·Σk² − (Σk)² in `spreads`; `None` where numbers are too large.
pub(super) fn any_is_attainable(
    n: i128,
    totals: RangeInclusive<i128>,
    spreads: RangeInclusive<i128>,
    lowest: Option<i128>,
    highest: Option<i128>,
) -> Option<bool> {
    let most_spread = *spreads.end();
    if spreads.is_empty() || most_spread < 0 {
        return Some(false);
    }
    if most_spread.checked_mul(n)? > LARGEST_SPREAD {
        return None;
    }
    // No number lies further than this from the mean.
    let reach = (most_spread * (n - 1)).isqrt() / n + 2;
    let mut search = Search {
        steps_left: SEARCH_STEPS,
    };
    for total in totals {
        // The spread doesn't change when all numbers move alike: bring the mean to between 0 and 1.
        let moved = total.div_euclid(n);
        let total = total.rem_euclid(n);
        let low = lowest.map_or(-reach, |end| (end - moved).max(-reach));
        let high = highest.map_or(reach, |end| (end - moved).min(reach));
        if search.is_spent() {
            return Some(true);
        }
        let Some(most) = largest(n, total, low, high) else {
            continue;
        };
        let square = total * total;
        let first = ceiling_division(spreads.start() + square, n).max(smallest(n, total));
        let last = (most_spread + square).div_euclid(n).min(most);
        // A number and its square are both odd or both even, and so are their sums.
        let first = first + (first - total).rem_euclid(2);
        let mut squares = first;
        while squares <= last {
            if search.is_spent() || search.attains(n, total, squares, low, high) {
                return Some(true);
            }
            squares += 2;
        }
    }
    Some(false)
}

/// The largest Σk² of n whole numbers from `low` to `high` with a given sum; `None` where no such numbers have the sum.
pub(super) fn largest(n: i128, total: i128, low: i128, high: i128) -> Option<i128> {
    let above = total.checked_sub(n.checked_mul(low)?)?;
    let range = high.checked_sub(low)?;
    if above < 0 || range < 0 || above > n.checked_mul(range)? {
        return None;
    }
    if range == 0 {
        return n.checked_mul(low.checked_mul(low)?);
    }
    // As many as possible at the upper end, the rest at the lower, one between.
    let at_high = above / range;
    let between = low + above % range;
    let at_low = n - at_high - 1;
    if at_low < 0 {
        return n.checked_mul(high.checked_mul(high)?);
    }
    at_high
        .checked_mul(high.checked_mul(high)?)?
        .checked_add(between.checked_mul(between)?)?
        .checked_add(at_low.checked_mul(low.checked_mul(low)?)?)
}

/// The least Σk² of n whole numbers with a given sum: all as alike as they can be.
fn smallest(n: i128, total: i128) -> i128 {
    let base = total.div_euclid(n);
    let one_more = total.rem_euclid(n);
    n * base * base + one_more * (2 * base + 1)
}

fn ceiling_division(numerator: i128, denominator: i128) -> i128 {
    -(-numerator).div_euclid(denominator)
}

struct Search {
    steps_left: u32,
}

impl Search {
    /// Takes a step; true where none is left.
    fn is_spent(&mut self) -> bool {
        let spent = self.steps_left == 0;
        self.steps_left = self.steps_left.saturating_sub(1);
        spent
    }

    /// Depth first over the largest number, then the rest no larger. Range and parity cut off nearly every branch at once.
    fn attains(&mut self, n: i128, total: i128, squares: i128, low: i128, high: i128) -> bool {
        let Some(most) = largest(n, total, low, high) else {
            return false;
        };
        let least = smallest(n, total);
        if squares < least || squares > most || (squares - total).rem_euclid(2) != 0 {
            return false;
        }
        if squares == least || squares == most || n > MOST_SEARCHED {
            return true;
        }
        if n == 2 {
            let difference = (2 * squares - total * total).isqrt();
            return difference * difference == 2 * squares - total * total
                && total - difference >= 2 * low
                && total + difference <= 2 * high;
        }
        let mut largest_number = high;
        while largest_number * n >= total {
            if self.is_spent() {
                return true;
            }
            let rest = squares - largest_number * largest_number;
            if self.attains(n - 1, total - largest_number, rest, low, largest_number) {
                return true;
            }
            largest_number -= 1;
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    /// Every sum and sum of squares of n numbers from low to high, by listing them all.
    fn listed(n: u32, low: i128, high: i128) -> HashSet<(i128, i128)> {
        (0..n).fold(HashSet::from([(0, 0)]), |sums, _| {
            sums.iter()
                .flat_map(|&(sum, squares)| (low..=high).map(move |k| (sum + k, squares + k * k)))
                .collect()
        })
    }

    #[test]
    fn agrees_with_listing_all_numbers() {
        for (n, low, high) in [
            (2, 0, 9),
            (3, -2, 6),
            (4, 0, 7),
            (5, 1, 7),
            (6, 0, 5),
            (9, 0, 3),
        ] {
            let listed = listed(n, low, high);
            let n = i128::from(n);
            for total in n * low..=n * high {
                for squares in 0..=n * high.max(-low).pow(2) {
                    let spread = n * squares - total * total;
                    let attained =
                        any_is_attainable(n, total..=total, spread..=spread, Some(low), Some(high));
                    let expected = spread >= 0 && listed.contains(&(total, squares));
                    assert_eq!(
                        attained,
                        Some(expected),
                        "n {n}, sum {total}, squares {squares}"
                    );
                }
            }
        }
    }

    #[test]
    fn largest_and_smallest_agree_with_listing() {
        let listed = listed(5, -1, 4);
        for total in -5..=20 {
            let squares = || {
                listed
                    .iter()
                    .filter(|(sum, _)| *sum == total)
                    .map(|(_, q)| *q)
            };
            assert_eq!(largest(5, total, -1, 4), squares().max());
            assert_eq!(Some(smallest(5, total)), squares().min());
        }
        assert_eq!(largest(5, 21, -1, 4), None);
    }

    #[test]
    fn numbers_too_large_are_not_decided() {
        assert_eq!(
            any_is_attainable(10, 0..=0, 0..=i128::MAX / 2, None, None),
            None
        );
    }
}
