//! Workbooks of Office Open XML (`.xlsx`, `.xlsm`, and their templates), read as a stream.
//!
//! Every part is unpacked and read once, front to back; nothing that the file declares of its size is believed. Source of the names of
//! elements and parts: ECMA-376-1, `SpreadsheetML`.

mod sheet;
mod strings;
mod styles;
mod workbook;

use std::sync::Arc;

use super::archive::{Archive, Place as Bytes};
use super::error::OpenError;
use super::limits::Budget;
use super::notice::Notice;
use crate::logbook::grid::Grid;

pub(super) use strings::Strings;
pub(super) use styles::MOST_STYLES;
pub(super) use workbook::{Layout, Related, SheetEntry, Workbook, layout, no_more_than_most};

/// Reads the sheets of a workbook.
pub(super) fn read(
    archive: &Archive<impl Bytes>,
    layout: &Layout,
    file: &Arc<str>,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Grid>, OpenError> {
    let workbook = workbook::read(archive, layout, budget.deadline())?;
    let styles = match archive.entry(&workbook.styles) {
        Some(entry) => styles::read(archive, entry, budget.deadline())?,
        None => Vec::new(),
    };
    let strings = match archive.entry(&workbook.strings) {
        Some(entry) => strings::read(archive, entry, budget)?,
        None => Strings::default(),
    };
    let mut grids = Vec::with_capacity(workbook.sheets.len());
    for sheet in &workbook.sheets {
        let entry = sheet.part.as_deref().and_then(|part| archive.entry(part));
        let Some(entry) = entry else {
            notices.push(Notice::sheet_not_read(file, &sheet.name));
            continue;
        };
        let context = sheet::Context {
            styles: &styles,
            strings: &strings,
            epoch: workbook.epoch,
        };
        let cells = sheet::read(archive, entry, &context, budget)?;
        grids.push(cells.finish(
            file.clone(),
            crate::logbook::grid::Source::Sheet(sheet.name.clone()),
            sheet.hidden,
        ));
    }
    Ok(grids)
}
