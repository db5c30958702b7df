//! `questions`: a text a pair with its open questions.

use std::fs;
use std::io::{self, Write as _};

use serde::Serialize;

use super::load::load;
use super::one_run::OneRun;
use super::return_::file_name;
use super::{Exit, Output, Stop, progress};
use crate::atomic;
use crate::cli::InCohort;
use crate::hand_back::questions;
use crate::wording::counted;

/// The folder that they are written to, in the cohort's folder.
const QUESTIONS: &str = "out/questions";

#[derive(Serialize)]
struct Report<'a> {
    command: &'static str,
    pairs: usize,
    files: &'a [String],
}

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &InCohort, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let loaded = load(&arguments.dir)?;
    let _run = OneRun::begin(&arguments.dir)?;
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let folder = arguments.dir.join(QUESTIONS);
    let mut files = Vec::new();
    for result in cohort.results() {
        let name = format!("{}.txt", file_name(&result.pair));
        let path = folder.join(&name);
        let failed = |error: io::Error| Stop::new(format!("{}: {error}", path.display()));
        match questions::text(&loaded.folder.settings.title, &result, &loaded.state) {
            Some(text) => {
                atomic::replace(&path, |file| file.write_all(text.as_bytes())).map_err(failed)?;
                files.push(format!("{QUESTIONS}/{name}"));
            }
            // Questions that were settled since must not be sent.
            None => match fs::remove_file(&path) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    return Err(failed(error));
                }
                _ => {}
            },
        }
    }
    output.summary(&Report {
        command: "questions",
        pairs: cohort.pairs.len(),
        files: &files,
    })?;
    let where_to = if files.is_empty() {
        String::new()
    } else {
        format!(": {}", folder.display())
    };
    let next = if files.is_empty() {
        ""
    } else {
        "Send each pair its text. With its answer, decide uphold or dismiss in out/moderation.xlsx, sheet Findings, and keep the answer in the note beside it; then run evenhand collect.\n"
    };
    output.text(&format!(
        "{} of {} have open questions{where_to}\n{next}",
        files.len(),
        counted(cohort.pairs.len(), "pair")
    ))?;
    Ok(Exit::Done)
}
