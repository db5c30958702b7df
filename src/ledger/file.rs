//! The ledger's file: a csv that any spreadsheet reads, appended to and never rewritten in content, each line chained to the one before.

use std::borrow::Cow;
use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use super::entry::Entry;
use crate::spreadsheet_text::{marked, restored};

/// Why the ledger can't be used. The file is never touched then.
#[derive(Debug, thiserror::Error)]
pub enum LedgerError {
    /// The file can't be read or written.
    #[error("{}: {source}", path.display())]
    Io {
        /// The ledger.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// A line is not a ledger line.
    #[error("{} line {line}: {says}", path.display())]
    Line {
        /// The ledger.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
        /// What is wrong with it.
        says: String,
    },
    /// The chain is broken: a line was changed, removed or added by hand.
    #[error(
        "{} line {line}: this line or the one before it was changed by hand (its digest is {found}, the line after says {expected}). Put the file back from a copy; \
         nothing was read from or written to it",
        path.display()
    )]
    Chain {
        /// The ledger.
        path: PathBuf,
        /// The line, from 1.
        line: u64,
        /// The digest that the chain expects.
        expected: String,
        /// The digest of what stands there.
        found: String,
    },
}

/// The whole record of decisions.
#[derive(Debug, Clone, Default)]
pub struct Ledger {
    entries: Vec<Entry>,
}

const HEADER: [&str; 14] = [
    "time", "who", "role", "pair", "student", "what", "old", "new", "why", "file", "cell",
    "rubric", "hand_in", "previous",
];

/// What the first line's `previous` says.
const BEGINNING: &str = "beginning";

impl Ledger {
    /// Reads a ledger and verifies its chain. A ledger that doesn't exist yet is empty.
    ///
    /// # Errors
    /// The file can't be read, a line is not a ledger line, or the chain is broken.
    pub fn read(path: &Path) -> Result<Self, LedgerError> {
        let bytes = match fs::read(path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(Self::default()),
            Err(source) => {
                return Err(LedgerError::Io {
                    path: path.to_owned(),
                    source,
                });
            }
        };
        let mut reader = csv::ReaderBuilder::new().from_reader(bytes.as_slice());
        let broken = |line: u64, says: String| LedgerError::Line {
            path: path.to_owned(),
            line,
            says,
        };
        let header = reader
            .headers()
            .map_err(|error| broken(1, error.to_string()))?;
        if header.iter().ne(HEADER) {
            let says = format!("the columns of a ledger are {}", HEADER.join(","));
            return Err(broken(1, says));
        }
        let mut entries: Vec<Entry> = Vec::new();
        let mut expected = String::from(BEGINNING);
        for record in reader.records() {
            let record = record.map_err(|error| {
                let line = error.position().map_or(0, csv::Position::line);
                broken(line, error.to_string())
            })?;
            let line = record.position().map_or(0, csv::Position::line);
            let restored: csv::StringRecord = record.iter().map(restored).collect();
            let entry: Entry = restored
                .deserialize(None)
                .map_err(|error| broken(line, error.to_string()))?;
            if entry.previous != expected {
                return Err(LedgerError::Chain {
                    path: path.to_owned(),
                    line,
                    expected: entry.previous,
                    found: expected,
                });
            }
            expected = digest(&entry);
            entries.push(entry);
        }
        Ok(Self { entries })
    }

    /// The entries, oldest first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// How many lines there are, the header left out.
    pub fn lines(&self) -> usize {
        self.entries.len()
    }

    /// Digest of the last line: what a copy kept elsewhere can be compared with.
    pub fn head(&self) -> String {
        self.entries
            .last()
            .map_or_else(|| String::from(BEGINNING), digest)
    }

    /// Whether the ledger was once as long as it was when its last line had this digest: it has only been appended to since.
    pub fn continues_from(&self, head: &str) -> bool {
        self.head() == head || self.entries.iter().any(|entry| entry.previous == head)
    }

    /// Appends entries, chained, and replaces the file atomically: after a crash at any moment it holds either all of them or none.
    ///
    /// # Errors
    /// The file can't be written; it is as it was then.
    pub fn append(&mut self, path: &Path, new: Vec<Entry>) -> Result<(), LedgerError> {
        if new.is_empty() {
            return Ok(());
        }
        let before = self.entries.len();
        for mut entry in new {
            entry.previous = self.head();
            self.entries.push(entry);
        }
        self.write(path).map_err(|source| {
            self.entries.truncate(before);
            LedgerError::Io {
                path: path.to_owned(),
                source,
            }
        })
    }

