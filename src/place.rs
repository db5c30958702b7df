//! Where a value stands: file, sheet and cell, or file, line and field.
//!
//! Rows, columns, lines and fields are counted from 0 inside the program and shown counted from 1 (`F14`, `line 14, field 6`).
//! Files are named relative to the submissions.

mod places;

use std::fmt;
use std::sync::Arc;

pub use places::Places;

/// The place of one value in a hand-in.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct Place {
    /// The hand-in's file, relative to the submissions, with `/` between folders.
    pub file: Arc<str>,
    /// Where in the file.
    pub spot: Spot,
}

/// Where in a file a value stands.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
pub enum Spot {
    /// The file as a whole.
    File,
    /// A sheet of a workbook as a whole.
    Sheet(Arc<str>),
    /// A cell of a workbook; row and column from 0.
    Cell {
        /// The sheet's name as it stands.
        sheet: Arc<str>,
        /// Column from 0 (`A` is 0). Before the row, so that a column's cells sort together.
        column: u32,
        /// Row from 0 (row 1 is 0).
        row: u32,
    },
    /// A field of a delimited text file; line and field from 0.
    Field {
        /// Field from 0. Before the line, so that a column's fields sort together.
        field: u32,
        /// Line from 0.
        line: u32,
    },
}

impl Place {
    /// The file as a whole.
    pub fn file(file: impl Into<Arc<str>>) -> Self {
        Self {
            file: file.into(),
            spot: Spot::File,
        }
    }

    /// A cell of a workbook; row and column from 0.
    pub fn cell(file: Arc<str>, sheet: Arc<str>, row: u32, column: u32) -> Self {
        Self {
            file,
            spot: Spot::Cell { sheet, column, row },
        }
    }

    /// A field of a text file; line and field from 0.
    pub fn field(file: Arc<str>, line: u32, field: u32) -> Self {
        Self {
            file,
            spot: Spot::Field { field, line },
        }
    }

    /// The cell's name alone (`F14`), for links into a workbook; none for text files and whole sheets.
    pub fn cell_name(&self) -> Option<String> {
        match &self.spot {
            Spot::Cell { column, row, .. } => Some(cell_name(*row, *column)),
            _ => None,
        }
    }

    /// The sheet's name, where the place is in a workbook.
    pub fn sheet(&self) -> Option<&str> {
        match &self.spot {
            Spot::Sheet(sheet) | Spot::Cell { sheet, .. } => Some(sheet),
            _ => None,
        }
    }
}

/// A column's letters: 0 is `A`, 26 is `AA`.
pub fn column_letters(column: u32) -> String {
    let mut letters = Vec::new();
    let mut rest = u64::from(column) + 1;
    while rest > 0 {
        rest -= 1;
        // The remainder is below 26: it fits a byte.
        letters.push(b'A' + u8::try_from(rest % 26).unwrap_or(0));
        rest /= 26;
    }
    letters.reverse();
    letters.into_iter().map(char::from).collect()
}

/// A cell's name in A1 form, from row and column counted from 0.
pub fn cell_name(row: u32, column: u32) -> String {
    format!("{}{}", column_letters(column), u64::from(row) + 1)
}

/// Row and column from 0 of a cell's name in A1 form; none where it is no such name.
pub fn cell_named(name: &str) -> Option<(u32, u32)> {
    let digits = name.find(|c: char| c.is_ascii_digit())?;
    let (letters, number) = name.split_at(digits);
    if letters.is_empty() || letters.len() > 3 {
        return None;
    }
    let mut column = 0_u32;
    for letter in letters.chars() {
        let value = u32::from(letter.to_ascii_uppercase()).checked_sub(u32::from('A'))?;
        if value > 25 {
            return None;
        }
        column = column * 26 + value + 1;
    }
    let row = number.parse::<u32>().ok()?.checked_sub(1)?;
    Some((row, column - 1))
}

/// A sheet's or file's name as evidence shows it: in single quotes where it holds a space, `!`, `;` or a quote, as spreadsheets do.
pub fn quoted(name: &str) -> String {
    if name.contains([' ', '!', ';', '\'']) {
        format!("'{}'", name.replace('\'', "''"))
    } else {
        name.to_owned()
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = quoted(&self.file);
        match &self.spot {
            Spot::File => write!(f, "{file}"),
            Spot::Sheet(sheet) => write!(f, "{file} {}", quoted(sheet)),
            Spot::Cell { sheet, column, row } => {
                write!(f, "{file} {}!{}", quoted(sheet), cell_name(*row, *column))
            }
            Spot::Field { field, line } => {
                write!(
                    f,
                    "{file} line {}, field {}",
                    u64::from(*line) + 1,
                    u64::from(*field) + 1
                )
            }
        }
    }
}

