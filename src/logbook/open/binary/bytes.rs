//! Reading numbers and texts off the front of a record.

use crate::logbook::open::error::OpenError;

/// What is left of a record.
#[derive(Debug, Clone, Copy)]
pub(in crate::logbook::open) struct Bytes<'a>(pub(in crate::logbook::open) &'a [u8]);

impl<'a> Bytes<'a> {
    /// The next bytes.
    pub(in crate::logbook::open) fn take(&mut self, length: usize) -> Result<&'a [u8], OpenError> {
        let (taken, rest) = self
            .0
            .split_at_checked(length)
            .ok_or(OpenError::damaged("a record in it is too short"))?;
        self.0 = rest;
        Ok(taken)
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], OpenError> {
        let taken = self.take(N)?;
        taken
            .try_into()
            .map_err(|_| OpenError::damaged("a record in it is too short"))
    }

    pub(in crate::logbook::open) fn u8(&mut self) -> Result<u8, OpenError> {
        self.array::<1>().map(|[byte]| byte)
    }

    pub(in crate::logbook::open) fn u16(&mut self) -> Result<u16, OpenError> {
        self.array().map(u16::from_le_bytes)
    }

    pub(in crate::logbook::open) fn u32(&mut self) -> Result<u32, OpenError> {
        self.array().map(u32::from_le_bytes)
    }

    pub(in crate::logbook::open) fn f64(&mut self) -> Result<f64, OpenError> {
        self.array().map(f64::from_le_bytes)
    }

    /// A text of so many characters of two bytes.
    pub(in crate::logbook::open) fn wide(
        &mut self,
        characters: usize,
    ) -> Result<String, OpenError> {
        let bytes = self.take(characters.saturating_mul(2))?;
        Ok(wide(bytes))
    }

    /// A text of two-byte characters, with its length in four bytes before it.
    pub(in crate::logbook::open) fn counted_wide(&mut self) -> Result<String, OpenError> {
        let characters = self.u32()?;
        self.wide(usize::try_from(characters).unwrap_or(usize::MAX))
    }
}

/// Text of two-byte characters.
pub(in crate::logbook::open) fn wide(bytes: &[u8]) -> String {
    let units = bytes
        .as_chunks::<2>()
        .0
        .iter()
        .map(|pair| u16::from_le_bytes(*pair));
    char::decode_utf16(units)
        .map(|unit| unit.unwrap_or(char::REPLACEMENT_CHARACTER))
        .collect()
}
