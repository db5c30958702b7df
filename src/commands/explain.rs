//! `explain`: what a check, slip, fact, threshold, theory or sign looks at, and why.

use std::path::Path;

use super::load::course_in;
use super::{Exit, Output, Stop};
use crate::cli::Explain;
use crate::report::explanations::{InForce, explain, list};

/// Runs the command.
///
/// # Errors
/// There is nothing of that id.
pub fn run(arguments: &Explain, output: &mut Output<'_>) -> Result<Exit, Stop> {
    // Where this is run in a cohort's folder, its own settings are in force; elsewhere the defaults.
    let course = course_in(Path::new("."))?;
    let in_force = InForce {
        thresholds: &course.thresholds,
        policy: &course.policy,
        stages: &course.stages,
        theories: &course.theories,
    };
    let text = match &arguments.id {
        Some(id) => explain(id, &in_force).map_err(Stop::new)?,
        None => list(&in_force),
    };
    output.always(&text)?;
    Ok(Exit::Done)
}
