//! A workbook that came back: what its cells to fill in hold now, and what they held when it was written.

use std::collections::BTreeMap;

use crate::logbook::grid::{Grid, Source, Value};
use crate::logbook::open::{Limits, OpenError, open};
use crate::place::Place;
use crate::report::workbook::written;

use super::sheets::{Layout, OurSheet, Recognised, recognise};
use super::target::{self, ID_KEYS, RowIds, Target};
use super::typed_claims::{self, TypedRow};
use super::values::{is_empty, shown};

/// A workbook of ours, read back.
#[derive(Debug, Default)]
pub struct Book {
    /// Its file as the ledger names it.
    pub file: String,
    /// Which workbook it is; empty where its hidden sheet is gone.
    pub kind: String,
    /// Whose it is; empty for the instructor's.
    pub marker: String,
    /// Digest of the rubric under which it was written.
    pub rubric: String,
    /// How many lines the ledger had when it was written.
    pub ledger_lines: usize,
    /// Its pairs as it was written: the digest of their hand-in, and their students in order.
    pub pairs: BTreeMap<String, PairWritten>,
    /// What the cells to fill in held when it was written; all others were empty.
    pub base: BTreeMap<Target, String>,
    /// What cells to fill in were started with for the marker, and nobody has entered.
    pub drafts: BTreeMap<Target, String>,
    /// Its cells to fill in, in reading order.
    pub cells: Vec<EntryCell>,
    /// Its rows of numbers that a marker typed.
    pub claims: Vec<TypedRow>,
}

/// More students than any pair has.
const MOST_STUDENTS: u32 = 64;

/// What a workbook says of a pair when it is written.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PairWritten {
    /// Digest of the hand-in; empty where there was none.
    pub hand_in: String,
    /// The students' ids in the order in which the workbook numbers them.
    pub students: Vec<String>,
}

/// One cell to fill in.
#[derive(Debug)]
pub struct EntryCell {
    /// What it is of; none where its row lacks the id, which matters only where something stands in the cell.
    pub target: Option<Target>,
    /// In which role the row says that it is entered; empty where it doesn't say.
    pub role: String,
    /// What stands in it; none for an empty cell.
    pub value: Option<Value>,
    /// Where it stands.
    pub place: Place,
}

/// Why a workbook can't be taken back.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// It can't be opened.
    #[error("{file}: {source}")]
    Open {
        /// The file.
        file: String,
        /// Why.
        source: OpenError,
    },
    /// It is none of ours.
    #[error(
        "{0}: this is none of the program's workbooks: no sheet has the columns of one (the hidden first row names them)"
    )]
    NotOurs(String),
    /// A later version wrote it.
    #[error(
        "{file}: this workbook was written by another version of the program (its layout is {layout}); take it back with that version"
    )]
    Layout {
        /// The file.
        file: String,
        /// Its layout.
        layout: String,
    },
    /// A sheet's headers are gone.
    #[error(
        "{place}: the hidden first row of this sheet was deleted, and its headers alone don't say which column is which. Put the row back from another copy \
         of the workbook"
    )]
    Garbled {
        /// The sheet.
        place: Place,
    },
}

/// What our own workbooks may take: they are as large as the cohort is.
fn limits() -> Limits {
    Limits {
        file_mib: 2_000,
        unpacked_mib: 20_000,
        cells: 200_000_000,
        rows: 20_000_000,
        seconds: 3_600,
        memory_mib: 20_000,
    }
}

impl Book {
    /// Reads a workbook. `file` is its name on the ledger and in messages.
    ///
    /// # Errors
    /// It can't be opened, is none of ours, or was changed so that its columns can't be told apart.
    pub fn read(bytes: &[u8], file: &str, layouts: &[Layout]) -> Result<Self, BookError> {
        let opened = open(bytes, file, &limits()).map_err(|source| BookError::Open {
            file: file.to_owned(),
            source,
        })?;
        let mut book = Self {
            file: file.to_owned(),
            ..Self::default()
        };
        let mut ours = false;
        for grid in &opened.grids {
            if is_written(grid) {
                book.take_written(grid)?;
                continue;
            }
            match recognise(grid, layouts) {
                Recognised::Ours(sheet) => {
                    ours = true;
                    book.take_sheet(&sheet);
                }
                Recognised::Garbled => {
                    return Err(BookError::Garbled {
                        place: sheet_place(grid),
                    });
                }
                Recognised::Other => {}
            }
        }
        if ours {
            Ok(book)
        } else {
            Err(BookError::NotOurs(file.to_owned()))
        }
    }

