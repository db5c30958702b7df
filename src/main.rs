//! The `evenhand` program: parse, run, exit.

use std::process::ExitCode;

use clap::Parser as _;
use evenhand::{cli::Cli, commands};

fn main() -> ExitCode {
    let cli = Cli::parse();
    // None where standard output is no terminal: scripts get lines whole.
    let width = terminal_size::terminal_size_of(std::io::stdout())
        .map(|(terminal_size::Width(columns), _)| usize::from(columns));
    let exit = commands::run(
        &cli,
        &mut anstream::stdout(),
        &mut anstream::stderr(),
        width,
    );
    ExitCode::from(exit.code())
}
