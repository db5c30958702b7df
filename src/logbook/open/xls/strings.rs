//! Texts of old workbooks: the shared ones, which run on over several records, and single ones.

use encoding_rs::{Encoding, MACINTOSH, WINDOWS_1252};

use super::Bytes;
use crate::logbook::open::cell_text::raised;
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::xlsx::Strings;

/// How the texts of a workbook are kept.
#[derive(Debug, Clone, Copy)]
pub(super) struct Form {
    /// From 97 on: with a mark for one or two bytes a character.
    pub(super) marked: bool,
    encoding: &'static Encoding,
}

impl Form {
    /// The form of a workbook's version.
    pub(super) fn new(marked: bool) -> Self {
        Self {
            marked,
            encoding: WINDOWS_1252,
        }
    }

    /// Takes the code page that the workbook names.
    pub(super) fn set_code_page(&mut self, code_page: u16) {
        const MAC: [u16; 2] = [10_000, 0x8000];
        if MAC.contains(&code_page) {
            self.encoding = MACINTOSH;
        }
    }

    /// A text with its length in two bytes before it.
    pub(super) fn long(self, rest: &mut Bytes<'_>) -> Result<String, OpenError> {
        let length = usize::from(rest.u16()?);
        self.of_length(rest, length)
    }

    /// A text with its length in one byte before it.
    pub(super) fn short(self, rest: &mut Bytes<'_>) -> Result<String, OpenError> {
        let length = usize::from(rest.u8()?);
        self.of_length(rest, length)
    }

    fn of_length(self, rest: &mut Bytes<'_>, length: usize) -> Result<String, OpenError> {
        if !self.marked {
            let bytes = rest.take(length)?;
            let (text, _) = self.encoding.decode_without_bom_handling(bytes);
            return Ok(text.into_owned());
        }
        if rest.u8()? & WIDE == 0 {
            Ok(rest.take(length)?.iter().copied().map(char::from).collect())
        } else {
            rest.wide(length)
        }
    }
}

const WIDE: u8 = 1;
const EXTENDED: u8 = 4;
const RICH: u8 = 8;

/// Reads the shared strings from their record and those that continue it. `raised_fonts` are the fonts of raised letters.
pub(super) fn shared(
    first: &[u8],
    more: &[&[u8]],
    raised_fonts: &[bool],
    budget: &mut Budget,
) -> Result<Strings, OpenError> {
    let mut strings = Strings::default();
    let mut rest = Bytes(first);
    rest.u32()?;
    let many = rest.u32()?;
    let mut pieces = Pieces { rest, more };
    for index in 0..many {
        if index.is_multiple_of(1_024) {
            budget.deadline().check()?;
        }
        let text = pieces.string(raised_fonts)?;
        strings.push(&text, budget)?;
    }
    Ok(strings)
}

/// The content of several records as one.
struct Pieces<'a, 'p> {
    rest: Bytes<'a>,
    more: &'p [&'a [u8]],
}

impl Pieces<'_, '_> {
    fn next_piece(&mut self) -> Result<(), OpenError> {
        let (first, more) = self
            .more
            .split_first()
            .ok_or(OpenError::damaged("its texts end too early"))?;
        self.rest = Bytes(first);
        self.more = more;
        Ok(())
    }

    /// Bytes that may be cut between records anywhere.
    fn take(&mut self, mut length: usize, mut keep: impl FnMut(&[u8])) -> Result<(), OpenError> {
        while length > 0 {
            if self.rest.0.is_empty() {
                self.next_piece()?;
                continue;
            }
            let now = length.min(self.rest.0.len());
            keep(self.rest.take(now)?);
            length -= now;
        }
        Ok(())
    }

    fn bytes<const N: usize>(&mut self) -> Result<[u8; N], OpenError> {
        let mut bytes = [0; N];
        let mut at = 0;
        self.take(N, |piece| {
            if let Some(into) = bytes.get_mut(at..at + piece.len()) {
                into.copy_from_slice(piece);
            }
            at += piece.len();
        })?;
        Ok(bytes)
    }

