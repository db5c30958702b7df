//! The commands, one file each: they see everything, compute nothing, and say how it went.

mod against;
mod check;
mod collect;
mod explain;
mod forget;
mod load;
mod moderate;
mod named_workbooks;
mod office_lock;
mod one_run;
mod own_workbook;
mod pair;
mod progress;
mod questions;
mod rehearse;
mod return_;
mod rubric;
mod same_marker;
mod setup;
mod share;
mod shell;
mod take_back;

use std::fmt;
use std::io::Write;

use crate::cli::{Cli, Command};
use crate::emphasis::{Emphasis, painted};
use crate::report::fitted::fitted;

/// What a command did, as the program's exit status.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exit {
    /// Everything was done, findings or not.
    Done,
    /// Something could not be read or written, and the rest was done.
    Partly,
    /// Nothing was done.
    Nothing,
    /// `check --fail-on` found something of that weight.
    Found,
}

impl Exit {
    /// The exit status.
    pub fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::Partly => 1,
            Self::Nothing => 2,
            Self::Found => 3,
        }
    }
}

/// Why nothing was done: the message for the person, whole.
#[derive(Debug)]
pub struct Stop {
    message: String,
}

impl Stop {
    /// With this message.
    pub fn new(message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
        }
    }
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl<E: std::error::Error> From<E> for Stop {
    fn from(error: E) -> Self {
        Self::new(error.to_string())
    }
}

/// Where a command writes, and how much.
pub struct Output<'a> {
    /// Standard output; what it leads to decides whether the terminal's codes in it are kept.
    pub out: &'a mut dyn Write,
    /// Standard error.
    pub err: &'a mut dyn Write,
    /// Print nothing but errors.
    pub quiet: bool,
    /// Print a summary for scripts.
    pub json: bool,
    /// Columns of the terminal; none where standard output is none.
    pub width: Option<usize>,
    /// Columns of the terminal that standard error leads to, if any.
    pub err_width: Option<usize>,
}

/// Columns of the terminals that the two outputs lead to; none where it is no terminal.
#[derive(Debug, Clone, Copy, Default)]
pub struct Widths {
    /// Of standard output.
    pub out: Option<usize>,
    /// Of standard error.
    pub err: Option<usize>,
}

impl Output<'_> {
    /// Prints text for a person, unless told to be quiet or to print for scripts.
    fn text(&mut self, text: &str) -> Result<(), Stop> {
        if !self.quiet && !self.json {
            self.always(text)?;
        }
        Ok(())
    }

    /// Prints text that is the very thing asked for.
    fn always(&mut self, text: &str) -> Result<(), Stop> {
        match self.width {
            Some(width) => self.whole(&painted(&fitted(text, width))),
            None => self.whole(&painted(text)),
        }
    }

    /// Prints what another program reads: as it is, on a terminal too.
    fn whole(&mut self, text: &str) -> Result<(), Stop> {
        match self.out.write_all(text.as_bytes()) {
            // Whoever reads may stop reading: `evenhand pair P07 | head` is no fault.
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(()),
            Err(error) => Err(Stop::new(format!("standard output: {error}"))),
            Ok(()) => Ok(()),
        }
    }

    /// Prints a summary for scripts, if asked to.
    fn summary(&mut self, summary: &impl serde::Serialize) -> Result<(), Stop> {
        if self.json {
            let text = serde_json::to_string_pretty(summary)?;
            self.whole(&format!("{text}\n"))?;
        }
        Ok(())
    }

    /// Names something that went wrong while the rest was done.
    fn trouble(&mut self, text: &str) {
        self.say(&Emphasis::Error.on("error:"), text);
    }

    /// Names something to know of, with which all was done.
    fn warning(&mut self, text: &str) {
        self.say(&Emphasis::Concern.on("warning:"), text);
    }

    fn say(&mut self, what: &str, text: &str) {
        let whole = format!("evenhand: {what} {text}");
        let text = match self.err_width {
            // Line by line: what a file's own line is followed by is no part of it.
            Some(width) => {
                let lines: Vec<String> = whole.lines().map(|line| fitted(line, width)).collect();
                lines.join("\n")
            }
            None => whole,
        };
        // Where standard error can't be written to, nobody can be told.
        let _ = writeln!(self.err, "{}", painted(&text));
    }
}

/// Runs what was typed.
pub fn run(cli: &Cli, out: &mut dyn Write, err: &mut dyn Write, widths: Widths) -> Exit {
    let mut output = Output {
        out,
        err,
        quiet: cli.quiet,
        json: cli.json,
        width: widths.out,
        err_width: widths.err,
    };
    let went = match &cli.command {
        Command::Check(arguments) => check::run(arguments, &mut output),
        Command::Share(arguments) => share::run(arguments, &mut output),
        Command::Collect(arguments) => collect::run(arguments, &mut output),
        Command::Setup(arguments) => setup::run(arguments, &mut output),
        Command::Questions(arguments) => questions::run(arguments, &mut output),
        Command::Forget(arguments) => forget::run(arguments, &mut output),
        Command::Moderate(arguments) => moderate::run(arguments, &mut output),
        Command::Return(arguments) => return_::run(arguments, &mut output),
        Command::Pair(arguments) => pair::run(arguments, &mut output),
        Command::Explain(arguments) => explain::run(arguments, &mut output),
        Command::Rehearse(arguments) => rehearse::run(arguments, &mut output),
        Command::Rubric(arguments) => rubric::run(arguments, &mut output),
        Command::Completions(arguments) => shell::completions(arguments, &mut output),
        Command::Manual(arguments) => shell::manual(arguments, &mut output),
    };
    match went {
        Ok(exit) => exit,
        Err(stop) => {
            output.trouble(&stop.message);
            Exit::Nothing
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emphasis::width;

    #[test]
    fn troubles_are_fitted_to_a_terminal_and_whole_elsewhere() {
        let said = |err_width| {
            let (mut out, mut err) = (Vec::new(), Vec::new());
            Output {
                out: &mut out,
                err: &mut err,
                quiet: false,
                json: false,
                width: None,
                err_width,
            }
            .trouble("there is no such workbook in this folder or in that one\n  help");
            String::from_utf8(err).unwrap()
        };
        assert_eq!(said(None).lines().count(), 2);
        let narrow = said(Some(40));
        assert!(narrow.lines().count() > 2, "{narrow}");
        // Without the codes around the one word of the first line.
        let mut after = narrow.lines().skip(1);
        assert!(after.all(|line| width(line) <= 40), "{narrow}");
        assert!(narrow.ends_with("\n  help\n"), "{narrow}");
    }
}
