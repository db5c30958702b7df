//! Results of earlier runs, kept so that a hand-in that is as it was is not examined again.
//!
//! A result is kept under a digest of everything that it follows from: the hand-in's files, what the course settles, the roster, what markers
//! typed, and the program itself, byte for byte. So nothing has to be told that it is out of date: what has changed in any way has another
//! digest, and is examined. So is what is no longer byte for byte what was kept. The file may be deleted at any time.
//!
//! All are in one file, one after the other, in the order of the hand-ins: a name of 32 bytes, the length as four (the lowest first), a digest
//! of 32, and as many bytes as were said. The first is what the others are packed against.

use std::collections::HashMap;
use std::fmt::Debug;
use std::fs::{self, File};
use std::io::{self, BufReader, Read as _, Seek as _, SeekFrom};
use std::path::{Path, PathBuf};
use std::sync::Mutex;

use super::outline::Outline;
use super::packed::{Packed, Packer, Sample};
use crate::atomic::Replacement;
use crate::checks::PairTrace;
use crate::cohort::matching::Match;

/// The file, in the folder of what is written out.
pub const FILE: &str = ".evenhand-kept";

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
    path: PathBuf,
    /// Digest of everything but the hand-in that a result follows from.
    settled: blake3::Hash,
    /// What earlier runs kept, where they did.
    earlier: Option<Earlier>,
    /// Whether this run keeps its results.
    adds: bool,
}

/// The file of an earlier run.
#[derive(Debug)]
struct Earlier {
    file: Mutex<File>,
    /// Where each record's digest begins, and how many bytes follow it.
    places: HashMap<[u8; 32], (u64, u32)>,
}

impl Kept {
    /// The results kept in a folder of what is written out, for a run in which all this is settled; it keeps its own where it `adds`.
    /// None where the program can't tell which program it is.
    pub fn of(out: &Path, settled: &dyn Debug, adds: bool) -> Option<Self> {
        let mut hasher = blake3::Hasher::new();
        let program = File::open(std::env::current_exe().ok()?).ok()?;
        hasher.update_reader(program).ok()?;
        hasher.update(format!("{settled:?}").as_bytes());
        let path = out.join(FILE);
        Some(Self {
            earlier: File::open(&path).ok().map(Earlier::of),
            path,
            settled: hasher.finalize(),
            adds,
        })
    }

    /// Packs as the earlier runs did, or against a sample of its own where they left none.
    pub fn packer(&self) -> Packer {
        let sample = self
            .earlier
            .as_ref()
            .and_then(|earlier| earlier.read(&sample_name()));
        sample.map_or_else(Packer::default, Packer::with_sample)
    }

    /// What examining the hand-in with this digest of its files gave.
    pub fn find(&self, hand_in: &blake3::Hash, packer: &Packer) -> Option<KeptResult> {
        let sample = packer.sample()?;
        let bytes = self.earlier.as_ref()?.read(&self.name(hand_in, sample))?;
        let ((whose, outline, trace, length), packed) = postcard::take_from_bytes(&bytes).ok()?;
        Some(KeptResult {
            whose,
            outline,
            trace,
            packed: Packed::kept(&sample.bytes, length, packed)?,
        })
    }

    /// Keeps what examining these hand-ins gave, and nothing else. What can't be kept is no loss: it is computed again.
    pub fn replace<'a>(
        &self,
        packer: &Packer,
        results: impl Iterator<Item = (&'a blake3::Hash, &'a KeptResult)>,
    ) {
        if self.adds
            && let Some(sample) = packer.sample()
        {
            self.try_to_replace(sample, results).ok();
        }
    }

    fn try_to_replace<'a>(
        &self,
        sample: &Sample,
        results: impl Iterator<Item = (&'a blake3::Hash, &'a KeptResult)>,
    ) -> io::Result<()> {
        if self.path.is_dir() {
            // Earlier versions had a folder here.
            fs::remove_dir_all(&self.path)?;
        }
        let mut file = Replacement::begin(self.path.clone())?;
        write_record(&mut file, &sample_name(), &sample.bytes)?;
        for (hand_in, result) in results {
            let packed = &result.packed;
            let before = (&result.whose, &result.outline, &result.trace, packed.length);
            let mut bytes = postcard::to_stdvec(&before).map_err(io::Error::other)?;
            bytes.extend_from_slice(&packed.bytes);
            write_record(&mut file, &self.name(hand_in, sample), &bytes)?;
        }
        file.finish_without_waiting()
    }

    /// The name tells also what the result was packed against: by another sample it can't be read.
    fn name(&self, hand_in: &blake3::Hash, sample: &Sample) -> [u8; 32] {
        let mut hasher = blake3::Hasher::new();
        hasher.update(self.settled.as_bytes());
        hasher.update(hand_in.as_bytes());
        hasher.update(sample.digest.as_bytes());
        hasher.finalize().into()
    }
}

fn sample_name() -> [u8; 32] {
    blake3::hash(b"sample").into()
}

fn write_record(file: &mut Replacement, name: &[u8; 32], bytes: &[u8]) -> io::Result<()> {
    let length = u32::try_from(bytes.len()).map_err(io::Error::other)?;
    file.write(name)?;
    file.write(&length.to_le_bytes())?;
    file.write(blake3::hash(bytes).as_bytes())?;
    file.write(bytes)
}

impl Earlier {
    /// Finds the records of a file, as far as it is whole.
    fn of(file: File) -> Self {
        let mut places = HashMap::new();
        let mut reader = BufReader::new(file);
        let mut at = 0_u64;
        while let Some((name, length)) = header(&mut reader) {
            at += 36;
            places.insert(name, (at, length));
            let record = 32 + u64::from(length);
            at += record;
            let Ok(record) = i64::try_from(record) else {
                break;
            };
            if reader.seek_relative(record).is_err() {
                break;
            }
        }
        Self {
            file: Mutex::new(reader.into_inner()),
            places,
        }
    }

    /// What a record holds, where it is as it was written.
    fn read(&self, name: &[u8; 32]) -> Option<Vec<u8>> {
        let (at, length) = self.places.get(name)?;
        let mut digest = [0; 32];
        let mut bytes = Vec::new();
        {
            let mut file = self.file.lock().ok()?;
            file.seek(SeekFrom::Start(*at)).ok()?;
            file.read_exact(&mut digest).ok()?;
            let taken = (&*file).take(u64::from(*length)).read_to_end(&mut bytes);
            taken.ok()?;
        }
        (*blake3::hash(&bytes).as_bytes() == digest).then_some(bytes)
    }
}

/// The name and the length with which a record begins; none at the end of the file.
fn header(reader: &mut BufReader<File>) -> Option<([u8; 32], u32)> {
    let mut name = [0; 32];
    let mut length = [0; 4];
    reader.read_exact(&mut name).ok()?;
    reader.read_exact(&mut length).ok()?;
    Some((name, u32::from_le_bytes(length)))
}

/// Takes away all results that are kept in a folder of what is written out.
///
/// # Errors
/// They can't be removed.
pub fn forget(out: &Path) -> io::Result<()> {
    let path = out.join(FILE);
    let removed = if path.is_dir() {
        fs::remove_dir_all(path)
    } else {
        fs::remove_file(path)
    };
    match removed {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}
