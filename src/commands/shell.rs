//! What a shell and `man` want to know of the command line, written from its definition.

use std::fs;

use clap::CommandFactory as _;

use super::{Exit, Output, Stop};
use crate::cli::{Cli, Completions, Manual};

/// Prints the completions of a shell.
///
/// # Errors
/// Standard output can't be written to.
pub fn completions(arguments: &Completions, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let mut script = Vec::new();
    clap_complete::generate(
        arguments.shell,
        &mut Cli::command(),
        "evenhand",
        &mut script,
    );
    output.whole(&String::from_utf8_lossy(&script))?;
    Ok(Exit::Done)
}

/// Writes the manual pages to a folder.
///
/// # Errors
/// The folder can't be written to.
pub fn manual(arguments: &Manual, output: &mut Output<'_>) -> Result<Exit, Stop> {
    fs::create_dir_all(&arguments.dir)?;
    clap_mangen::generate_to(Cli::command(), &arguments.dir)?;
    output.text(&format!(
        "Manual pages are in {}\n",
        arguments.dir.display()
    ))?;
    Ok(Exit::Done)
}
