//! `check --against`: the suggestions beside marks already given. Nothing is written.

use std::path::Path;

use super::load::{Loaded, read_text};
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
        output.width,
    );
    output.always(&text)?;
    Ok(Exit::Done)
}

/// A table of text with the columns `student_id` or `pair`, `mark`, and perhaps `criterion`: whatever their case and order, between commas,
/// semicolons or tabs.
fn read(path: &Path) -> Result<Vec<GivenMark>, Stop> {
    let shown = path.display();
    let text = read_text(path)?;
    let text = text.trim_start_matches('\u{feff}');
    let first = text.lines().next().unwrap_or_default();
    let delimiter = [b';', b'\t']
        .into_iter()
        .find(|delimiter| first.contains(char::from(*delimiter)))
        .unwrap_or(b',');
    let mut reader = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .delimiter(delimiter)
        .from_reader(text.as_bytes());
    let header: Vec<String> = reader.headers()?.iter().map(letters).collect();
    let column = |names: &[&str]| {
        names
            .iter()
            .find_map(|name| header.iter().position(|known| known == name))
    };
    let of = column(&["studentid", "pair", "pairid", "student", "id"]);
    let (Some(of), Some(mark)) = (of, column(&["mark", "marks", "total", "grade"])) else {
        return Err(Stop::new(format!(
            "{shown} line 1: the columns must be `student_id` or `pair`, `mark`, and perhaps `criterion`; it has {first}"
        )));
    };
    let criterion = column(&["criterion"]);
    let mut given = Vec::new();
    let mut faults = Vec::new();
    for record in reader.records() {
        let record = record?;
        let line = record.position().map_or(0, csv::Position::line);
        let text = record.get(mark).unwrap_or_default();
        // Who has no mark yet has none to compare.
        if text.is_empty() {
            continue;
        }
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
    if !faults.is_empty() {
        return Err(Stop::new(faults.join("\n")));
    }
    if given.is_empty() {
        return Err(Stop::new(format!("{shown}: there is no mark in it")));
    }
    Ok(given)
}

/// A heading without case, spaces and signs.
fn letters(heading: &str) -> String {
    heading
        .chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read_from(text: &str) -> Result<Vec<GivenMark>, Stop> {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("marks.csv");
        std::fs::write(&path, text).unwrap();
        read(&path)
    }

    #[test]
    fn marks_are_read_as_spreadsheets_save_them() {
        let plain = read_from("pair,criterion,mark\nP01,testing,9.5\nP02,,40\n").unwrap();
        assert_eq!(plain[0].criterion.as_deref(), Some("testing"));
        assert_eq!(plain[1].criterion, None);
        let semicolons = read_from("\u{feff}Student ID;Name;Mark\ns1;A;9,5\ns2;B;\n").unwrap();
        assert_eq!(semicolons.len(), 1);
        assert_eq!((semicolons[0].of.as_str(), semicolons[0].mark), ("s1", 9.5));
    }

    #[test]
    fn what_is_no_mark_is_told_with_its_line() {
        let fault = |text: &str| read_from(text).unwrap_err().to_string();
        assert!(fault("pair,mark\nP01,good\nP02,x\n").contains("line 3: `x`"));
        assert!(fault("name,points\nA,3\n").contains("it has name,points"));
        assert!(fault("pair,mark\n").contains("no mark"));
    }
}
