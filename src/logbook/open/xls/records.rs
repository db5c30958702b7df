//! The records that an old workbook is a sequence of.

use super::Bytes;
use crate::logbook::open::error::OpenError;

/// One record: its number and its content.
#[derive(Debug, Clone, Copy)]
pub(super) struct Record<'a> {
    pub(super) id: u16,
    pub(super) data: &'a [u8],
}

/// A walk over records.
#[derive(Debug, Clone)]
pub(super) struct Records<'a> {
    rest: Bytes<'a>,
}

/// The record that goes on where the one before it was too long.
const CONTINUED: u16 = 0x3c;

impl<'a> Records<'a> {
    /// The records from an offset of the stream on.
    pub(super) fn from(stream: &'a [u8], offset: usize) -> Result<Self, OpenError> {
        let rest = stream.get(offset..).ok_or_else(OpenError::ends_early)?;
        Ok(Self { rest: Bytes(rest) })
    }

    /// The next record; none at the end of the stream.
    pub(super) fn next(&mut self) -> Result<Option<Record<'a>>, OpenError> {
        // Streams are filled up with zeros.
        if self.rest.0.len() < 4 {
            return Ok(None);
        }
        let id = self.rest.u16()?;
        let length = usize::from(self.rest.u16()?);
        let data = self.rest.take(length)?;
        Ok(Some(Record { id, data }))
    }

    /// The contents of the records that continue the one just read.
    pub(super) fn continued(&mut self) -> Result<Vec<&'a [u8]>, OpenError> {
        let mut all = Vec::new();
        loop {
            let before = self.rest;
            match self.next()? {
                Some(record) if record.id == CONTINUED => all.push(record.data),
                _ => {
                    self.rest = before;
                    return Ok(all);
                }
            }
        }
    }
}
