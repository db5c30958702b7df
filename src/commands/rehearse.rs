//! `rehearse`: an invented cohort with known answers.

use super::{Exit, Output, Stop};
use crate::cli::Rehearse;
use crate::rehearsal::{Plan, rehearse};

/// Runs the command.
///
/// # Errors
/// The folder holds a cohort already, or can't be written to.
pub fn run(arguments: &Rehearse, output: &mut Output<'_>) -> Result<Exit, Stop> {
    if !(0.0..=1.0).contains(&arguments.mess) {
        return Err(Stop::new("--mess is a share, from 0 to 1"));
    }
    let plan = Plan {
        pairs: arguments.pairs,
        seed: arguments.seed,
        mess: arguments.mess,
        markers: arguments.markers,
        plain: arguments.plain,
    };
    rehearse(&arguments.dir, &plan)?;
    let dir = arguments.dir.display();
    output.text(&format!(
        "{dir}: {} invented pairs. What was planted in them is in {dir}/expected.csv.\nNext: evenhand check {dir}\n",
        arguments.pairs
    ))?;
    Ok(Exit::Done)
}
