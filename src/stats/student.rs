//! Student's t: the deviate of a 95 % interval.

use statrs::distribution::{ContinuousCDF, StudentsT};

use super::Undefined;

/// The deviate that leaves 2.5 % of Student's t on either side; 2.228 for 10 degrees of freedom.
///
/// # Errors
/// [`Undefined::OutOfRange`] where the degrees of freedom are not above 0.
pub fn deviate_95(degrees_of_freedom: f64) -> Result<f64, Undefined> {
    let t = StudentsT::new(0.0, 1.0, degrees_of_freedom).map_err(|_| Undefined::OutOfRange)?;
    super::requirements::finite_result(t.inverse_cdf(0.975))
}
