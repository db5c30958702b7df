//! Why a file could not be read, in words that a lecturer can act on.

use thiserror::Error;

/// Why a file of a hand-in could not be read. Each is a whole sentence about the file, with what to do about it.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum OpenError {
    /// Nothing in it.
    #[error("the file is empty: ask the pair to hand it in again")]
    Empty,
    /// Larger than `file_mib`.
    #[error(
        "the file is larger than {limit_mib} MiB: ask the pair for a copy without pictures, or raise file_mib under [limits] in cohort.toml"
    )]
    TooLarge {
        /// The limit in force, in MiB.
        limit_mib: u64,
    },
    /// Unpacks to more than `unpacked_mib`.
    #[error(
        "the file unpacks to more than {limit_mib} MiB: ask the pair for a plain copy, or raise unpacked_mib under [limits] in cohort.toml"
    )]
    UnpacksTooLarge {
        /// The limit in force, in MiB.
        limit_mib: u64,
    },
    /// A part unpacks to hundreds of times its size.
    #[error(
        "a part of the file unpacks to more than {ratio} times its packed size, which no logbook does: ask the pair to save it again"
    )]
    Bomb {
        /// The ratio that was passed.
        ratio: u64,
    },
    /// More parts in the package than any workbook has.
    #[error("the file holds more than {limit} packed parts: ask the pair for a plain copy")]
    TooManyParts {
        /// The limit in force.
        limit: usize,
    },
    /// More cells than `cells`.
    #[error(
        "the file holds more than {limit} cells: ask the pair for the logbook alone, or raise cells under [limits] in cohort.toml"
    )]
    TooManyCells {
        /// The limit in force.
        limit: u64,
    },
    /// More rows than `rows`.
    #[error(
        "the file holds more than {limit} rows: ask the pair for the logbook alone, or raise rows under [limits] in cohort.toml"
    )]
    TooManyRows {
        /// The limit in force.
        limit: u64,
    },
    /// More columns than the largest sheet.
    #[error("a line of the file has more than {limit} fields: ask the pair for the logbook alone")]
    TooManyColumns {
        /// The limit in force.
        limit: u32,
    },
    /// More text in one cell than any spreadsheet program allows.
    #[error("a cell holds more than a million letters: ask the pair for the logbook alone")]
    LongCell,
    /// More than may be held in memory.
    #[error("the file takes more than {limit_mib} MiB to read: ask the pair for the logbook alone")]
    TooMuch {
        /// The limit in force, in MiB.
        limit_mib: u64,
    },
    /// Longer than `seconds`.
    #[error(
        "reading took longer than {seconds} seconds: ask the pair for a plain copy, or raise seconds under [limits] in cohort.toml"
    )]
    TooSlow {
        /// The limit in force, in seconds.
        seconds: u64,
    },
    /// Encrypted.
    #[error("the file is protected by a password: ask the pair for a copy without one")]
    PasswordProtected,
    /// A web page, whatever its ending says.
    #[error(
        "the file is a web page, not a workbook: open it in a spreadsheet program and save it as .xlsx"
    )]
    WebPage,
    /// A spreadsheet in one XML file (2003), whatever its ending says.
    #[error(
        "the file is a spreadsheet saved as XML (2003): open it in a spreadsheet program and save it as .xlsx"
    )]
    XmlSpreadsheet,
    /// A workbook from before 1995.
    #[error(
        "the workbook is in a format from before 1995: open it in a spreadsheet program and save it as .xlsx"
    )]
    TooOld,
    /// Something else altogether.
    #[error(
        "the file is {what}, not a workbook or a table in text: ask the pair for the logbook itself"
    )]
    NotALogbook {
        /// What it is, with its article (`a PDF document`).
        what: &'static str,
    },
    /// A zip that is no workbook, where a single file was expected.
    #[error("the file is a zip with other files in it: unpack it, and hand in what it holds")]
    Bundle,
    /// A zip within a zip within a zip.
    #[error("the zip holds zips that hold zips: unpack it, and hand in what it holds")]
    NestedTooDeep,
    /// A zip without anything that could be read.
    #[error("the zip holds no workbook and no table in text: ask the pair for the logbook itself")]
    NothingInside,
    /// Not whole, or not what it should be.
    #[error("the file is damaged ({what}): ask the pair to save it again and hand in that copy")]
    Damaged {
        /// What was found, in a few words.
        what: &'static str,
    },
    /// A fault of ours or of a library, caught.
    #[error(
        "the file could not be read because of a fault in this program: open it in a spreadsheet program and save it as .xlsx"
    )]
    Fault,
    /// The disk would not give it.
    #[error("the file could not be read from the disk ({what})")]
    Disk {
        /// What the operating system said.
        what: String,
    },
}

impl OpenError {
    /// A damaged file, with what was found.
    pub(super) fn damaged(what: &'static str) -> Self {
        Self::Damaged { what }
    }

    /// A file that ends before it should.
    pub(super) fn ends_early() -> Self {
        Self::damaged("it ends too early")
    }
}

impl From<std::io::Error> for OpenError {
    fn from(error: std::io::Error) -> Self {
        use std::io::ErrorKind;
        // The operating system's own words carry numbers and English of their own: the common ones are said plainly.
        let what = match error.kind() {
            ErrorKind::NotFound => "it is no longer there".to_owned(),
            ErrorKind::PermissionDenied => "it may not be opened by you".to_owned(),
            ErrorKind::UnexpectedEof => return Self::ends_early(),
            _ => error.to_string(),
        };
        Self::Disk { what }
    }
}