    fn string(&mut self, raised_fonts: &[bool]) -> Result<String, OpenError> {
        let length = usize::from(u16::from_le_bytes(self.bytes()?));
        let [flags] = self.bytes()?;
        let runs = match flags & RICH {
            0 => 0,
            _ => usize::from(u16::from_le_bytes(self.bytes()?)),
        };
        let extension = match flags & EXTENDED {
            0 => 0,
            _ => u32::from_le_bytes(self.bytes()?),
        };
        let units = self.characters(length, flags & WIDE != 0)?;
        let mut starts = Vec::new();
        for _ in 0..runs {
            let from = u16::from_le_bytes(self.bytes()?);
            let font = u16::from_le_bytes(self.bytes()?);
            starts.push((usize::from(from), usize::from(font)));
        }
        self.take(usize::try_from(extension).unwrap_or(usize::MAX), |_| ())?;
        Ok(with_runs(&units, &starts, raised_fonts))
    }

    /// Characters; where they go on in another record, that begins with their width anew.
    fn characters(&mut self, length: usize, mut wide: bool) -> Result<Vec<u16>, OpenError> {
        let mut units = Vec::with_capacity(length);
        while units.len() < length {
            if self.rest.0.is_empty() {
                self.next_piece()?;
                wide = self.rest.u8()? & WIDE != 0;
            }
            if wide {
                let fits = (self.rest.0.len() / 2).min(length - units.len());
                if fits == 0 {
                    return Err(OpenError::damaged("its texts are cut in two"));
                }
                let bytes = self.rest.take(fits * 2)?;
                units.extend(
                    bytes
                        .as_chunks::<2>()
                        .0
                        .iter()
                        .map(|pair| u16::from_le_bytes(*pair)),
                );
            } else {
                let fits = self.rest.0.len().min(length - units.len());
                units.extend(self.rest.take(fits)?.iter().copied().map(u16::from));
            }
        }
        Ok(units)
    }
}

/// The text, runs of raised letters as superscripts.
fn with_runs(units: &[u16], starts: &[(usize, usize)], raised_fonts: &[bool]) -> String {
    let is_raised = |font: usize| {
        // There is no font number 4: the ones above are one further on.
        let index = if font > 4 { font - 1 } else { font };
        raised_fonts.get(index).copied().unwrap_or(false)
    };
    if !starts.iter().any(|(_, font)| is_raised(*font)) {
        return String::from_utf16_lossy(units);
    }
    let mut text = String::new();
    let mut from = 0;
    let mut up = false;
    for (start, font) in starts.iter().copied().chain([(units.len(), 0)]) {
        let run = String::from_utf16_lossy(units.get(from..start).unwrap_or_default());
        text.push_str(&if up { raised(&run) } else { run });
        from = start.max(from);
        up = is_raised(font);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::open::limits::Limits;

    #[test]
    fn a_text_goes_on_in_the_next_record_in_another_width() {
        // Two texts: "abcd" cut after two letters and going on with two bytes a letter, then "3²" with a raised run.
        let first = [
            &2_u32.to_le_bytes()[..],
            &2_u32.to_le_bytes(),
            &[4, 0, 0],
            b"ab",
        ]
        .concat();
        let more = [&[1][..], b"c\0d\0", &[2, 0, 8, 1, 0], b"32", &[1, 0, 5, 0]].concat();
        let fonts = [false, false, false, false, true];
        let mut budget = Budget::new(&Limits::default());
        let strings = shared(&first, &[&more], &fonts, &mut budget).unwrap();
        assert_eq!(strings.get(0).map(|text| &**text), Some("abcd"));
        assert_eq!(strings.get(1).map(|text| &**text), Some("3²"));
        assert!(shared(&first, &[], &fonts, &mut budget).is_err());
    }
}
