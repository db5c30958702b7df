//! Scores as whole numbers of steps, so that equal sums are equal.

use super::{Undefined, decimal_grid::DecimalGrid, requirements::finite_result};

/// Steps up to the largest score, where scores are no decimals.
const STEPS_OF_DOUBLES: f64 = 1_099_511_627_776.0;

/// Scores in steps.
#[derive(Debug, Clone)]
pub(super) struct WholeSteps {
    pub(super) steps: Vec<i64>,
    /// How many steps make 1.
    pub(super) per_unit: f64,
    /// How far a step may be from its score, in steps: 0 for decimals, which are held exactly.
    pub(super) slack: i64,
}

impl WholeSteps {
    /// Sums of all steps, and of their sizes, stay well within 64 bits.
    pub(super) fn of(values: &[f64]) -> Result<Self, Undefined> {
        if let Some(grid) = DecimalGrid::of(values)
            && let Some(steps) = values
                .iter()
                .map(|&value| grid.steps(value))
                .collect::<Option<Vec<i64>>>()
            && within_reach(&steps)
        {
            return Ok(Self {
                steps,
                per_unit: grid.per_unit(),
                slack: 0,
            });
        }
        let largest = values
            .iter()
            .fold(0_f64, |size, value| size.max(value.abs()));
        let per_unit = finite_result(STEPS_OF_DOUBLES / largest)?;
        #[expect(clippy::cast_possible_truncation, reason = "at most 2^40 in size")]
        let steps = values
            .iter()
            .map(|value| (value * per_unit).round() as i64)
            .collect();
        Ok(Self {
            steps,
            per_unit,
            slack: 1,
        })
    }
}

fn within_reach(steps: &[i64]) -> bool {
    let sizes = steps
        .iter()
        .try_fold(0_i64, |sum, step| sum.checked_add(step.checked_abs()?));
    sizes.is_some_and(|sizes| sizes < i64::MAX / 8)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn decimals_are_exact_and_others_close() {
        let tenths = WholeSteps::of(&[0.1, 1.5]).unwrap();
        assert_eq!(
            (tenths.steps, tenths.per_unit, tenths.slack),
            (vec![1, 15], 10.0, 0)
        );
        let thirds = WholeSteps::of(&[1.0 / 3.0, 2.0 / 3.0]).unwrap();
        assert_eq!(thirds.slack, 1);
        assert!((thirds.steps[1] - 2 * thirds.steps[0]).abs() <= 1);
    }
}