/// Places as one line of evidence: neighbours in a column or row become a range (`P07.xlsx Trials!F2:F11`), the rest are separated by
/// `; `. The order of the first place of each run is kept, so that a finding's own cell comes first.
pub fn evidence(places: &[Place]) -> String {
    runs(places).join("; ")
}

/// The first few cells of a line of evidence, and how many more runs there are: for screens and sheets; findings.csv has the whole line.
pub fn evidence_in_short(places: &[Place]) -> String {
    const SHOWN: usize = 3;
    let runs = runs(places);
    match runs.get(..SHOWN) {
        Some(first) if runs.len() > SHOWN => {
            format!("{}; and {} more", first.join("; "), runs.len() - SHOWN)
        }
        _ => runs.join("; "),
    }
}

/// The runs of neighbouring cells, each as evidence shows it.
fn runs(places: &[Place]) -> Vec<String> {
    let mut runs = Vec::new();
    let mut start = 0;
    while start < places.len() {
        let end = run_end(places, start);
        runs.push(run_text(&places[start..end]));
        start = end;
    }
    runs
}

/// One past the last place of the run of neighbouring cells that begins at `start`.
fn run_end(places: &[Place], start: usize) -> usize {
    let step = |a: &Place, b: &Place| -> Option<(u32, u32)> {
        match (&a.spot, &b.spot) {
            (
                Spot::Cell {
                    sheet: s1,
                    column: c1,
                    row: r1,
                },
                Spot::Cell {
                    sheet: s2,
                    column: c2,
                    row: r2,
                },
            ) if a.file == b.file && s1 == s2 => Some((r2.checked_sub(*r1)?, c2.checked_sub(*c1)?)),
            _ => None,
        }
    };
    let mut end = start + 1;
    let Some(direction) = places
        .get(end)
        .and_then(|next| step(&places[start], next))
        .filter(|d| matches!(d, (1, 0) | (0, 1)))
    else {
        return end;
    };
    while end < places.len() && step(&places[end - 1], &places[end]) == Some(direction) {
        end += 1;
    }
    end
}

fn run_text(run: &[Place]) -> String {
    match run {
        [] => String::new(),
        [only] => only.to_string(),
        [first, .., last] => {
            let end = last.cell_name().unwrap_or_default();
            format!("{first}:{end}")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(row: u32, column: u32) -> Place {
        Place::cell("P07.xlsx".into(), "Trials".into(), row, column)
    }

    #[test]
    fn columns_are_lettered_as_spreadsheets_letter_them() {
        assert_eq!(column_letters(0), "A");
        assert_eq!(column_letters(25), "Z");
        assert_eq!(column_letters(26), "AA");
        assert_eq!(column_letters(16_383), "XFD");
        for cell in [(0, 0), (9, 25), (13, 26), (1_048_575, 16_383)] {
            assert_eq!(cell_named(&cell_name(cell.0, cell.1)), Some(cell));
        }
        assert_eq!(cell_named("A0"), None);
        assert_eq!(cell_named("12"), None);
    }

    #[test]
    fn a_place_reads_as_evidence() {
        assert_eq!(cell(13, 5).to_string(), "P07.xlsx Trials!F14");
        let text = Place::field("P07/trials.csv".into(), 13, 5);
        assert_eq!(text.to_string(), "P07/trials.csv line 14, field 6");
        let odd = Place::cell("P07 final.xlsx".into(), "Raw data".into(), 0, 0);
        assert_eq!(odd.to_string(), "'P07 final.xlsx' 'Raw data'!A1");
        assert_eq!(quoted("Ana's"), "'Ana''s'");
    }

    #[test]
    fn neighbours_become_ranges_and_the_rest_are_listed() {
        let places = [cell(4, 5), cell(5, 5), cell(6, 5), cell(8, 5), cell(9, 6)];
        assert_eq!(
            evidence(&places),
            "P07.xlsx Trials!F5:F7; P07.xlsx Trials!F9; P07.xlsx Trials!G10"
        );
        assert_eq!(
            evidence(&[cell(1, 1), cell(1, 2), cell(1, 3)]),
            "P07.xlsx Trials!B2:D2"
        );
        assert_eq!(evidence(&[]), "");
        assert_eq!(evidence_in_short(&places), evidence(&places));
        let scattered: Vec<Place> = (0..5).map(|row| cell(2 * row, 5)).collect();
        assert_eq!(
            evidence_in_short(&scattered),
            "P07.xlsx Trials!F1; P07.xlsx Trials!F3; P07.xlsx Trials!F5; and 2 more"
        );
    }
}
