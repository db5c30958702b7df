//! Which scores count, and why others don't.

use super::Why;
use crate::logbook::model::{Measure, Score};
use crate::number::EXACT;

/// A score that counts, or why it doesn't.
pub(super) fn usable(score: &Score, measure: &Measure) -> Result<f64, Why> {
    match score {
        Score::Number(value) if !value.is_finite() => Err(Why::Unreadable),
        Score::Number(value) => {
            let below = measure
                .lowest
                .is_some_and(|lowest| *value < lowest - tolerance(lowest));
            let above = measure
                .highest
                .is_some_and(|highest| *value > highest + tolerance(highest));
            if below || above {
                Err(Why::OutOfScale(*value))
            } else {
                Ok(*value)
            }
        }
        Score::Missing => Err(Why::Missing),
        Score::Unreadable(_) => Err(Why::Unreadable),
    }
}

/// Ends of scales and steps are decimals that a double may miss by its last bit.
fn tolerance(end: f64) -> f64 {
    EXACT * end.abs().max(1.0)
}

/// Whether a score lies between the scale's steps, counted from its lowest end (else from 0).
pub(super) fn is_off_step(value: f64, measure: &Measure) -> bool {
    let Some(step) = measure.step.filter(|step| *step > 0.0) else {
        return false;
    };
    let steps = (value - measure.lowest.unwrap_or(0.0)) / step;
    (steps - steps.round()).abs() > 1e-6 * steps.abs().max(1.0)
}
