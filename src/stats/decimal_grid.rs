//! Scores as whole numbers of tenths, hundredths …: the decimals that people typed, and not their binary neighbours.
//!
//! The double that stands for 10000000.2 is off by 7 in the tenth decimal. Sums and spreads taken over such doubles keep the error, which
//! makes an sd of 0.1 wrong in the ninth digit (NIST's `NumAcc4`), two equal gains unequal, and a mean of exactly 2.45 round to 2.4. So numbers
//! with at most 15 significant digits, which a double holds without ambiguity, are computed with as whole multiples of one power of ten.

/// The largest number of steps: any decimal of 15 significant digits has a double of its own (IEEE 754's decimal precision of binary64).
const MOST_STEPS: u64 = 1_000_000_000_000_000;

/// Powers of ten that are exact doubles and keep `MOST_STEPS` steps below 1.
const POWERS: [f64; 16] = [
    1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
];

/// The grid of all multiples of 10^−decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DecimalGrid {
    power: usize,
}

impl DecimalGrid {
    /// The coarsest grid that holds every value; `None` if one isn't a decimal of at most 15 digits, or isn't finite.
    #[must_use]
    pub fn of(values: &[f64]) -> Option<Self> {
        Self { power: 0 }.refined(values)
    }

    /// The coarsest grid that holds this one and every value.
    #[must_use]
    pub fn refined(self, values: &[f64]) -> Option<Self> {
        let mut grid = self;
        let mut on_coarser_grids = 0;
        for (place, &value) in values.iter().enumerate() {
            while grid.steps(value).is_none() {
                grid.power += 1;
                on_coarser_grids = place;
                if grid.power == POWERS.len() {
                    return None;
                }
            }
        }
        // A finer grid needs more steps: what came first must still fit.
        values
            .iter()
            .take(on_coarser_grids)
            .all(|&value| grid.steps(value).is_some())
            .then_some(grid)
    }

    /// How many decimals the grid has.
    #[must_use]
    pub fn decimals(self) -> u32 {
        u32::try_from(self.power).unwrap_or(u32::MAX)
    }

    /// How many steps make 1: a power of ten, exact.
    #[must_use]
    pub fn per_unit(self) -> f64 {
        POWERS.get(self.power).copied().unwrap_or(f64::NAN)
    }

    /// The value as a number of steps; `None` if the grid doesn't hold it.
    #[must_use]
    pub fn steps(self, value: f64) -> Option<i64> {
        let per_unit = self.per_unit();
        let scaled = value * per_unit;
        // The nearest whole number: `round` is a call for each score where a processor may lack it.
        #[expect(
            clippy::cast_possible_truncation,
            reason = "cut off on purpose; too large a number stays too large, and NaN is no number of steps"
        )]
        let steps = (scaled + 0.5_f64.copysign(scaled)) as i64;
        // Both operands are exact, so the quotient is the one double nearest to that decimal.
        #[expect(
            clippy::float_cmp,
            reason = "the question is whether it is the very same double"
        )]
        let held = steps.unsigned_abs() <= MOST_STEPS && steps as f64 / per_unit == value;
        held.then_some(steps)
    }

    /// The double nearest to a number of steps.
    #[must_use]
    pub fn value(self, steps: i64) -> f64 {
        steps as f64 / self.per_unit()
    }
}

/// later − earlier, pair by pair, free of binary rounding where both are decimals; as long as the shorter of the two.
#[must_use]
pub fn differences(earlier: &[f64], later: &[f64]) -> Vec<f64> {
    let grid = DecimalGrid::of(earlier).and_then(|grid| grid.refined(later));
    earlier
        .iter()
        .zip(later)
        .map(|(&a, &b)| {
            grid.and_then(|grid| Some(grid.value(grid.steps(b)? - grid.steps(a)?)))
                .unwrap_or(b - a)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_coarsest_grid_is_found() {
        let decimals = |values: &[f64]| DecimalGrid::of(values).map(DecimalGrid::decimals);
        assert_eq!(decimals(&[1.0, -3.0]), Some(0));
        assert_eq!(decimals(&[1.0, 2.25, 0.1]), Some(2));
        assert_eq!(decimals(&[10_000_000.2]), Some(1));
        assert_eq!(decimals(&[]), Some(0));
        assert_eq!(decimals(&[1.0 / 3.0]), None);
        assert_eq!(decimals(&[f64::NAN]), None);
        assert_eq!(decimals(&[f64::INFINITY]), None);
        assert_eq!(decimals(&[1e300]), None);
        assert_eq!(decimals(&[1e12, 1e-9]), None);
    }

    #[test]
    fn equal_gains_are_equal() {
        // In doubles 0.3 − 0.1 and 0.5 − 0.3 differ in the last place.
        assert_eq!(differences(&[0.1, 0.3], &[0.3, 0.5]), [0.2, 0.2]);
        assert_eq!(differences(&[1.0 / 3.0], &[0.5]), [0.5 - 1.0 / 3.0]);
    }

    proptest! {
        #[test]
        fn steps_come_back(steps in -1_000_000_000_i64..1_000_000_000, power in 0_usize..=15) {
            let grid = DecimalGrid { power };
            prop_assert_eq!(grid.steps(grid.value(steps)), Some(steps));
        }
    }
}