    fn take_written(&mut self, grid: &Grid) -> Result<(), BookError> {
        for row in 0..grid.rows() {
            let text = |column| {
                grid.get(row, column)
                    .map(|cell| shown(&cell.value))
                    .unwrap_or_default()
            };
            match text(0).as_str() {
                "layout" if text(1) != written::LAYOUT => {
                    return Err(BookError::Layout {
                        file: self.file.clone(),
                        layout: text(1),
                    });
                }
                "kind" => self.kind = text(1),
                "marker" => self.marker = text(1),
                "rubric" => self.rubric = text(1),
                "ledger lines" => self.ledger_lines = text(1).parse().unwrap_or_default(),
                "pair" => {
                    let pair = PairWritten {
                        hand_in: text(2),
                        students: (3..3 + MOST_STUDENTS)
                            .map(text)
                            .take_while(|id| !id.is_empty())
                            .collect(),
                    };
                    self.pairs.insert(text(1), pair);
                }
                "value" => take_written_value(&mut self.base, &text(2), &text(3), text(4)),
                "draft" => take_written_value(&mut self.drafts, &text(2), &text(3), text(4)),
                _ => {}
            }
        }
        Ok(())
    }

    fn take_sheet(&mut self, sheet: &OurSheet<'_>) {
        let ids: Vec<&str> = sheet
            .keys
            .iter()
            .map(|(_, key)| key.as_str())
            .filter(|key| ID_KEYS.contains(key))
            .collect();
        let entries: Vec<(u32, &str)> = sheet
            .keys
            .iter()
            .map(|(column, key)| (*column, key.as_str()))
            .filter(|(_, key)| target::is_entry(key, &ids))
            .collect();
        let typed = typed_claims::columns(&sheet.keys);
        for row in sheet.first_row..sheet.grid.rows() {
            if sheet.grid.row(row).is_empty() {
                continue;
            }
            if let Some(columns) = &typed {
                self.claims
                    .extend(typed_claims::row(sheet.grid, row, columns));
            }
            if entries.is_empty() {
                continue;
            }
            let ids = row_ids(sheet, row);
            for (column, key) in &entries {
                let value = sheet
                    .grid
                    .get(row, *column)
                    .map(|cell| &cell.value)
                    .filter(|value| !is_empty(value));
                let target = target::target(key, &ids);
                if target.is_none() && value.is_none() {
                    continue;
                }
                self.cells.push(EntryCell {
                    target,
                    role: ids.role.clone(),
                    value: value.cloned(),
                    place: sheet.grid.place(row, *column),
                });
            }
        }
    }
}

fn take_written_value(values: &mut BTreeMap<Target, String>, id: &str, key: &str, value: String) {
    if let Some(target) = target::of_written(id, key) {
        values.insert(target, value);
    }
}

fn row_ids(sheet: &OurSheet<'_>, row: u32) -> RowIds {
    let mut ids = RowIds::default();
    for (column, key) in &sheet.keys {
        if let Some(slot) = ids.slot(key)
            && let Some(cell) = sheet.grid.get(row, *column)
        {
            shown(&cell.value).trim().clone_into(slot);
        }
    }
    ids
}

/// The hidden sheet of what was written, under its own name or another.
fn is_written(grid: &Grid) -> bool {
    let text = |row| {
        grid.get(row, 0)
            .map(|cell| shown(&cell.value))
            .unwrap_or_default()
    };
    let by_name = matches!(&grid.source, Source::Sheet(name) if &**name == written::NAME);
    by_name || (text(0) == "layout" && text(1) == "kind")
}

fn sheet_place(grid: &Grid) -> Place {
    match &grid.source {
        Source::Sheet(name) => Place {
            file: grid.file.clone(),
            spot: crate::place::Spot::Sheet(name.clone()),
        },
        Source::Text { .. } => Place::file(grid.file.clone()),
    }
}