    /// Replaces texts in old and new values and in reasons, and chains the lines anew: the one case in which lines change, for names that must
    /// be forgotten. A line of its own says so, with the digest that the ledger had before.
    ///
    /// # Errors
    /// The file can't be written; it is as it was then.
    pub fn forget(
        &mut self,
        path: &Path,
        replace: &dyn Fn(&str, &str) -> String,
        said: Entry,
    ) -> Result<bool, LedgerError> {
        let mut lines = self.entries.clone();
        let mut changed = false;
        for entry in &mut lines {
            for field in [&mut entry.old, &mut entry.new, &mut entry.why] {
                let replaced = replace(&entry.pair, field);
                changed |= replaced != *field;
                *field = replaced;
            }
        }
        if !changed {
            return Ok(false);
        }
        lines.push(Entry {
            old: self.head(),
            ..said
        });
        let mut forgotten = Self::default();
        forgotten.append(path, lines)?;
        *self = forgotten;
        Ok(true)
    }

    fn write(&self, path: &Path) -> io::Result<()> {
        let mut writer = csv::WriterBuilder::new()
            .terminator(csv::Terminator::CRLF)
            .has_headers(false)
            .from_writer(Vec::new());
        writer.write_record(HEADER)?;
        for entry in &self.entries {
            writer.write_record(entry.fields().map(|field| shown(field).into_owned()))?;
        }
        let bytes = writer
            .into_inner()
            .map_err(|error| io::Error::other(error.to_string()))?;
        crate::atomic::replace(path, |file| file.write_all(&bytes))
    }
}

/// A field as it stands in the file: a number is no formula, whatever its sign.
fn shown(field: &str) -> Cow<'_, str> {
    let is_number = field.starts_with('-') && field.parse::<f64>().is_ok_and(f64::is_finite);
    if is_number {
        Cow::Borrowed(field)
    } else {
        marked(field)
    }
}

/// Digest of a line: of its fields, each with its length, so that no two lines have the same.
fn digest(entry: &Entry) -> String {
    let mut hasher = blake3::Hasher::new();
    for field in entry.fields() {
        hasher.update(&(field.len() as u64).to_le_bytes());
        hasher.update(field.as_bytes());
    }
    let hex = hasher.finalize().to_hex();
    hex.get(..16).unwrap_or_default().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(what: &str, new: &str) -> Entry {
        Entry {
            time: "2026-11-25T08:30:00Z".into(),
            who: "instructor".into(),
            role: "instructor".into(),
            pair: "P07".into(),
            what: what.into(),
            new: new.into(),
            why: "=two lines\nand \"quotes\", =1+1".into(),
            ..Entry::default()
        }
    }

    #[test]
    fn what_is_appended_is_read_back_and_chained() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        let mut ledger = Ledger::read(&path).unwrap();
        ledger
            .append(&path, vec![entry("mark testing", "7.5")])
            .unwrap();
        ledger
            .append(
                &path,
                vec![entry("mark claims", "4"), entry("comment claims", "")],
            )
            .unwrap();
        let again = Ledger::read(&path).unwrap();
        assert_eq!(again.entries(), ledger.entries());
        assert_eq!(again.entries().len(), 3);
        assert_eq!(again.head(), ledger.head());
    }

    #[test]
    fn a_negative_number_stands_as_a_number() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        let mut ledger = Ledger::default();
        let lines = ["-2.5", "-1+1", "'-2.5"].map(|new| entry("shift total/Ann", new));
        ledger.append(&path, lines.into()).unwrap();
        let text = fs::read_to_string(&path).unwrap();
        assert!(
            text.contains(",-2.5,") && text.contains(",'-1+1,"),
            "{text}"
        );
        assert_eq!(Ledger::read(&path).unwrap().entries(), ledger.entries());
    }

    #[test]
    fn what_is_forgotten_is_chained_anew_and_said() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        let mut ledger = Ledger::default();
        ledger
            .append(&path, vec![entry("comment overall", "Ana did well")])
            .unwrap();
        let head = ledger.head();
        let said = entry("names-forgotten", "1");
        let replace = |_: &str, text: &str| text.replace("Ana", "student s1");
        assert!(ledger.forget(&path, &replace, said.clone()).unwrap());
        let again = Ledger::read(&path).unwrap();
        assert_eq!(again.entries()[0].new, "student s1 did well");
        assert_eq!(again.entries()[1].old, head);
        assert!(!ledger.forget(&path, &replace, said).unwrap());
    }

    #[test]
    fn a_change_by_hand_shows() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("ledger.csv");
        let mut ledger = Ledger::default();
        ledger
            .append(
                &path,
                vec![entry("mark testing", "7.5"), entry("mark claims", "4")],
            )
            .unwrap();
        let text = fs::read_to_string(&path).unwrap().replace("7.5", "9.5");
        fs::write(&path, text).unwrap();
        assert!(matches!(
            Ledger::read(&path),
            Err(LedgerError::Chain { .. })
        ));
    }
}
