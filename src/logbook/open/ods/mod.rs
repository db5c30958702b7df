//! `OpenDocument` spreadsheets (`.ods`, `.fods`), read as a stream.
//!
//! Rows and columns that are declared as repeated are counted against the budget before they are made: the tail of empty rows that every
//! such file has costs nothing. Source of the names of elements: OASIS `OpenDocument` 1.3, part 3.

mod formula;
mod sheet;
mod styles;

use std::sync::Arc;

use super::archive::{Archive, Place};
use super::error::OpenError;
use super::limits::Budget;
use super::xml::{Chunks, Event, Xml};
use crate::logbook::grid::Grid;
use styles::Styles;

/// Reads the sheets of a packed spreadsheet.
pub(super) fn read(
    archive: &Archive<impl Place>,
    file: &Arc<str>,
    budget: &mut Budget,
) -> Result<Vec<Grid>, OpenError> {
    let deadline = budget.deadline();
    if let Some(manifest) = archive.entry("META-INF/manifest.xml")
        && archive.read(manifest, deadline, |part| is_encrypted(Xml::new(part)))?
    {
        return Err(OpenError::PasswordProtected);
    }
    let mut styles = Styles::default();
    // The common styles that those of the content build upon.
    if let Some(entry) = archive.entry("styles.xml") {
        archive.read(entry, deadline, |part| {
            content(Xml::new(part), &mut styles, file, budget)
        })?;
    }
    let entry = archive
        .entry("content.xml")
        .ok_or(OpenError::damaged("its content is missing"))?;
    archive.read(entry, deadline, |part| {
        content(Xml::new(part), &mut styles, file, budget)
    })
}

/// Reads the sheets of a spreadsheet in one XML file.
pub(super) fn read_flat(
    bytes: &[u8],
    file: &Arc<str>,
    budget: &mut Budget,
) -> Result<Vec<Grid>, OpenError> {
    content(Xml::new(bytes), &mut Styles::default(), file, budget)
}

fn is_encrypted(mut xml: Xml<impl Chunks>) -> Result<bool, OpenError> {
    loop {
        match xml.next()? {
            Event::Start(tag) if tag.name == b"manifest:encryption-data" => return Ok(true),
            Event::Eof => return Ok(false),
            _ => {}
        }
    }
}

/// Reads styles and sheets as they come: styles stand before the sheets that use them.
fn content(
    mut xml: Xml<impl Chunks>,
    styles: &mut Styles,
    file: &Arc<str>,
    budget: &mut Budget,
) -> Result<Vec<Grid>, OpenError> {
    let mut grids = Vec::new();
    loop {
        match xml.next()? {
            Event::Start(tag) => match tag.name {
                b"style:style" | b"style:default-style" => {
                    let style = styles::begin(&tag);
                    styles.read_style(style, &mut xml)?;
                }
                b"number:number-style"
                | b"number:percentage-style"
                | b"number:currency-style"
                | b"number:date-style"
                | b"number:time-style" => {
                    let format = styles::begin_format(&tag);
                    styles.read_format(format, &mut xml)?;
                }
                b"table:table" => {
                    super::xlsx::no_more_than_most(grids.len())?;
                    let head = sheet::head(&tag);
                    grids.push(sheet::read(&mut xml, &head, styles, file, budget)?);
                }
                // What was changed or deleted holds cells of its own, links to other programs tables; master pages hold tables of their own.
                b"table:tracked-changes"
                | b"table:dde-links"
                | b"office:master-styles"
                | b"office:scripts" => {
                    xml.skip()?;
                }
                _ => {}
            },
            Event::Eof => return Ok(grids),
            _ => {}
        }
    }
}
