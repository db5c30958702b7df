//! `check --against`: the suggestions beside marks already given. Nothing is written.

use std::path::Path;

use super::load::Loaded;
use super::{Exit, Output, Stop};
use crate::examination::CohortResult;
use crate::report::comparison::{GivenMark, against};

/// Compares, and prints.
///
/// # Errors
/// The file of marks can't be read: every fault with its line.
pub fn run(
    loaded: &Loaded,
    cohort: &CohortResult,
    path: &Path,
    output: &mut Output<'_>,
) -> Result<Exit, Stop> {
    let given = read(path)?;
    let text = against(
        &loaded.course.rubric,
        cohort,
        loaded.roster.as_ref(),
        &given,
    );
    output.always(&text)?;
    Ok(Exit::Done)
}

/// A csv with the columns `student_id` or `pair`, `mark`, and perhaps `criterion`.
fn read(path: &Path) -> Result<Vec<GivenMark>, Stop> {
    let shown = path.display();
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_path(path)
        .map_err(|error| Stop::new(format!("{shown}: {error}")))?;
    let header = reader.headers()?.clone();
    let column = |names: &[&str]| {
        header
            .iter()
            .position(|known| names.contains(&known.to_lowercase().trim_start_matches('\u{feff}')))
    };
    let (Some(of), Some(mark)) = (column(&["student_id", "pair"]), column(&["mark"])) else {
        return Err(Stop::new(format!(
            "{shown} line 1: the columns must be `student_id` or `pair`, `mark`, and perhaps `criterion`"
        )));
    };
    let criterion = column(&["criterion"]);
    let mut given = Vec::new();
    let mut faults = Vec::new();
    for record in reader.records() {
        let record = record?;
        let line = record.position().map_or(0, csv::Position::line);
        let text = record.get(mark).unwrap_or_default();
        match text.replace(',', ".").parse::<f64>() {
            Ok(mark) if mark.is_finite() => given.push(GivenMark {
                of: record.get(of).unwrap_or_default().to_owned(),
                criterion: criterion
                    .and_then(|column| record.get(column))
                    .filter(|criterion| !criterion.is_empty())
                    .map(str::to_owned),
                mark,
            }),
            _ => faults.push(format!("{shown} line {line}: `{text}` is no mark")),
        }
    }
    if faults.is_empty() {
        Ok(given)
    } else {
        Err(Stop::new(faults.join("\n")))
    }
}
