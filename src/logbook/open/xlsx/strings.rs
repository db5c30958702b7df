//! The shared strings: every text of the workbook once.

use std::sync::Arc;

use crate::logbook::open::archive::{Archive, Entry, Part, Place};
use crate::logbook::open::cell_text::{raised, unescaped};
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::xml::{Event, LONGEST_TEXT, Xml, local, unescape};

/// The shared strings by number.
#[derive(Debug, Default)]
pub(in crate::logbook::open) struct Strings(Vec<Arc<str>>);

impl Strings {
    /// The string of that number.
    pub(in crate::logbook::open) fn get(&self, index: usize) -> Option<&Arc<str>> {
        self.0.get(index)
    }

    /// Adds the next string.
    pub(in crate::logbook::open) fn push(
        &mut self,
        text: &str,
        budget: &mut Budget,
    ) -> Result<(), OpenError> {
        budget.holds(size_of::<Arc<str>>())?;
        self.0.push(budget.keep_apart(text)?);
        Ok(())
    }
}

/// Reads the part with the shared strings.
pub(super) fn read(
    archive: &Archive<impl Place>,
    entry: &Entry,
    budget: &mut Budget,
) -> Result<Strings, OpenError> {
    let mut strings = Strings::default();
    archive.read(entry, budget.deadline(), |part| {
        let mut xml = Xml::new(part);
        let mut text = Vec::new();
        loop {
            match xml.next()? {
                Event::Start(tag) if local(tag.name) == b"si" => {
                    text.clear();
                    rich_text(&mut xml, &mut text)?;
                    strings.push(&unescaped(&text), budget)?;
                }
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    })?;
    Ok(strings)
}

/// Appends the text of the element that has just begun (`si` or `is`), runs joined, raised runs as superscripts, readings of East Asian
/// letters left out.
pub(super) fn rich_text(xml: &mut Xml<Part<'_>>, text: &mut Vec<u8>) -> Result<(), OpenError> {
    let mut depth = 1_u32;
    let mut is_raised = false;
    let mut in_text = false;
    let mut from = text.len();
    while depth > 0 {
        match xml.next()? {
            Event::Start(tag) => {
                match local(tag.name) {
                    b"rPh" => {
                        xml.skip()?;
                        continue;
                    }
                    b"r" => is_raised = false,
                    b"vertAlign" => is_raised = tag.attribute(b"val") == Some(b"superscript"),
                    b"t" => {
                        in_text = true;
                        from = text.len();
                    }
                    _ => {}
                }
                depth = depth.saturating_add(1);
            }
            Event::End(name) => {
                if in_text && local(name) == b"t" {
                    in_text = false;
                    if is_raised {
                        let run = String::from_utf8_lossy(text.get(from..).unwrap_or_default());
                        let run = raised(&run);
                        text.truncate(from);
                        text.extend_from_slice(run.as_bytes());
                    }
                }
                depth -= 1;
            }
            Event::Text(raw) if in_text => unescape(raw, text),
            Event::Literal(raw) if in_text => text.extend_from_slice(raw),
            Event::Eof => return Err(OpenError::ends_early()),
            _ => {}
        }
        if text.len() > LONGEST_TEXT {
            return Err(OpenError::LongCell);
        }
    }
    Ok(())
}
