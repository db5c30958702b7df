//! `pair`: one pair in the terminal.

use std::path::{Path, PathBuf};

use super::load::load;
use super::{Exit, Output, Stop};
use crate::cli::Pair;
use crate::configuration::nearest;
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
    let Some(result) = cohort.pair(id) else {
        let near = nearest(id, cohort.pairs.iter().map(|result| &*result.pair));
        let help = near.map_or_else(String::new, |near| format!("; did you mean {near}?"));
        return Err(Stop::new(format!(
            "there is no pair {id} in {}{help}",
            dir.display()
        )));
    };
    output.always(&pair_view::text(result))?;
    Ok(Exit::Done)
}
