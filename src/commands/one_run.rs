//! One run at a time: whoever writes to a cohort holds its lock file, and readers go on.

use std::fs::{self, File, TryLockError};
use std::path::Path;

use super::Stop;
use crate::atomic;

/// The lock file, in the folder that every run writes to.
const LOCK: &str = "out/.evenhand.lock";

/// The folders of a cohort that are written to.
const FOLDERS: [&str; 5] = ["", "out", "marking", "returned", "returned/feedback"];

/// Holds the lock until it is dropped; the system lets go of it when the program ends, however it ends.
#[derive(Debug)]
pub struct OneRun {
    _file: File,
}

impl OneRun {
    /// Takes the lock of a cohort's folder.
    ///
    /// # Errors
    /// Another run holds it, or the file can't be made.
    pub fn begin(dir: &Path) -> Result<Self, Stop> {
        let path = dir.join(LOCK);
        let failed = |error: std::io::Error| Stop::new(format!("{}: {error}", path.display()));
        if let Some(folder) = path.parent() {
            fs::create_dir_all(folder).map_err(failed)?;
        }
        let file = File::options()
            .create(true)
            .truncate(false)
            .write(true)
            .open(&path)
            .map_err(failed)?;
        if let Err(TryLockError::WouldBlock) = file.try_lock() {
            return Err(Stop::new(format!(
                "another run of evenhand is writing to {}; wait for it to end, and run this again",
                dir.display()
            )));
        }
        // Not every disk has locks; a run without one is as it ever was.
        for folder in FOLDERS {
            atomic::clear_left_over(&dir.join(folder));
        }
        Ok(Self { _file: file })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_run_waits_for_the_first() {
        let folder = tempfile::tempdir().unwrap();
        let first = OneRun::begin(folder.path()).unwrap();
        assert!(OneRun::begin(folder.path()).is_err());
        drop(first);
        assert!(OneRun::begin(folder.path()).is_ok());
    }
}
