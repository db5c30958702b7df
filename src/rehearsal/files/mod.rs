//! A logbook as files: workbook, `OpenDocument` or text; trials a row each, or a row a block and a column a trial.

mod ods;
mod text;
mod xlsx;

use std::collections::HashSet;
use std::io;

use super::faults::{At, Planted};
use super::table::{Cell, Table, Tables};
use crate::place::Place;

/// The file format that a pair hands in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// A workbook.
    Xlsx,
    /// An `OpenDocument` spreadsheet.
    Ods,
    /// A folder of text files.
    Csv,
}

/// How trials are laid out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// A row a trial.
    Long,
    /// A row a block (a session of a measure by a rater), a column a trial. Landing points stay in the long layout.
    RowABlock,
}

/// One file.
#[derive(Debug, Clone)]
pub struct File {
    /// Its name within the submissions.
    pub name: String,
    /// Its content.
    pub bytes: Vec<u8>,
}

/// Writes a logbook.
///
/// # Errors
/// What the writer of the format says.
pub fn write(
    pair: &str,
    logbook: &Tables,
    format: Format,
    layout: Layout,
) -> io::Result<Vec<File>> {
    let tables = laid_out(logbook, layout);
    match format {
        Format::Xlsx => Ok(vec![File {
            name: format!("{pair}.xlsx"),
            bytes: xlsx::write(&tables).map_err(io::Error::other)?,
        }]),
        Format::Ods => Ok(vec![File {
            name: format!("{pair}.ods"),
            bytes: ods::write(&tables)?,
        }]),
        Format::Csv => Ok(text::write(pair, &tables)),
    }
}

/// Where a planted fault stands in the files, as findings name it.
pub fn place(
    pair: &str,
    logbook: &Tables,
    planted: &Planted,
    format: Format,
    layout: Layout,
) -> String {
    let (table, row, column) = match planted.at {
        At::Table(table) => (table, None, 0),
        At::Cell(table, row, column) => {
            let wide = (table == "Trials")
                .then(|| wide_position(logbook, row, column, layout))
                .flatten();
            let at = wide.unwrap_or_else(|| {
                let of = logbook.all().into_iter().find(|known| known.name == table);
                let column = of.and_then(|table| table.column(column)).unwrap_or(0);
                (row + 1, column)
            });
            (table, Some(at.0), at.1)
        }
    };
    let number = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    let place = match format {
        Format::Csv => {
            let file = text::file_name(pair, table);
            Place::field(
                file.as_str().into(),
                number(row.unwrap_or(0)),
                number(column),
            )
        }
        Format::Xlsx | Format::Ods => {
            let ending = if format == Format::Ods { "ods" } else { "xlsx" };
            let file = format!("{pair}.{ending}");
            Place::cell(
                file.as_str().into(),
                table.into(),
                number(row.unwrap_or(0)),
                number(column),
            )
        }
    };
    place.to_string()
}

fn laid_out(logbook: &Tables, layout: Layout) -> Vec<Table> {
    let mut tables: Vec<Table> = logbook.all().into_iter().cloned().collect();
    if layout == Layout::RowABlock
        && can_be_wide(logbook)
        && let Some(trials) = tables.iter_mut().find(|table| table.name == "Trials")
    {
        *trials = wide(&logbook.trials);
    }
    tables
}

/// The columns of a block in the wide layout, before its trials.
const BLOCK: [&str; 5] = ["session", "phase", "measure", "condition", "rater"];

/// Landing points take two cells a trial, and a trial recorded twice has but one: they stay long.
fn can_be_wide(logbook: &Tables) -> bool {
    let trials = &logbook.trials;
    let mut cells = HashSet::new();
    (0..trials.rows.len()).all(|row| {
        let block = BLOCK.map(|name| trials.get(row, name).map(Cell::as_text));
        trials.get(row, "x") == Some(&Cell::Empty)
            && cells.insert((block, trial_number(trials, row)))
    })
}

/// A row a block, a column a trial.
fn wide(trials: &Table) -> Table {
    let most = (0..trials.rows.len())
        .filter_map(|row| trial_number(trials, row))
        .max()
        .unwrap_or(0);
    let mut header: Vec<String> = BLOCK.iter().map(|name| (*name).to_owned()).collect();
    header.extend((1..=most).map(|number| format!("Trial {number}")));
    let mut table = Table {
        name: "Trials",
        header,
        rows: Vec::new(),
    };
    for row in 0..trials.rows.len() {
        let Some((block, column)) = in_block(trials, row) else {
            continue;
        };
        while table.rows.len() <= block {
            table.rows.push(vec![Cell::Empty; BLOCK.len() + most]);
        }
        if let Some(cells) = table.rows.get_mut(block) {
            for (cell, name) in cells.iter_mut().zip(BLOCK) {
                *cell = trials.get(row, name).cloned().unwrap_or(Cell::Empty);
            }
            if let Some(cell) = cells.get_mut(column) {
                *cell = trials.get(row, "score").cloned().unwrap_or(Cell::Empty);
            }
        }
    }
    table
}

fn trial_number(trials: &Table, row: usize) -> Option<usize> {
    trials.get(row, "trial")?.as_text().parse().ok()
}

/// Which block a row belongs to, in order of first appearance, and in which column of the wide layout its score stands.
fn in_block(trials: &Table, row: usize) -> Option<(usize, usize)> {
    let key = |row: usize| BLOCK.map(|name| trials.get(row, name).map(Cell::as_text));
    let mut seen = Vec::new();
    for earlier in 0..=row {
        let of = key(earlier);
        if !seen.contains(&of) {
            seen.push(of);
        }
    }
    let wanted = key(row);
    let block = seen.iter().position(|known| *known == wanted)?;
    Some((
        block,
        BLOCK.len() + trial_number(trials, row)?.checked_sub(1)?,
    ))
}

/// Where a row's score stands in the wide layout, counted with the header; none in the long one.
fn wide_position(
    logbook: &Tables,
    row: usize,
    column: &str,
    layout: Layout,
) -> Option<(usize, usize)> {
    if layout != Layout::RowABlock || column != "score" || !can_be_wide(logbook) {
        return None;
    }
    let (block, column) = in_block(&logbook.trials, row)?;
    Some((block + 1, column))
}
