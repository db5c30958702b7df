//! Replacing a workbook in which people may have entered something: it is taken back first, and never replaced behind anybody's back.

use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

use rust_xlsxwriter::Workbook;

use super::load::Loaded;
use super::take_back::{TakenBack, now, take_back};
use super::{Stop, office_lock};
use crate::atomic;
use crate::marking::By;
use crate::wording::counted;

/// Beside the workbooks: what each was when it was last written. A note to save reading them again; it may be deleted at any time.
const NOTE: &str = ".evenhand-written";

/// A workbook that is about to be replaced.
#[derive(Debug)]
pub struct OwnWorkbook {
    path: PathBuf,
    /// Digest of what stands there; none where nothing does.
    found: Option<String>,
    ignore_locks: bool,
}

impl OwnWorkbook {
    /// Looks at what stands in a workbook's place.
    ///
    /// # Errors
    /// An office program has it open, or it can't be read.
    pub fn find(path: PathBuf, ignore_locks: bool) -> Result<Self, Stop> {
        if !ignore_locks {
            office_lock::refuse(&path)?;
        }
        let found = digest_of(&path)?;
        Ok(Self {
            path,
            found,
            ignore_locks,
        })
    }

    /// Takes back what was entered in it since it was written, and puts it on the ledger.
    ///
    /// # Errors
    /// Something in it can't be understood: the cell is named, nothing is written, and the workbook stays.
    pub fn take_back(&self, loaded: &mut Loaded, by: Option<&str>) -> Result<TakenBack, Stop> {
        Self::take_all_back(std::slice::from_ref(self), loaded, by)
    }

    /// The same for several workbooks: all of them, or none where anything in any of them can't be understood.
    ///
    /// # Errors
    /// As [`Self::take_back`], with every cell of every workbook.
    pub fn take_all_back(
        workbooks: &[Self],
        loaded: &mut Loaded,
        by: Option<&str>,
    ) -> Result<TakenBack, Stop> {
        let paths: Vec<PathBuf> = workbooks
            .iter()
            .filter(|workbook| workbook.found.is_some() && !workbook.is_as_written(loaded))
            .map(|workbook| workbook.path.clone())
            .collect();
        if paths.is_empty() {
            return Ok(TakenBack::default());
        }
        let mut taken = take_back(loaded, &paths, by.map_or(By::Unsaid, By::Decider), &now()?);
        if !taken.not_read.is_empty() {
            return Err(Stop::new(format!(
                "{}\nWhat would be replaced must be read first. Put it right, or move it away, and run this again. Nothing was written.",
                taken.not_read.join("\n")
            )));
        }
        if !taken.refusals.is_empty() {
            let lines: Vec<String> = taken.refusals.iter().map(ToString::to_string).collect();
            return Err(Stop::new(format!(
                "{} can't be taken back:\n  {}\nPut it right there and run this again. Nothing was written, and nothing was taken from any workbook.",
                counted(lines.len(), "cell"),
                lines.join("\n  ")
            )));
        }
        loaded.record(std::mem::take(&mut taken.entries))?;
        Ok(taken)
    }

    /// What it holds that is not on the ledger.
    pub fn untaken(&self, loaded: &Loaded) -> TakenBack {
        if self.found.is_none() || self.is_as_written(loaded) {
            return TakenBack::default();
        }
        take_back(loaded, std::slice::from_ref(&self.path), By::Unsaid, "")
    }

    /// Whether it is byte for byte what the program wrote last, and the ledger still has everything that it had then.
    fn is_as_written(&self, loaded: &Loaded) -> bool {
        let note = fs::read_to_string(self.note()).unwrap_or_default();
        let name = self.name();
        note.lines().any(|line| {
            let mut parts = line.split('\t');
            let written = parts.next().is_some_and(|noted| noted == name)
                && parts.next() == self.found.as_deref();
            written
                && parts
                    .next()
                    .is_some_and(|head| loaded.ledger.continues_from(head))
        })
    }

    fn note(&self) -> PathBuf {
        self.path.with_file_name(NOTE)
    }

    fn name(&self) -> String {
        let name = self.path.file_name();
        name.map_or_else(String::new, |name| name.to_string_lossy().into_owned())
    }

    /// Puts a new workbook in its place.
    ///
    /// # Errors
    /// Somebody saved or opened it since it was looked at, or it can't be written.
    pub fn replace(&self, loaded: &Loaded, workbook: &mut Workbook) -> Result<(), Stop> {
        if !self.ignore_locks {
            office_lock::refuse(&self.path)?;
        }
        if digest_of(&self.path)? != self.found {
            return Err(Stop::new(format!(
                "{} was saved by somebody while this ran; it stays as it is. Run this again",
                self.path.display()
            )));
        }
        let failed = |error: io::Error| Stop::new(format!("{}: {error}", self.path.display()));
        atomic::replace(&self.path, |file| {
            workbook.save_to_writer(file).map_err(io::Error::other)
        })
        .map_err(failed)?;
        self.note_written(&loaded.ledger.head()).map_err(failed)
    }

    fn note_written(&self, head: &str) -> io::Result<()> {
        let name = self.name();
        let digest = digest_of(&self.path).map_err(|stop| io::Error::other(stop.to_string()))?;
        let note = fs::read_to_string(self.note()).unwrap_or_default();
        let mut lines: Vec<String> = note
            .lines()
            .filter(|line| line.split('\t').next().is_some_and(|noted| noted != name))
            .map(str::to_owned)
            .collect();
        lines.push(format!("{name}\t{}\t{head}", digest.unwrap_or_default()));
        lines.sort();
        let text = lines.join("\n") + "\n";
        atomic::replace(&self.note(), |file| {
            io::Write::write_all(file, text.as_bytes())
        })
    }
}

fn digest_of(path: &Path) -> Result<Option<String>, Stop> {
    let digest = || {
        let mut hasher = blake3::Hasher::new();
        hasher.update_reader(File::open(path)?)?;
        Ok::<_, io::Error>(hasher.finalize().to_hex().to_string())
    };
    match digest() {
        Ok(digest) => Ok(Some(digest)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Stop::new(format!("{}: {error}", path.display()))),
    }
}
