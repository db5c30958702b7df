//! Whether an office program has a workbook open: it leaves a lock file beside it.

use std::path::{Path, PathBuf};

use super::Stop;

/// The lock file that says a workbook is open elsewhere, if there is one.
pub fn of(workbook: &Path) -> Option<PathBuf> {
    let name = workbook.file_name()?.to_str()?;
    [format!("~${name}"), format!(".~lock.{name}#")]
        .into_iter()
        .map(|lock| workbook.with_file_name(lock))
        .find(|lock| lock.exists())
}

/// Whether a file is such a lock file, or another that an office program keeps for itself.
pub fn is_one(path: &Path) -> bool {
    let name = path.file_name().map(|name| name.to_string_lossy());
    name.is_some_and(|name| name.starts_with("~$") || name.starts_with('.'))
}

/// Refuses to replace a workbook that is open elsewhere.
///
/// # Errors
/// It is open.
pub fn refuse(workbook: &Path) -> Result<(), Stop> {
    match of(workbook) {
        None => Ok(()),
        Some(lock) => Err(Stop::new(format!(
            "{} is open in an office program ({} is there). Save and close it, and run this again. If no program has it open, delete that lock \
             file, or add --ignore-locks",
            workbook.display(),
            lock.display()
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_kinds_of_lock_file_are_seen() {
        let folder = tempfile::tempdir().unwrap();
        let workbook = folder.path().join("moderation.xlsx");
        assert!(refuse(&workbook).is_ok());
        for lock in ["~$moderation.xlsx", ".~lock.moderation.xlsx#"] {
            let lock = folder.path().join(lock);
            std::fs::write(&lock, "x").unwrap();
            assert!(is_one(&lock));
            assert!(refuse(&workbook).is_err());
            std::fs::remove_file(&lock).unwrap();
        }
    }
}
