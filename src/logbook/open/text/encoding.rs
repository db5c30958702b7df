//! Which encoding a text file is in, and the text.
//!
//! A byte order mark settles it; then the pattern of zero bytes of UTF-16; then whether it is UTF-8. What is left is one of the two
//! encodings of older programs, told apart by what the letters beyond ASCII would be beside their neighbours.

use std::borrow::Cow;

use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use encoding_rs::{Encoding, MACINTOSH, UTF_8, UTF_16BE, UTF_16LE, WINDOWS_1252};

/// A text file's text.
#[derive(Debug)]
pub(in crate::logbook::open) struct Decoded<'a> {
    /// The text without its mark.
    pub(in crate::logbook::open) text: Cow<'a, str>,
    /// The encoding's name, where nothing in the file settles it.
    pub(in crate::logbook::open) guessed: Option<&'static str>,
    /// Some bytes were no characters of the encoding.
    pub(in crate::logbook::open) unreadable: bool,
}

/// The text of a file's bytes. A text in another encoding than UTF-8 becomes a copy, which is counted before it is made.
pub(in crate::logbook::open) fn decode<'a>(
    bytes: &'a [u8],
    budget: &mut Budget,
) -> Result<Decoded<'a>, OpenError> {
    let (encoding, length, guessed) = match Encoding::for_bom(bytes) {
        Some((encoding, length)) => (encoding, length, None),
        None => match utf_16(bytes) {
            Some(encoding) => (encoding, 0, None),
            None if is_utf_8(bytes) => (UTF_8, 0, None),
            None => {
                let (encoding, name) = of_older_programs(bytes);
                (encoding, 0, Some(name))
            }
        },
    };
    let rest = bytes.get(length..).unwrap_or_default();
    if encoding != UTF_8 || std::str::from_utf8(rest).is_err() {
        // Two bytes become three letters at most.
        budget.holds(rest.len().saturating_mul(3))?;
    }
    let (text, unreadable) = encoding.decode_without_bom_handling(rest);
    Ok(Decoded {
        text,
        guessed,
        unreadable,
    })
}

/// UTF-8, or so nearly that a few torn characters don't speak for another encoding: one in twenty beyond ASCII.
fn is_utf_8(bytes: &[u8]) -> bool {
    let mut sound = 0_usize;
    let mut torn = 0_usize;
    for chunk in bytes.utf8_chunks() {
        sound += chunk.valid().chars().filter(|c| !c.is_ascii()).count();
        torn += usize::from(!chunk.invalid().is_empty());
    }
    torn * 20 <= sound
}

/// Text in UTF-16 has a zero in every other byte wherever its characters are those of ASCII.
fn utf_16(bytes: &[u8]) -> Option<&'static Encoding> {
    let sample = bytes.get(..bytes.len().min(4_096)).unwrap_or_default();
    let pairs = sample.len() / 2;
    let zeros = |parity: usize| {
        sample
            .iter()
            .skip(parity)
            .step_by(2)
            .filter(|byte| **byte == 0)
            .count()
    };
    let (even, odd) = (zeros(0), zeros(1));
    // Most characters of a table are digits, delimiters and line ends.
    let most = pairs * 6 / 10;
    if pairs < 2 {
        None
    } else if odd > most && even * 10 < odd {
        Some(UTF_16LE)
    } else if even > most && odd * 10 < even {
        Some(UTF_16BE)
    } else {
        None
    }
}

/// Windows-1252 or Mac Roman.
fn of_older_programs(bytes: &[u8]) -> (&'static Encoding, &'static str) {
    if likeliness(bytes, MACINTOSH) > likeliness(bytes, WINDOWS_1252) {
        (MACINTOSH, "Mac Roman")
    } else {
        (WINDOWS_1252, "Windows-1252")
    }
}

/// How well the characters beyond ASCII go with their neighbours in an encoding: letters among letters and of their case, marks elsewhere.
fn likeliness(bytes: &[u8], encoding: &'static Encoding) -> i32 {
    let at = |index: Option<usize>| index.and_then(|index| bytes.get(index)).copied();
    let mut sum = 0_i32;
    let high = bytes
        .iter()
        .enumerate()
        .filter(|(_, byte)| !byte.is_ascii())
        .take(1_000);
    for (index, byte) in high {
        let before = at(index.checked_sub(1)).map_or(' ', char::from);
        let after = at(index.checked_add(1)).map_or(' ', char::from);
        let (text, _) = encoding.decode_without_bom_handling(std::slice::from_ref(byte));
        let Some(character) = text.chars().next() else {
            continue;
        };
        sum += fits(character, before, after);
    }
    sum
}

