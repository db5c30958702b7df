//! Replacing a file whole: whoever looks at any moment, or after a crash, finds the old one or the new one, never a part.

use std::fs::{self, File};
use std::io::{self, BufWriter, IntoInnerError, Write as _};
use std::path::{Path, PathBuf};

use tempfile::NamedTempFile;

/// What the names of files under way begin with.
const UNDER_WAY: &str = ".~evenhand-";

/// A file being written beside the one whose place it will take; dropped before it is finished, it leaves nothing.
#[derive(Debug)]
pub struct Replacement {
    path: PathBuf,
    file: BufWriter<NamedTempFile>,
}

impl Replacement {
    /// Begins a file for this place, and makes its folder where there is none.
    ///
    /// # Errors
    /// Why that can't be, with the file's name.
    pub fn begin(path: PathBuf) -> io::Result<Self> {
        let begin = || {
            let folder = folder_of(&path);
            fs::create_dir_all(folder)?;
            tempfile::Builder::new()
                .prefix(UNDER_WAY)
                .tempfile_in(folder)
        };
        let file = begin().map_err(|error| named(&error, &path))?;
        Ok(Self {
            path,
            file: BufWriter::new(file),
        })
    }

    /// Writes on.
    ///
    /// # Errors
    /// What writing says, with the file's name.
    pub fn write(&mut self, bytes: &[u8]) -> io::Result<()> {
        let written = self.file.write_all(bytes);
        written.map_err(|error| named(&error, &self.path))
    }

    /// Writes on what another file holds.
    ///
    /// # Errors
    /// What reading or writing says, with the file's name.
    pub fn write_all_of(&mut self, other: &mut File) -> io::Result<()> {
        let copied = io::copy(other, &mut self.file);
        copied.map(drop).map_err(|error| named(&error, &self.path))
    }

    /// Waits until all that was written is on the disk, so that putting it in its place takes no time.
    ///
    /// # Errors
    /// What writing says, with the file's name.
    pub fn settle(&mut self) -> io::Result<()> {
        let flushed = self.file.flush();
        let settled = flushed.and_then(|()| self.file.get_ref().as_file().sync_all());
        settled.map_err(|error| named(&error, &self.path))
    }

    /// Puts a file in its place that can be made again: it may be lost with the machine's power.
    ///
    /// # Errors
    /// What writing says, with the file's name; the file in its place is as it was then.
    pub fn finish_without_waiting(self) -> io::Result<()> {
        let Self { path, file } = self;
        let finish = || {
            let file = file.into_inner().map_err(IntoInnerError::into_error)?;
            keep_permissions(&path, file.as_file())?;
            file.persist(&path).map_err(|error| error.error)
        };
        finish().map(drop).map_err(|error| named(&error, &path))
    }

    /// Puts the file in its place once it is on the disk.
    ///
    /// # Errors
    /// What writing says, with the file's name; the file in its place is as it was then.
    pub fn finish(self) -> io::Result<()> {
        let Self { path, file } = self;
        let finish = || {
            put_in_place(
                file.into_inner().map_err(IntoInnerError::into_error)?,
                &path,
            )
        };
        finish().map_err(|error| named(&error, &path))
    }
}

/// Writes a file beside `path` and puts it in its place once it is complete and on the disk.
///
/// # Errors
/// What writing says; `path` is as it was then.
pub fn replace(path: &Path, write: impl FnOnce(&mut File) -> io::Result<()>) -> io::Result<()> {
    let folder = folder_of(path);
    fs::create_dir_all(folder)?;
    let mut temporary = tempfile::Builder::new()
        .prefix(UNDER_WAY)
        .tempfile_in(folder)?;
    write(temporary.as_file_mut())?;
    put_in_place(temporary, path)
}

fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

fn put_in_place(temporary: NamedTempFile, path: &Path) -> io::Result<()> {
    temporary.as_file().sync_all()?;
    keep_permissions(path, temporary.as_file())?;
    temporary.persist(path).map_err(|error| error.error)?;
    // The new name must be on the disk too; folders can't be opened for this on every system.
    if let Ok(folder) = File::open(folder_of(path)) {
        folder.sync_all().ok();
    }
    Ok(())
}

fn named(error: &io::Error, path: &Path) -> io::Error {
    io::Error::new(error.kind(), format!("{}: {error}", path.display()))
}

/// Takes away what runs that were cut short left under way in a folder. Call it only while no other run writes there.
pub fn clear_left_over(folder: &Path) {
    let Ok(files) = fs::read_dir(folder) else {
        return;
    };
    for file in files.flatten() {
        if file.file_name().to_string_lossy().starts_with(UNDER_WAY) {
            // One that can't be removed does no harm where it is.
            fs::remove_file(file.path()).ok();
        }
    }
}

/// Gives the new file the old one's permissions; a new file is readable as any file the user makes.
#[cfg(unix)]
fn keep_permissions(path: &Path, file: &File) -> io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    let permissions = match fs::metadata(path) {
        Ok(old) => old.permissions(),
        Err(_) => fs::Permissions::from_mode(0o644),
    };
    file.set_permissions(permissions)
}

#[cfg(not(unix))]
fn keep_permissions(_path: &Path, _file: &File) -> io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_old_file_and_no_other() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.csv");
        replace(&path, |file| file.write_all(b"old")).unwrap();
        let failed = replace(&path, |file| {
            file.write_all(b"half")?;
            Err(io::Error::other("full"))
        });
        assert!(failed.is_err());
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
        fs::write(folder.path().join(".~evenhand-cut"), b"h").unwrap();
        clear_left_over(folder.path());
        assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
