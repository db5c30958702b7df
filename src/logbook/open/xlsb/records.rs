//! The records that a binary part is a sequence of.

use crate::logbook::open::archive::Part;
use crate::logbook::open::binary::Bytes;
use crate::logbook::open::error::OpenError;
use crate::logbook::open::xml::Chunks;

/// A walk over the records of a part, as it is unpacked.
pub(super) struct Records<'a> {
    part: Part<'a>,
    buffer: Vec<u8>,
    at: usize,
    end: usize,
    over: bool,
}

/// The window at first.
const WINDOW: usize = 64 << 10;
/// The longest record that is still read: a cell's text is far shorter.
const LONGEST: usize = 4 << 20;

impl<'a> Records<'a> {
    pub(super) fn new(part: Part<'a>) -> Self {
        Self {
            part,
            buffer: vec![0; WINDOW],
            at: 0,
            end: 0,
            over: false,
        }
    }

    /// The next record's number and content; none at the end of the part.
    pub(super) fn next(&mut self) -> Result<Option<(u16, Bytes<'_>)>, OpenError> {
        // Number and length take six bytes at most.
        self.have(6)?;
        if self.at == self.end {
            return Ok(None);
        }
        let first = self.byte()?;
        let id = if first & 0x80 == 0 {
            u16::from(first)
        } else {
            u16::from(first & 0x7f) | u16::from(self.byte()? & 0x7f) << 7
        };
        let mut length = 0_usize;
        for shift in [0, 7, 14, 21] {
            let byte = self.byte()?;
            length |= usize::from(byte & 0x7f) << shift;
            if byte & 0x80 == 0 {
                break;
            }
        }
        if length > LONGEST {
            return Err(OpenError::damaged("a record in it is far too long"));
        }
        self.have(length)?;
        let from = self.at;
        let data = self
            .buffer
            .get(from..from + length)
            .filter(|_| from + length <= self.end)
            .ok_or_else(OpenError::ends_early)?;
        self.at += length;
        Ok(Some((id, Bytes(data))))
    }

    fn byte(&mut self) -> Result<u8, OpenError> {
        let byte = self.buffer.get(self.at).filter(|_| self.at < self.end);
        let byte = *byte.ok_or_else(OpenError::ends_early)?;
        self.at += 1;
        Ok(byte)
    }

    /// Reads until so many bytes are there, or all are.
    fn have(&mut self, length: usize) -> Result<(), OpenError> {
        while self.end - self.at < length && !self.over {
            self.buffer.copy_within(self.at..self.end, 0);
            self.end -= self.at;
            self.at = 0;
            if self.buffer.len() < length {
                self.buffer.resize(length, 0);
            }
            let read = self
                .part
                .read(self.buffer.get_mut(self.end..).unwrap_or_default())?;
            self.end += read;
            self.over = read == 0;
        }
        Ok(())
    }
}
