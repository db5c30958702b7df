//! The `evenhand` program: parse, run, exit.

use std::process::ExitCode;

use clap::Parser as _;
use evenhand::{cli::Cli, commands};

fn main() -> ExitCode {
    let cli = Cli::parse();
    let exit = commands::run(&cli, &mut anstream::stdout(), &mut anstream::stderr());
    ExitCode::from(exit.code())
}
