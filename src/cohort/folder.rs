//! A cohort's folder: which files of it are what.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use super::roster::{Roster, RosterFaults};
use super::settings::{self, Settings};
use crate::configuration::Faults;
use crate::logbook::open::open;

/// A cohort's folder with its settings read.
#[derive(Debug)]
pub struct Folder {
    /// The folder.
    pub dir: PathBuf,
    /// Its settings, or the defaults where there is no `cohort.toml`.
    pub settings: Settings,
}

/// Why a cohort's own files stop everything: nothing was done.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// No such folder.
    #[error(
        "{0}: there is no such folder. Name the folder of a cohort, or make one with `evenhand setup {0}`"
    )]
    NoFolder(String),
    /// A file can't be read.
    #[error("{path}: {source}")]
    Io {
        /// The file.
        path: String,
        /// What the system says.
        source: io::Error,
    },
    /// A file that cohort.toml names is not there.
    #[error("cohort.toml: {key} = \"{value}\", but there is no {path}")]
    Named {
        /// The key.
        key: &'static str,
        /// What it says.
        value: String,
        /// The path looked for.
        path: String,
    },
    /// `cohort.toml` has faults.
    #[error("{0}")]
    Settings(Faults),
    /// The roster has faults.
    #[error("{0}")]
    Roster(RosterFaults),
    /// The roster can't be opened.
    #[error("{0}")]
    RosterFile(String),
}

impl Folder {
    /// Reads the settings of a cohort's folder.
    ///
    /// # Errors
    /// There is no such folder, or `cohort.toml` can't be read or has faults.
    pub fn open(dir: &Path) -> Result<Self, FolderError> {
        if !dir.is_dir() {
            return Err(FolderError::NoFolder(dir.display().to_string()));
        }
        let settings = match fs::read_to_string(dir.join(settings::FILE)) {
            Ok(text) => Settings::read(&text).map_err(FolderError::Settings)?,
            Err(error) if error.kind() == io::ErrorKind::NotFound => Settings::default(),
            Err(source) => {
                return Err(FolderError::Io {
                    path: dir.join(settings::FILE).display().to_string(),
                    source,
                });
            }
        };
        Ok(Self {
            dir: dir.to_owned(),
            settings,
        })
    }

    /// A path within the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.dir.join(name)
    }

    /// The roster; none where there is none and `cohort.toml` names none.
    ///
    /// # Errors
    /// The roster that `cohort.toml` names is not there, can't be read, or has faults.
    pub fn roster(&self) -> Result<Option<Roster>, FolderError> {
        let named = self.settings.roster.as_ref();
        let name = named.map_or("roster.csv", |named| named.value.as_str());
        let path = self.path(name);
        let bytes = match fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if error.kind() == io::ErrorKind::NotFound => {
                return match named {
                    None => Ok(None),
                    Some(named) => Err(FolderError::Named {
                        key: "roster",
                        value: named.value.clone(),
                        path: path.display().to_string(),
                    }),
                };
            }
            Err(source) => {
                return Err(FolderError::Io {
                    path: path.display().to_string(),
                    source,
                });
            }
        };
        let opened = open(&bytes, name, &self.settings.limits)
            .map_err(|error| FolderError::RosterFile(format!("{}: {error}", path.display())))?;
        let Some(grid) = opened.grids.first() else {
            let says = format!("{}: there is no table in it", path.display());
            return Err(FolderError::RosterFile(says));
        };
        Roster::from_grid(grid)
            .map(Some)
            .map_err(FolderError::Roster)
    }

    /// Where the hand-ins are: what `cohort.toml` names; else `submissions/`, else `submissions.zip`, else the folder itself.
    ///
    /// # Errors
    /// What `cohort.toml` names is not there.
    pub fn submissions(&self) -> Result<PathBuf, FolderError> {
        if let Some(named) = &self.settings.submissions {
            let path = self.path(&named.value);
            if path.exists() {
                return Ok(path);
            }
            // The folder that setup names, handed over as one zip.
            let zip = self.path(&format!("{}.zip", named.value));
            if zip.is_file() {
                return Ok(zip);
            }
            return Err(FolderError::Named {
                key: "submissions",
                value: named.value.clone(),
                path: path.display().to_string(),
            });
        }
        for name in ["submissions", "submissions.zip"] {
            let path = self.path(name);
            if path.exists() {
                return Ok(path);
            }
        }
        Ok(self.dir.clone())
    }

    /// The folder of the submissions from the cohort's folder, with a `/` at its end, for links; none where they are in a zip or elsewhere.
    pub fn link_base(&self, submissions: &Path) -> Option<String> {
        if !submissions.is_dir() {
            return None;
        }
        let within = submissions.strip_prefix(&self.dir).ok()?;
        let mut base = String::new();
        for part in within.components() {
            base.push_str(part.as_os_str().to_str()?);
            base.push('/');
        }
        Some(base)
    }
}
