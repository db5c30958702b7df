//! The `evenhand` program: parse, run, exit.

use std::process::ExitCode;

use clap::Parser as _;
use evenhand::{cli::Cli, commands};

fn main() -> ExitCode {
    let cli = Cli::parse();
    // None for what is no terminal: scripts get lines whole.
    let columns = |(terminal_size::Width(columns), _)| usize::from(columns);
    let widths = commands::Widths {
        out: terminal_size::terminal_size_of(std::io::stdout()).map(columns),
        err: terminal_size::terminal_size_of(std::io::stderr()).map(columns),
    };
    let exit = commands::run(
        &cli,
        &mut anstream::stdout(),
        &mut anstream::stderr(),
        widths,
    );
    ExitCode::from(exit.code())
}