fn fits(character: char, before: char, after: char) -> i32 {
    let small = |c: char| c.is_ascii_lowercase();
    let beside_letter = before.is_ascii_alphabetic() || after.is_ascii_alphabetic();
    match character {
        // Letters of the languages of Western Europe.
        'à'..='ö' | 'ø'..='ÿ' | 'ß' | 'œ' if small(before) || small(after) => 3,
        'à'..='ö' | 'ø'..='ÿ' | 'ß' | 'œ' if beside_letter => 1,
        'À'..='Ö' | 'Ø'..='Þ' | 'Œ' | 'Š' | 'Ž' if small(before) => -3,
        'À'..='Ö' | 'Ø'..='Þ' | '’' | '‘' if beside_letter => 2,
        // Marks of sentences; between a number and a unit, or before a number.
        '“' | '”' | '–' | '—' | '…' | '°' | '²' | '³' | '½' | '¼' | '¾' | '±' | '×' | '≈' | '≤'
        | '≥' | 'µ' | '\u{a0}' | '•' | 'Δ'
            if !(small(before) && small(after)) =>
        {
            2
        }
        '€' | '£' | '§' | '«' | '»' | '¿' | '¡' | 'º' | 'ª' | '·' => {
            i32::from(!beside_letter)
        }
        c if c.is_control() => -4,
        _ if small(before) && small(after) => -3,
        _ => -1,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::open::limits::Limits;

    fn read(bytes: &[u8]) -> (String, Option<&'static str>) {
        let decoded = decode(bytes, &mut Budget::new(&Limits::default())).unwrap();
        (decoded.text.into_owned(), decoded.guessed)
    }

    fn utf_16_bytes(text: &str, low_first: bool, mark: bool) -> Vec<u8> {
        let mark = if mark { "\u{feff}" } else { "" };
        format!("{mark}{text}")
            .encode_utf16()
            .flat_map(|unit| {
                if low_first {
                    unit.to_le_bytes()
                } else {
                    unit.to_be_bytes()
                }
            })
            .collect()
    }

    #[test]
    fn marked_and_unmarked_unicode_is_certain() {
        let text = "phase,score\npre,3½ – Zoë\n";
        assert_eq!(read(text.as_bytes()), (text.to_owned(), None));
        let marked = format!("\u{feff}{text}");
        assert_eq!(read(marked.as_bytes()), (text.to_owned(), None));
        for low_first in [true, false] {
            for mark in [true, false] {
                let bytes = utf_16_bytes(text, low_first, mark);
                assert_eq!(read(&bytes), (text.to_owned(), None), "{low_first} {mark}");
            }
        }
    }

    // The bytes are those of Python 3.12's codecs cp1252 and mac_roman for the texts beside them.
    #[test]
    fn older_encodings_are_told_by_their_letters() {
        assert_eq!(
            read(b"caf\xe9,3\n"),
            ("café,3\n".to_owned(), Some("Windows-1252"))
        );
        assert_eq!(
            read(b"caf\x8e,3\n"),
            ("café,3\n".to_owned(), Some("Mac Roman"))
        );
        assert_eq!(
            read(b"note,Zo\xeb\x92s 20\xb0, na\xefve, \xbd m \x96 ok"),
            (
                "note,Zoë’s 20°, naïve, ½ m – ok".to_owned(),
                Some("Windows-1252")
            )
        );
        assert_eq!(
            read(b"note,Zo\x91\xd5s 20\xa1, na\x95ve, \xb2 3 \xd0 ok"),
            (
                "note,Zoë’s 20°, naïve, ≤ 3 – ok".to_owned(),
                Some("Mac Roman")
            )
        );
        assert_eq!(
            read(b"\xc9COLE,M\xdcLLER"),
            ("ÉCOLE,MÜLLER".to_owned(), Some("Windows-1252"))
        );
    }

    #[test]
    fn one_torn_character_is_no_other_encoding() {
        let mut bytes = "é".repeat(30).into_bytes();
        bytes.push(0xe9);
        let decoded = decode(&bytes, &mut Budget::new(&Limits::default())).unwrap();
        assert!(decoded.unreadable);
        assert_eq!(decoded.guessed, None);
        assert!(decoded.text.ends_with("é\u{fffd}"));
    }
}
