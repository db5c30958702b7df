//! What should be known about a file that was read, but not as it stands.

use std::fmt;
use std::sync::Arc;

use crate::place::Place;

/// Something about a file that was read all the same, and that a person should know.
#[derive(Debug, Clone, PartialEq)]
pub struct Notice {
    /// Where it was seen.
    pub place: Place,
    /// What it is.
    pub what: Noticed,
}

impl Notice {
    /// A sheet of a workbook that was not read.
    pub(super) fn sheet_not_read(file: &Arc<str>, sheet: &str) -> Self {
        Self {
            place: Place::file(file.clone()),
            what: Noticed::SheetNotRead {
                sheet: sheet.to_owned(),
            },
        }
    }
}

/// What was noticed.
#[derive(Debug, Clone, PartialEq)]
pub enum Noticed {
    /// The ending says one thing and the content another; the content was believed.
    WrongEnding {
        /// The ending, without its dot and in lower case.
        ending: String,
        /// What the content is, with its article (`an OpenDocument spreadsheet`).
        really: &'static str,
    },
    /// The text's encoding is not marked in the file and had to be guessed.
    EncodingGuessed {
        /// Its name (`Windows-1252`).
        encoding: &'static str,
    },
    /// Bytes that are no characters of the file's encoding; each was read as `�`.
    UnreadableCharacters,
    /// A quotation mark that opens or closes no field: the text was kept as it stands.
    StrayQuote,
    /// A NUL or another control character inside the text; it was left out.
    ControlCharacters,
    /// A sheet of the workbook that holds no cells of its own (a chart or a macro sheet), or whose part is missing; it was not read.
    SheetNotRead {
        /// Its name.
        sheet: String,
    },
    /// A name with characters that don't show or that turn the direction of writing; each is shown as `�`.
    MisleadingName,
    /// A name inside a zip that would lead outside it; the file was left out.
    UnsafeName {
        /// The name, made harmless for showing.
        name: String,
    },
}

impl fmt::Display for Noticed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::WrongEnding { ending, really } if ending.is_empty() => {
                write!(f, "the file has no ending; it was read as {really}")
            }
            Self::WrongEnding { ending, really } => write!(
                f,
                "the file ends in .{ending} but is {really}; it was read as that"
            ),
            Self::EncodingGuessed { encoding } => write!(
                f,
                "the file does not say how its letters are encoded; they were read as {encoding}"
            ),
            Self::UnreadableCharacters => f.write_str(
                "some characters could not be read and stand as \u{fffd}; compare with the pair's own file",
            ),
            Self::StrayQuote => {
                f.write_str("a quotation mark opens or closes no field; the text was kept as it stands")
            }
            Self::ControlCharacters => {
                f.write_str("control characters stand in the text; they were left out")
            }
            Self::SheetNotRead { sheet } => {
                write!(f, "the sheet {sheet} holds no table and was not read")
            }
            Self::MisleadingName => f.write_str(
                "the file's name holds characters that do not show or that turn its letters round; each stands as \u{fffd}",
            ),
            Self::UnsafeName { name } => write!(
                f,
                "the zip holds a file named {name}, which would lead outside it; it was left out"
            ),
        }
    }
}
