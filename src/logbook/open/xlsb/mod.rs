//! Office Open XML workbooks in binary form (`.xlsb`). Source: \[MS-XLSB\].

mod records;
mod sheet;

use std::sync::Arc;

use super::archive::{Archive, Place as Bytes};
use super::binary::Sheets;
use super::cell_text::{raised, sheet_name};
use super::error::OpenError;
use super::limits::{Budget, Deadline};
use super::notice::Notice;
use super::number_format::{NumberFormat, built_in, of_code};
use super::serial_date::Epoch;
use super::xlsx::{Layout, MOST_STYLES, Related, SheetEntry, Strings, Workbook, no_more_than_most};
use crate::logbook::grid::{Grid, Source};
use records::Records;

/// Reads the sheets of a workbook.
pub(super) fn read(
    archive: &Archive<impl Bytes>,
    layout: &Layout,
    file: &Arc<str>,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<Vec<Grid>, OpenError> {
    let (workbook, named) = read_workbook(archive, layout, budget.deadline())?;
    let styles = match archive.entry(&workbook.styles) {
        Some(entry) => archive.read(entry, budget.deadline(), |part| {
            read_styles(Records::new(part))
        })?,
        None => Styles::default(),
    };
    let strings = match archive.entry(&workbook.strings) {
        Some(entry) => archive.read(entry, budget.deadline(), |part| {
            read_strings(Records::new(part), &styles.raised_fonts, budget)
        })?,
        None => Strings::default(),
    };
    let context = sheet::Context {
        styles: &styles.formats,
        strings: &strings,
        epoch: workbook.epoch,
        named: &named,
    };
    let mut grids = Vec::new();
    for entry in &workbook.sheets {
        let part = entry.part.as_deref().and_then(|part| archive.entry(part));
        let Some(part) = part else {
            notices.push(Notice::sheet_not_read(file, &entry.name));
            continue;
        };
        let cells = archive.read(part, budget.deadline(), |part| {
            sheet::read(Records::new(part), &context, budget)
        })?;
        let source = Source::Sheet(entry.name.clone());
        grids.push(cells.finish(file.clone(), source, entry.hidden));
    }
    Ok(grids)
}

/// The workbook, and the sheets that its formulas name.
fn read_workbook(
    archive: &Archive<impl Bytes>,
    layout: &Layout,
    deadline: Deadline,
) -> Result<(Workbook, Sheets), OpenError> {
    let related = Related::read(archive, layout, "bin", deadline)?;
    let entry = archive
        .entry(&layout.part)
        .ok_or(OpenError::damaged("its list of sheets is missing"))?;
    let mut sheets: Vec<SheetEntry> = Vec::new();
    let mut epoch = Epoch::Of1900;
    let mut books = Vec::new();
    let mut named = Vec::new();
    archive.read(entry, deadline, |part| {
        let mut records = Records::new(part);
        while let Some((id, mut rest)) = records.next()? {
            match id {
                // BrtWbProp
                153 if rest.u32()? & 1 != 0 => epoch = Epoch::Of1904,
                // BrtBundleSh
                156 => {
                    let state = rest.u32()?;
                    rest.u32()?;
                    let relation = rest.counted_wide()?;
                    sheets.push(SheetEntry {
                        name: sheet_name(&rest.counted_wide()?),
                        hidden: state != 0,
                        part: related.worksheet(&relation),
                    });
                    no_more_than_most(sheets.len())?;
                }
                // BrtSupBookSrc, BrtSupSelf, BrtSupSame, BrtSupAddin: the second is this workbook.
                355 | 358 | 667 => books.push(false),
                357 => books.push(true),
                // BrtExternSheet
                362 => {
                    let many = rest.u32()?;
                    for _ in 0..many.min(65_536) {
                        let (book, first) = (rest.u32()?, rest.u32()?);
                        rest.u32()?;
                        named.push((book as usize, first as usize));
                    }
                }
                _ => {}
            }
        }
        Ok(())
    })?;
    let named = named
        .into_iter()
        .map(|(book, sheet)| {
            let own = books.get(book).copied().unwrap_or(false);
            let sheet = sheets.get(sheet).filter(|_| own)?;
            Some(sheet.name.clone())
        })
        .collect();
    let workbook = Workbook {
        sheets,
        styles: related.styles,
        strings: related.strings,
        epoch,
    };
    Ok((workbook, named))
}

#[derive(Debug, Default)]
struct Styles {
    formats: Vec<NumberFormat>,
    raised_fonts: Vec<bool>,
}

fn read_styles(mut records: Records<'_>) -> Result<Styles, OpenError> {
    let mut styles = Styles::default();
    let mut codes: Vec<(u16, NumberFormat)> = Vec::new();
    let mut in_styles = false;
    while let Some((id, mut rest)) = records.next()? {
        match id {
            // BrtFont
            43 if styles.raised_fonts.len() < MOST_STYLES => {
                rest.take(6)?;
                styles.raised_fonts.push(rest.u16()? == 1);
            }
            // BrtFmt
            44 if codes.len() < MOST_STYLES => {
                let id = rest.u16()?;
                codes.push((id, of_code(&rest.counted_wide()?)));
            }
            // BrtBeginCellXFs, BrtEndCellXFs
            617 => in_styles = true,
            618 => break,
            // BrtXF
            47 if in_styles && styles.formats.len() < MOST_STYLES => {
                rest.u16()?;
                let id = rest.u16()?;
                let own = codes.iter().find(|(known, _)| *known == id);
                let format = own.map_or_else(|| built_in(u32::from(id)), |(_, format)| *format);
                styles.formats.push(format);
            }
            _ => {}
        }
    }
    Ok(styles)
}

fn read_strings(
    mut records: Records<'_>,
    raised_fonts: &[bool],
    budget: &mut Budget,
) -> Result<Strings, OpenError> {
    const RICH: u8 = 1;
    let mut strings = Strings::default();
    while let Some((id, mut rest)) = records.next()? {
        // BrtSSTItem
        if id != 19 {
            continue;
        }
        let flags = rest.u8()?;
        let mut text = rest.counted_wide()?;
        if flags & RICH != 0 {
            let mut runs = Vec::new();
            for _ in 0..rest.u32()?.min(32_767) {
                runs.push((usize::from(rest.u16()?), usize::from(rest.u16()?)));
            }
            text = with_runs(&text, &runs, raised_fonts);
        }
        strings.push(&text, budget)?;
    }
    Ok(strings)
}

/// The text, runs of raised letters as superscripts. Runs count in units of two bytes.
fn with_runs(text: &str, runs: &[(usize, usize)], raised_fonts: &[bool]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for character in text.chars() {
        let font = runs
            .iter()
            .rfind(|(from, _)| *from <= at)
            .and_then(|(_, font)| raised_fonts.get(*font));
        if font.copied().unwrap_or(false) {
            out.push_str(&raised(character.encode_utf8(&mut [0; 4])));
        } else {
            out.push(character);
        }
        at += character.len_utf16();
    }
    out
}
