//! `pair`: one pair in the terminal, its history, or all of its record in a file.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::load::{Loaded, load};
use super::return_::finishing;
use super::{Exit, Output, Stop};
use crate::atomic;
use crate::cli::Pair;
use crate::configuration::nearest;
use crate::examination::{CohortResult, PairResult};
use crate::hand_back::Finishing;
use crate::hand_back::feedback::{self, Telling};
use crate::hand_back::record::Record;
use crate::marking::settle::{SettledPair, Settling};
use crate::report::csv_rows::CsvRows;
use crate::report::pair_view;

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Pair, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let (dir, id) = match arguments.arguments.as_slice() {
        [dir, id] => (PathBuf::from(dir), id),
        [id] if Path::new(id).is_dir() => {
            return Err(Stop::new(format!(
                "{id} is a folder: name the pair after it (evenhand pair {id} P07)"
            )));
        }
        [id] => (PathBuf::from("."), id),
        _ => return Err(Stop::new("name the pair")),
    };
    let loaded = load(&dir)?;
    let cohort = loaded.examine(&|| ());
    let (pair, result) = find(&loaded, &cohort, id, &dir)?;
    let result = result.as_ref();
    if !arguments.history && arguments.record.is_none() {
        match result {
            Some(result) => output.always(&pair_view::text(result, output.width))?,
            None => output.always(&format!("Pair {pair}\nNothing was handed in.\n"))?,
        }
        return Ok(Exit::Done);
    }
    let settings = &loaded.folder.settings;
    let settled = Settling {
        rubric: &loaded.course.rubric,
        moderation: &settings.moderation,
        roster: loaded.roster.as_ref(),
        state: &loaded.state,
    }
    .pair(&pair, result);
    let record = Record {
        course: &settings.title,
        rubric: &loaded.course.rubric,
        rubric_digest: &loaded.course.rubric_digest,
        roster: loaded.roster.as_ref(),
        entries: loaded.ledger.entries(),
        state: &loaded.state,
        finishing: Finishing {
            out_of: loaded.course.rubric.out_of,
            late: settings.late.as_ref(),
            round: settings.hand_back.round,
        },
    };
    if arguments.history {
        output.always(&record.history(&settled, result))?;
    }
    if let Some(path) = &arguments.record {
        let text = record.text(&settled, result, &told(&loaded, &settled, result));
        atomic::replace(path, |file| file.write_all(text.as_bytes()))
            .map_err(|error| Stop::new(format!("{}: {error}", path.display())))?;
        output.text(&format!(
            "The record of pair {pair} is in {}\n",
            path.display()
        ))?;
    }
    Ok(Exit::Done)
}

/// The pair with this id: examined, or only on the roster.
fn find(
    loaded: &Loaded,
    cohort: &CohortResult,
    id: &str,
    dir: &Path,
) -> Result<(Arc<str>, Option<PairResult>), Stop> {
    if let Some(result) = cohort.pair(id) {
        return Ok((result.pair.clone(), Some(result)));
    }
    let on_roster = loaded.roster.as_ref().and_then(|roster| roster.pair(id));
    if let Some(pair) = on_roster {
        return Ok((pair.clone(), None));
    }
    let near = nearest(id, cohort.pairs.iter().map(|result| &*result.pair));
    let help = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
    Err(Stop::new(format!(
        "there is no pair {id} in {}{help}",
        dir.display()
    )))
}

/// What the pair would be told now.
fn told(loaded: &Loaded, settled: &SettledPair, result: Option<&PairResult>) -> CsvRows {
    let telling = Telling {
        course: &loaded.folder.settings.title,
        rubric: &loaded.course.rubric,
        roster: loaded.roster.as_ref(),
        state: &loaded.state,
        finishing: finishing(loaded),
    };
    let mut rows = CsvRows::with_header(&feedback::COLUMNS);
    feedback::rows(&mut rows, &telling.feedback(settled, result));
    rows
}
