//! What can be typed on the command line, and nothing of what it does.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "evenhand",
    version,
    about = "Reads a cohort's skill-programme logbooks, recomputes every number, and lays the evidence before the people who mark.",
    after_help = "Marks are people's decisions: the program suggests and shows its evidence. Nothing leaves this machine.",
    disable_help_subcommand = true,
    max_term_width = 100
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
    /// Print nothing but errors.
    #[arg(long, short, global = true)]
    pub quiet: bool,
    /// Print a summary for scripts on standard output.
    #[arg(long, global = true, conflicts_with = "quiet")]
    pub json: bool,
}

/// One way of using the program.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Begin a cohort: settings, roster, rubric, and a blank logbook for the pairs
    Setup(Setup),
    /// Read every hand-in, recompute and check it, and write the workbook to mark in
    Check(Check),
    /// Show one pair in the terminal
    #[command(override_usage = "evenhand pair [OPTIONS] [DIR] PAIR")]
    Pair(Pair),
    /// Share the pairs out among the markers, with a second-marking sample
    Share(Share),
    /// Take back what people entered in the workbooks
    #[command(override_usage = "evenhand collect [OPTIONS] [DIR] [FILE]...")]
    Collect(Collect),
    /// Compare the markers, and propose what to settle
    Moderate(InCohort),
    /// Hand back marks and feedback
    Return(Return),
    /// Read a rubric back with its faults, and print it for proofreading
    Rubric(RubricFile),
    /// Say what a check, slip, fact, theory or sign looks at, and why
    Explain(Explain),
    /// Make an invented cohort with known answers, to rehearse the whole way
    Rehearse(Rehearse),
    /// Write a text a pair with its open questions
    Questions(InCohort),
    /// Replace names everywhere, once marks no longer need them
    Forget(Forget),
    /// Print the completions of a shell
    #[command(hide = true)]
    Completions(Completions),
    /// Write the manual pages to a folder
    #[command(hide = true)]
    Manual(Manual),
}

/// A command that needs a cohort's folder and nothing else.
#[derive(Debug, Args)]
pub struct InCohort {
    /// The cohort's folder
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// Who decides, for the ledger
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
}

/// `setup`
#[derive(Debug, Args)]
pub struct Setup {
    /// The folder to begin in; it is made where it does not exist
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// The rubric to begin with
    #[arg(long, value_enum, default_value_t = ShippedRubric::Full)]
    pub rubric: ShippedRubric,
}

/// The rubrics that ship.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShippedRubric {
    /// Testing and programme design, stage, claims, theory, evaluation
    Full,
    /// For a first course
    Short,
}

/// `check`
#[derive(Debug, Args)]
pub struct Check {
    /// The cohort's folder
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// Exit with 3 where a finding of this weight or above stands
    #[arg(long, value_name = "WEIGHT", value_enum)]
    pub fail_on: Option<FailOn>,
    /// Compare the suggestions with marks already given: a csv of `student_id` or `pair`, `mark`, and perhaps `criterion`
    #[arg(long, value_name = "MARKS.CSV")]
    pub against: Option<PathBuf>,
    /// Whose the entries are that out/moderation.xlsx holds: they are taken back before it is written anew
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Replace workbooks even where an office program seems to have them open
    #[arg(long)]
    pub ignore_locks: bool,
}

/// The weights that `--fail-on` takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    /// A person should look
    Query,
    /// Design or interpretation is not supported
    Concern,
    /// Contradicted by the pair's own data
    Error,
}

/// `pair`
#[derive(Debug, Args)]
pub struct Pair {
    /// The cohort's folder (where it is not the working folder), and the pair's id
    #[arg(value_name = "PAIR", num_args = 1..=2, required = true)]
    pub arguments: Vec<String>,
    /// Tell everything that ever happened to the pair's mark
    #[arg(long)]
    pub history: bool,
    /// Write all of the pair's record to a file
    #[arg(long, value_name = "FILE")]
    pub record: Option<PathBuf>,
}

