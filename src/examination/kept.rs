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
use super::packed::{Packed, Packer};
use crate::checks::PairTrace;
use crate::cohort::matching::Match;

/// The folder, in the folder of what is written out.
pub const FOLDER: &str = ".evenhand-kept";

/// The file of what results were packed against.
const SAMPLE: &str = "sample";

/// Bytes of the digest that stands after what a file holds.
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

    /// Packs as the earlier runs did, or against a sample of its own where they left none.
    pub fn packer(&self) -> Packer {
        match self.read(SAMPLE) {
            Some(sample) => Packer::with_sample(sample),
            None => Packer::default(),
        }
    }

    /// What examining the hand-in with this digest of its files gave.
    pub fn find(&self, hand_in: &blake3::Hash, packer: &Packer) -> Option<KeptResult> {
        let sample = packer.sample()?;
        let bytes = self.read(&self.name(hand_in, sample))?;
        let ((whose, outline, trace, length), packed) = postcard::take_from_bytes(&bytes).ok()?;
        Some(KeptResult {
            whose,
            outline,
            trace,
            packed: Packed::kept(sample, length, packed),
        })
    }

    /// Keeps what examining a hand-in gave. A result that can't be kept is no loss: it is computed again.
    pub fn add(&self, hand_in: &blake3::Hash, result: &KeptResult, packer: &Packer) {
        let packed = &result.packed;
        let before = (&result.whose, &result.outline, &result.trace, packed.length);
        if let (Some(sample), Ok(mut bytes)) = (packer.sample(), postcard::to_stdvec(&before)) {
            bytes.extend_from_slice(&packed.bytes);
            self.write(self.name(hand_in, sample), &bytes);
        }
    }

    /// Keeps what the results were packed against.
    pub fn add_sample(&self, packer: &Packer) {
        if let Some(sample) = packer.sample() {
            self.write(SAMPLE.to_owned(), sample);
        }
    }

    /// What a file holds, where it is as it was written.
    fn read(&self, name: &str) -> Option<Vec<u8>> {
        let mut bytes = fs::read(self.folder.join(name)).ok()?;
        let (rest, digest) = bytes.split_last_chunk::<DIGEST>()?;
        if blake3::hash(rest).as_bytes() != digest {
            return None;
        }
        bytes.truncate(bytes.len() - DIGEST);
        self.note(name.to_owned());
        Some(bytes)
    }

    fn write(&self, name: String, bytes: &[u8]) {
        if self.used.is_none() {
            return;
        }
        let with_digest = [bytes, blake3::hash(bytes).as_bytes()].concat();
        if fs::write(self.folder.join(&name), with_digest).is_ok() {
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

    /// The name tells also what the result was packed against: by another sample it can't be read.
    fn name(&self, hand_in: &blake3::Hash, sample: &[u8]) -> String {
        let mut hasher = blake3::Hasher::new();
        hasher.update(self.settled.as_bytes());
        hasher.update(hand_in.as_bytes());
        hasher.update(sample);
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
