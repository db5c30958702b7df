//! Results of earlier runs, kept so that a hand-in that is as it was is not examined again.
//!
//! A result is kept under a digest of everything that it follows from: the hand-in's files, what the course settles, the roster, what markers
//! typed, and the program itself, byte for byte. So nothing has to be told that it is out of date: what has changed in any way has another
//! digest, and is examined. So is what is no longer byte for byte what was kept. The folder may be deleted at any time.

use std::collections::HashSet;
use std::fmt::Debug;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::outline::Outline;
use super::packed::Packed;
use crate::checks::PairTrace;
use crate::cohort::matching::Match;

/// The folder, in the folder of what is written out.
pub const FOLDER: &str = ".evenhand-kept";

/// Bytes of the digest that stands before each result.
const DIGEST: usize = 32;

/// What examining one hand-in gave.
#[derive(Debug)]
pub struct KeptResult {
    /// Whose it is.
    pub whose: Match,
    /// What its result comes to.
    pub outline: Outline,
    /// Its scores, for the checks that see the whole cohort.
    pub trace: PairTrace,
    /// The result.
    pub packed: Packed,
}

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
        let folder = out.join(FOLDER);
        if adds {
            // Where it can't be made, nothing is kept.
            fs::create_dir_all(&folder).ok();
        }
        Some(Self {
            folder,
            settled: hasher.finalize(),
            used: adds.then(Mutex::default),
        })
    }

    /// What examining the hand-in with this digest of its files gave.
    pub fn find(&self, hand_in: &blake3::Hash) -> Option<KeptResult> {
        let name = self.name(hand_in);
        let bytes = fs::read(self.folder.join(&name)).ok()?;
        let (digest, rest) = bytes.split_at_checked(DIGEST)?;
        if blake3::hash(rest).as_bytes() != digest {
            return None;
        }
        let ((whose, outline, trace), packed) = postcard::take_from_bytes(rest).ok()?;
        self.note(name);
        Some(KeptResult {
            whose,
            outline,
            trace,
            packed: Packed::from_bytes(packed),
        })
    }

    /// Keeps what examining a hand-in gave. A result that can't be kept is no loss: it is computed again.
    pub fn add(&self, hand_in: &blake3::Hash, result: &KeptResult) {
        if self.used.is_none() {
            return;
        }
        let before = (&result.whose, &result.outline, &result.trace);
        let Ok(bytes) = postcard::to_extend(&before, vec![0; DIGEST]) else {
            return;
        };
        let mut bytes: Vec<u8> = bytes;
        bytes.extend_from_slice(result.packed.as_bytes());
        if let Some((digest, rest)) = bytes.split_at_mut_checked(DIGEST) {
            digest.copy_from_slice(blake3::hash(rest).as_bytes());
        }
        let name = self.name(hand_in);
        if fs::write(self.folder.join(&name), bytes).is_ok() {
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