/// `share`
#[derive(Debug, Args)]
pub struct Share {
    /// The cohort's folder
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// First give the same so many logbooks to every marker, to agree on a standard
    #[arg(long, value_name = "K")]
    pub common: Option<usize>,
    /// The markers, where the roster names none
    #[arg(long, value_name = "NAME,NAME", value_delimiter = ',')]
    pub markers: Vec<String>,
    /// Who decides, for the ledger
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
}

/// `collect`
#[derive(Debug, Args)]
pub struct Collect {
    /// The cohort's folder (where it is not the working folder), and the workbooks to take back (else all that the program wrote)
    #[arg(value_name = "FILE")]
    pub arguments: Vec<PathBuf>,
    /// Who filled in the workbooks named here; where none is named, who decides in those of out/ (a marker's is then its marker's)
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
    /// Only verify that the ledger was not changed by hand
    #[arg(long)]
    pub verify: bool,
}

/// `return`
#[derive(Debug, Args)]
pub struct Return {
    /// The cohort's folder
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// Hand back the pairs that are complete and list the others
    #[arg(long)]
    pub complete_only: bool,
    /// Who decides, for the ledger
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
}

/// `forget`
#[derive(Debug, Args)]
pub struct Forget {
    /// The cohort's folder
    #[arg(default_value = ".")]
    pub dir: PathBuf,
    /// Say what would be replaced, and replace nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Don't ask first
    #[arg(long)]
    pub yes: bool,
    /// Who decides, for the ledger
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,
}

/// `rubric`
#[derive(Debug, Args)]
pub struct RubricFile {
    /// A rubric, stages or theories file, or the name of one that ships (`full`, `short`, `stages`, `theories`)
    #[arg(required_unless_present = "schema")]
    pub file: Option<PathBuf>,
    /// Print the JSON Schema of rubric files, for editors
    #[arg(long)]
    pub schema: bool,
    /// Show what this rubric would do to a cohort's suggestions
    #[arg(long = "try", value_name = "DIR", conflicts_with = "schema")]
    pub try_on: Option<PathBuf>,
}

/// `explain`
#[derive(Debug, Args)]
pub struct Explain {
    /// The id of a check, slip, fact, theory or sign; without one, all are listed
    pub id: Option<String>,
}

/// `rehearse`
#[derive(Debug, Args)]
pub struct Rehearse {
    /// The folder to write the invented cohort to
    #[arg(default_value = "rehearsal")]
    pub dir: PathBuf,
    /// How many pairs
    #[arg(long, default_value_t = 24)]
    pub pairs: usize,
    /// The seed: the same seed makes the same cohort
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
    /// The share of pairs with faults and odd layouts, 0 to 1
    #[arg(long, default_value_t = 0.4)]
    pub mess: f64,
    /// How many markers
    #[arg(long, default_value_t = 3)]
    pub markers: usize,
    /// Write canonical workbooks alone, without odd layouts and formats
    #[arg(long)]
    pub plain: bool,
}

/// `completions`
#[derive(Debug, Args)]
pub struct Completions {
    /// The shell
    #[arg(value_enum)]
    pub shell: clap_complete::Shell,
}

/// `manual`
#[derive(Debug, Args)]
pub struct Manual {
    /// The folder to write to
    pub dir: PathBuf,
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory as _;

    use super::*;

    #[test]
    fn the_command_line_is_consistent() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_pair_is_named_with_or_without_its_folder() {
        let parse = |line: &[&str]| Cli::try_parse_from(line).is_ok();
        assert!(parse(&["evenhand", "pair", "P07"]));
        assert!(parse(&["evenhand", "pair", "course", "P07", "--history"]));
        assert!(!parse(&["evenhand", "pair"]));
        assert!(parse(&["evenhand", "check", "--json"]));
        assert!(parse(&["evenhand", "--quiet", "collect"]));
    }
}
