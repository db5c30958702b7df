//! Orders what gives a claimed number, and says how sure the first is.
//!
//! The weight of an explanation is how common the slip is, times the share of the slip's own ways that give the number. Beside it stands the
//! weight of a cause that is not on the list: how likely some other wrong number would be this very one, given the digits stated and how
//! widely the numbers that slips reach are spread. `likely` needs 19 parts in 20 of the weight, both with slips as common as they are taken to
//! be and with all slips equally common. The calibration is in `tests/slip_calibration.rs`.

use crate::number::{Bound, Stated};

/// One explanation to be ordered.
#[derive(Debug, Clone, Copy)]
pub struct Candidate<T> {
    /// What it is.
    pub way: T,
    /// Its place in the reference's list.
    pub order: usize,
    /// A convention or rounding.
    pub convention: bool,
    /// It gives the number in one of its usual ways.
    pub usual: bool,
    /// One slip or two.
    pub kind: Kind,
    /// How common it is, in the unit of the file.
    pub plausibility: f64,
    /// Share of its ways that give the number.
    pub share: f64,
}

/// What kind of explanation it is, in the order in which they are listed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// The range of the claim's own formula shows it.
    Shown,
    /// One slip.
    Alone,
    /// Two slips together.
    Pair,
}

/// Explanations in order.
#[derive(Debug, Clone)]
pub struct Ranked<T> {
    /// Most plausible first, with the weight of each: with an unknown cause they sum to 1.
    pub ways: Vec<(T, f64)>,
    /// The first is likely.
    pub likely: bool,
}

/// How common a cause that is not on the list is, beside all slips together.
const UNKNOWN: f64 = 0.1;
/// The weight that makes the first explanation likely.
const LIKELY: f64 = 0.95;
/// How common an average slip is, in the unit of the file.
const AVERAGE: f64 = 5.0;
/// No more pairs than these are listed.
const MOST_PAIRS: usize = 5;

/// The numbers that slips reach around the claimed one.
#[derive(Debug, Clone)]
pub struct Reach {
    stated: Stated,
    right: f64,
    distances: Vec<f64>,
}

impl Reach {
    /// Nothing reached yet.
    pub fn new(stated: Stated, right: f64) -> Self {
        Self {
            stated,
            right,
            distances: Vec::with_capacity(64),
        }
    }

    /// A slip reaches this number.
    pub fn add(&mut self, value: f64) {
        let distance = (value - self.right).abs();
        if distance.is_finite() {
            self.distances.push(distance);
        }
    }

    /// The chance that another wrong number would be stated as this very one: one unit of the last digit over the width in which
    /// wrong numbers lie, taken as twice the middle distance from the right one that slips reach.
    fn chance_of_this_number(&self) -> f64 {
        if self.stated.bound != Bound::Exactly {
            return 1.0;
        }
        let unit = 2.0 * self.stated.half_unit();
        let mut distances = self.distances.clone();
        let half = distances.len() / 2;
        let reached = if distances.is_empty() {
            0.0
        } else {
            *distances.select_nth_unstable_by(half, f64::total_cmp).1
        };
        let middle = reached.max((self.stated.value - self.right).abs());
        (unit / (2.0 * middle).max(unit)).min(1.0)
    }
}

/// Orders explanations.
///
/// Where a convention and another slip give the number in usual ways, the reference's order decides among the usual ones; else the weight.
/// Pairs of slips come last; what the claim's own formula shows comes first, and is sure.
pub fn rank<T: Copy>(candidates: &[Candidate<T>], reach: &Reach, applicable: usize) -> Ranked<T> {
    let mut order: Vec<&Candidate<T>> = candidates.iter().collect();
    let by_reference = candidates
        .iter()
        .any(|candidate| candidate.convention && candidate.usual && candidate.kind != Kind::Pair);
    let weight = |candidate: &Candidate<T>| candidate.plausibility * candidate.share;
    order.sort_by(|a, b| {
        let tier = |candidate: &Candidate<T>| (candidate.kind, by_reference && !candidate.usual);
        tier(a).cmp(&tier(b)).then_with(|| {
            if by_reference && a.usual && b.usual && a.kind != Kind::Pair {
                a.order.cmp(&b.order)
            } else {
                weight(b).total_cmp(&weight(a)).then(a.order.cmp(&b.order))
            }
        })
    });
    let slips = applicable.max(1) as f64;
    let by_chance = reach.chance_of_this_number();
    let unknown = UNKNOWN * slips * AVERAGE * by_chance;
    let total: f64 = order.iter().map(|candidate| weight(candidate)).sum::<f64>() + unknown;
    let equal_unknown = UNKNOWN * slips * by_chance;
    let equal_weight = |candidate: &Candidate<T>| {
        // A pair's plausibility holds how rare pairs are.
        let common = if candidate.kind == Kind::Pair {
            candidate.plausibility / AVERAGE
        } else {
            1.0
        };
        common * candidate.share
    };
    let equal_total: f64 = order
        .iter()
        .map(|candidate| equal_weight(candidate))
        .sum::<f64>()
        + equal_unknown;
    let likely = order.first().is_some_and(|first| {
        first.kind == Kind::Shown
            || weight(first) >= LIKELY * total && equal_weight(first) >= LIKELY * equal_total
    });
    let singles = order
        .iter()
        .filter(|candidate| candidate.kind != Kind::Pair)
        .count();
    Ranked {
        ways: order
            .iter()
            .take(singles + MOST_PAIRS)
            .map(|candidate| (candidate.way, weight(candidate) / total))
            .collect(),
        likely,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn candidate(order: usize, plausibility: f64, share: f64) -> Candidate<usize> {
        Candidate {
            way: order,
            order,
            convention: false,
            usual: true,
            kind: Kind::Alone,
            plausibility,
            share,
        }
    }

    fn order_of(candidates: &[Candidate<usize>]) -> Vec<usize> {
        let mut reach = Reach::new(Stated::new(2.35, 2), 2.0);
        reach.add(3.0);
        rank(candidates, &reach, 30)
            .ways
            .iter()
            .map(|(way, _)| *way)
            .collect()
    }

    #[test]
    fn the_commoner_and_the_more_telling_come_first() {
        assert_eq!(
            order_of(&[candidate(0, 4.0, 1.0), candidate(1, 7.0, 1.0)]),
            [1, 0]
        );
        // One of eight ways of a slip tells less than the only way of another.
        assert_eq!(
            order_of(&[candidate(0, 7.0, 0.125), candidate(1, 4.0, 1.0)]),
            [1, 0]
        );
    }

    #[test]
    fn the_reference_decides_where_a_convention_is_among_them() {
        let convention = Candidate {
            convention: true,
            ..candidate(1, 9.0, 1.0)
        };
        let unusual = Candidate {
            usual: false,
            ..candidate(0, 9.0, 0.2)
        };
        assert_eq!(
            order_of(&[candidate(2, 9.0, 1.0), convention, candidate(0, 1.0, 0.1)]),
            [0, 1, 2]
        );
        assert_eq!(order_of(&[unusual, convention]), [1, 0]);
    }

    #[test]
    fn more_digits_make_a_match_likely() {
        let likely = |value: f64, decimals: u8| {
            let mut reach = Reach::new(Stated::new(value, decimals), 2.0);
            for reached in [1.5, 2.2, 2.4, 3.0] {
                reach.add(reached);
            }
            rank(&[candidate(0, 5.0, 1.0)], &reach, 30).likely
        };
        assert!(!likely(2.4, 1));
        assert!(likely(2.357, 3));
    }
}
