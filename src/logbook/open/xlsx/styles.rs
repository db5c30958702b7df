//! Cell styles, as far as they say how numbers are shown.

use std::collections::HashMap;

use crate::logbook::open::archive::{Archive, Entry, Place};
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Deadline;
use crate::logbook::open::number_format::{NumberFormat, built_in, of_code};
use crate::logbook::open::xml::{Event, Xml, local, plain};

/// Most cell styles that a workbook can have.
pub(in crate::logbook::open) const MOST_STYLES: usize = 65_536;

/// The number format of every cell style, by the style's number.
pub(super) fn read(
    archive: &Archive<impl Place>,
    entry: &Entry,
    deadline: Deadline,
) -> Result<Vec<NumberFormat>, OpenError> {
    archive.read(entry, deadline, |part| {
        let mut xml = Xml::new(part);
        let mut codes: HashMap<u32, NumberFormat> = HashMap::new();
        let mut styles = Vec::new();
        let mut in_styles = false;
        loop {
            match xml.next()? {
                Event::Start(tag) => match local(tag.name) {
                    b"numFmt" if codes.len() < MOST_STYLES => {
                        let id = tag.attribute(b"numFmtId").and_then(number);
                        let code = tag.attribute(b"formatCode");
                        if let (Some(id), Some(code)) = (id, code) {
                            codes.insert(id, of_code(&plain(code)));
                        }
                    }
                    b"cellXfs" => in_styles = true,
                    b"xf" if in_styles && styles.len() < MOST_STYLES => {
                        let id = tag.attribute(b"numFmtId").and_then(number).unwrap_or(0);
                        styles.push(codes.get(&id).copied().unwrap_or_else(|| built_in(id)));
                    }
                    _ => {}
                },
                // Formats come before the styles that use them, and nothing of use comes after.
                Event::End(name) if local(name) == b"cellXfs" => return Ok(styles),
                Event::Eof => return Ok(styles),
                _ => {}
            }
        }
    })
}

/// A whole number of an attribute.
pub(super) fn number(value: &[u8]) -> Option<u32> {
    std::str::from_utf8(value).ok()?.trim().parse().ok()
}
