//! Results of earlier runs, kept so that a hand-in that is as it was is not examined again.
//!
//! A result is kept under a digest of everything that it follows from: the hand-in's files, what the course settles, the roster, what markers
//! typed, and the program itself, byte for byte. So nothing has to be told that it is out of date: what has changed in any way has another
//! digest, and is examined. So is what can't be read back whole. The folder may be deleted at any time.

use std::collections::HashSet;
use std::fmt::Debug;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::result::PairResult;
use crate::cohort::matching::Match;

/// The folder, in the folder of what is written out.
pub const FOLDER: &str = ".evenhand-kept";

/// Bytes of the digest that stands before each result.
const DIGEST: usize = 32;

/// The results of earlier runs.
#[derive(Debug)]
pub struct Kept {
    folder: PathBuf,
    /// Digest of everything but the hand-in that a result follows from.
    settled: blake3::Hash,
    /// Names of the files that this run read or wrote; none where it may not write.
    used: Option<Mutex<HashSet<String>>>,
}

impl Kept {
    /// The results kept in a folder of what is written out, for a run in which all this is settled; they are added to where the run
    /// `adds`. None where the program can't tell which program it is.
    pub fn of(out: &Path, settled: &dyn Debug, adds: bool) -> Option<Self> {
        let mut hasher = blake3::Hasher::new();
        let program = fs::File::open(std::env::current_exe().ok()?).ok()?;
        hasher.update_reader(program).ok()?;
        hasher.update(format!("{settled:?}").as_bytes());
        Some(Self {
            folder: out.join(FOLDER),
            settled: hasher.finalize(),
            used: adds.then(Mutex::default),
        })
    }

    /// Whose the hand-in with this digest of its files is, and what examining it gave, without what it hands in and its suggestions.
    pub fn find(&self, hand_in: &blake3::Hash) -> Option<(Match, PairResult)> {
        let name = self.name(hand_in);
        let bytes = fs::read(self.folder.join(&name)).ok()?;
        let (digest, result) = bytes.split_at_checked(DIGEST)?;
        if blake3::hash(result).as_bytes() != digest {
            return None;
        }
        let found = postcard::from_bytes(result).ok()?;
        self.note(name);
        Some(found)
    }

    /// Keeps what examining a hand-in gave. A result that can't be kept is no loss: it is computed again.
    pub fn add(&self, hand_in: &blake3::Hash, whose: &Match, result: &PairResult) {
        if self.used.is_none() {
            return;
        }
        let Ok(result) = postcard::to_stdvec(&(whose, result)) else {
            return;
        };
        let mut bytes = blake3::hash(&result).as_bytes().to_vec();
        bytes.extend(result);
        let name = self.name(hand_in);
        if fs::create_dir_all(&self.folder).is_ok()
            && fs::write(self.folder.join(&name), bytes).is_ok()
        {
            self.note(name);
        }
    }

    /// Takes away what this run had no use for.
    pub fn clear_unused(&self) {
        let (Some(used), Ok(files)) = (&self.used, fs::read_dir(&self.folder)) else {
            return;
        };
        let Ok(used) = used.lock() else { return };
        for file in files.flatten() {
            if !used.contains(&*file.file_name().to_string_lossy()) {
                // What can't be removed is never read either.
                fs::remove_file(file.path()).ok();
            }
        }
    }

    fn name(&self, hand_in: &blake3::Hash) -> String {
        let mut hasher = blake3::Hasher::new();
        hasher.update(self.settled.as_bytes());
        hasher.update(hand_in.as_bytes());
        hasher.finalize().to_hex().to_string()
    }

    fn note(&self, name: String) {
        if let Some(used) = &self.used
            && let Ok(mut used) = used.lock()
        {
            used.insert(name);
        }
    }
}

/// Takes away all results that are kept in a folder of what is written out.
///
/// # Errors
/// They can't be removed.
pub fn forget(out: &Path) -> std::io::Result<()> {
    match fs::remove_dir_all(out.join(FOLDER)) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
