//! Workbooks of Excel 5 to 2003 (`.xls`).
//!
//! An own reader, as the format invites accidents: its libraries believe the sizes that a file declares. Source: \[MS-XLS\].

mod compound;
mod records;
mod sheet;
mod strings;

use std::sync::Arc;

use super::binary::{Bytes, Sheets};
use super::cell_text::sheet_name;
use super::error::OpenError;
use super::limits::Budget;
use super::notice::Notice;
use super::number_format::{NumberFormat, built_in, of_code};
use super::serial_date::Epoch;
use super::xlsx::Strings;
use crate::logbook::grid::{Grid, Source};
use compound::Compound;
use records::Records;
use strings::Form;

/// Reads the sheets of a workbook in a compound file, or names what else the compound file is.
pub(super) fn read_compound(
    bytes: &[u8],
    file: &Arc<str>,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Grid>, OpenError> {
    // Its chains and the workbook's own stream are copies.
    budget.holds(bytes.len())?;
    let compound = Compound::new(bytes)?;
    for name in ["Workbook", "Book"] {
        if let Some(stream) = compound.stream(name)? {
            return read(&stream, file, budget, notices);
        }
    }
    if compound.has("EncryptedPackage") || compound.has("EncryptionInfo") {
        return Err(OpenError::PasswordProtected);
    }
    Err(OpenError::NotALogbook {
        what: if compound.has("WordDocument") {
            "a Word document"
        } else if compound.has("PowerPoint Document") {
            "a presentation"
        } else {
            "an old Office file without a workbook in it"
        },
    })
}

/// A workbook's own records.
#[derive(Debug)]
struct Workbook {
    form: Form,
    epoch: Epoch,
    sheets: Vec<SheetEntry>,
    /// Number formats by cell style.
    styles: Vec<NumberFormat>,
    strings: Strings,
    /// The sheets that formulas name.
    named: Sheets,
}

#[derive(Debug)]
struct SheetEntry {
    name: Arc<str>,
    hidden: bool,
    worksheet: bool,
    offset: u32,
}

const BOF: u16 = 0x809;
const EOF: u16 = 0x0a;
const GLOBALS: u16 = 0x05;

/// Reads the sheets of a workbook's stream.
pub(super) fn read(
    stream: &[u8],
    file: &Arc<str>,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Grid>, OpenError> {
    let workbook = globals(stream, budget)?;
    let mut grids = Vec::new();
    for entry in &workbook.sheets {
        let cells = if entry.worksheet {
            sheet::read(stream, entry.offset, &workbook, budget)?
        } else {
            None
        };
        match cells {
            Some(cells) => {
                let source = Source::Sheet(entry.name.clone());
                grids.push(cells.finish(file.clone(), source, entry.hidden));
            }
            None => notices.push(Notice::sheet_not_read(file, &entry.name)),
        }
    }
    Ok(grids)
}

/// The version and the kind of what begins with this record.
fn beginning(data: &[u8]) -> Result<(u16, u16), OpenError> {
    let mut rest = Bytes(data);
    Ok((rest.u16()?, rest.u16()?))
}

fn globals(stream: &[u8], budget: &mut Budget) -> Result<Workbook, OpenError> {
    let mut records = Records::from(stream, 0)?;
    let first = records.next()?.ok_or_else(OpenError::ends_early)?;
    let marked = match (first.id, beginning(first.data)?) {
        (BOF, (0x600, GLOBALS)) => true,
        (BOF, (0x500, GLOBALS)) => false,
        _ => return Err(OpenError::TooOld),
    };
    let mut workbook = Workbook {
        form: Form::new(marked),
        epoch: Epoch::Of1900,
        sheets: Vec::new(),
        styles: Vec::new(),
        strings: Strings::default(),
        named: Sheets::new(),
    };
    let mut codes: Vec<(u16, NumberFormat)> = Vec::new();
    let mut raised_fonts = Vec::new();
    let mut own_books = Vec::new();
    let mut named = Vec::new();
    while let Some(record) = records.next()? {
        let mut rest = Bytes(record.data);
        match record.id {
            EOF => break,
            // FILEPASS: what follows is encrypted.
            0x2f => return Err(OpenError::PasswordProtected),
            // DATEMODE
            0x22 => {
                let from_1904 = rest.u16()? == 1;
                workbook.epoch = if from_1904 {
                    Epoch::Of1904
                } else {
                    Epoch::Of1900
                };
            }
            0x42 => workbook.form.set_code_page(rest.u16()?),
            // FONT: raised, as far as footnotes are marked by it.
            0x31 => {
                rest.take(8)?;
                raised_fonts.push(rest.u16()? == 1);
            }
            // FORMAT
            0x41e => {
                let id = rest.u16()?;
                let code = if marked {
                    workbook.form.long(&mut rest)?
                } else {
                    workbook.form.short(&mut rest)?
                };
                codes.push((id, of_code(&code)));
            }
            // XF
            0xe0 => {
                rest.u16()?;
                let id = rest.u16()?;
                let own = codes.iter().find(|(known, _)| *known == id);
                workbook
                    .styles
                    .push(own.map_or_else(|| built_in(u32::from(id)), |(_, format)| *format));
            }
            // BOUNDSHEET
            0x85 => {
                let offset = rest.u32()?;
                let state = rest.u8()?;
                let kind = rest.u8()?;
                super::xlsx::no_more_than_most(workbook.sheets.len())?;
                workbook.sheets.push(SheetEntry {
                    name: sheet_name(&workbook.form.short(&mut rest)?),
                    hidden: state & 3 != 0,
                    worksheet: kind == 0,
                    offset,
                });
            }
            // SUPBOOK: this workbook itself has a mark of its own.
            0x1ae => {
                rest.u16()?;
                own_books.push(rest.u16().is_ok_and(|mark| mark == 0x0401));
            }
            // EXTERNSHEET
            0x17 if marked => {
                let many = rest.u16()?;
                for _ in 0..many {
                    let (book, first) = (rest.u16()?, rest.u16()?);
                    rest.u16()?;
                    named.push((usize::from(book), usize::from(first)));
                }
            }
            // SST
            0xfc => {
                let more = records.continued()?;
                workbook.strings = strings::shared(record.data, &more, &raised_fonts, budget)?;
            }
            _ => {}
        }
    }
    workbook.named = named
        .into_iter()
        .map(|(book, sheet)| {
            let own = own_books.get(book).copied().unwrap_or(false);
            workbook
                .sheets
                .get(sheet)
                .filter(|_| own)
                .map(|sheet| sheet.name.clone())
        })
        .collect();
    Ok(workbook)
}
