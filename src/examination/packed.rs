//! Results as they wait for being written or looked at. A cohort's results are much alike, in the models' sentences, the rubric's and the
//! checks': each is packed as what it has besides another, which takes a twentieth of the room.

use std::sync::{Arc, OnceLock};

use lz4_flex::block::{compress_with_dict, decompress_with_dict};

use super::outline::Outline;
use super::result::{HandIn, PairResult};

/// Bytes of a result that others are packed against: the compression looks back no further.
const SAMPLE: usize = 60_000;

/// Packs results against a sample: the first that it packs, or one from an earlier run.
#[derive(Debug, Default)]
pub struct Packer {
    sample: OnceLock<Sample>,
}

/// What is packed against.
#[derive(Debug)]
pub struct Sample {
    /// A result, or as much of it as is looked back to.
    pub bytes: Arc<[u8]>,
    /// Its digest.
    pub digest: blake3::Hash,
}

impl From<Vec<u8>> for Sample {
    fn from(bytes: Vec<u8>) -> Self {
        Self {
            digest: blake3::hash(&bytes),
            bytes: bytes.into(),
        }
    }
}

impl Packer {
    /// Packs against what an earlier run packed against.
    pub fn with_sample(sample: Vec<u8>) -> Self {
        Self {
            sample: OnceLock::from(Sample::from(sample)),
        }
    }

    /// What is packed against; none before the first result.
    pub fn sample(&self) -> Option<&Sample> {
        self.sample.get()
    }

    /// Packs a result, all but what the pair handed in.
    pub fn pack(&self, result: &PairResult) -> Packed {
        let bytes = written_out(result);
        let sample = self.sample.get_or_init(|| {
            let first: Vec<u8> = bytes.iter().copied().take(SAMPLE).collect();
            first.into()
        });
        Packed::against(&sample.bytes, &bytes)
    }
}

/// A pair's result as bytes: by what `serde` makes of it, compressed. It is read by the build of the program that wrote it, by no other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    sample: Arc<[u8]>,
    /// How many bytes the result has unpacked.
    pub length: usize,
    /// The packed bytes.
    pub bytes: Box<[u8]>,
}

impl Packed {
    /// What was packed against this sample and kept somewhere; none where it can't be read back.
    pub fn kept(sample: &Arc<[u8]>, length: usize, bytes: &[u8]) -> Option<Self> {
        let packed = Self::new(sample, length, bytes);
        packed.read().map(|_| packed)
    }

    fn new(sample: &Arc<[u8]>, length: usize, bytes: &[u8]) -> Self {
        Self {
            sample: sample.clone(),
            length,
            bytes: bytes.into(),
        }
    }

    fn against(sample: &Arc<[u8]>, bytes: &[u8]) -> Self {
        Self::new(sample, bytes.len(), &compress_with_dict(bytes, sample))
    }

    fn read(&self) -> Option<PairResult> {
        // No byte packed stands for more than this many.
        if self.length > self.bytes.len().saturating_mul(255) + self.sample.len() {
            return None;
        }
        let bytes = decompress_with_dict(&self.bytes, self.length, &self.sample).ok()?;
        if bytes.len() != self.length {
            return None;
        }
        postcard::from_bytes(&bytes).ok()
    }

    /// The result.
    ///
    /// # Panics
    /// Never: what is packed here, and what was kept, is read back.
    #[expect(
        clippy::expect_used,
        reason = "nothing from outside comes between packing and unpacking but what `kept` has tried"
    )]
    pub fn result(&self) -> PairResult {
        self.read().expect("a packed result is read back")
    }
}

#[expect(
    clippy::expect_used,
    reason = "serde refuses only what has no length, and no part of a result is such"
)]
fn written_out(result: &PairResult) -> Vec<u8> {
    postcard::to_stdvec(result).expect("a result is written out")
}

/// One pair of a cohort: what it comes to, and its result, packed.
#[derive(Debug, Clone)]
pub struct CohortPair {
    /// The pair's id.
    pub pair: Arc<str>,
    /// What it handed in; none where nothing was, or nothing could be read.
    pub hand_in: Option<HandIn>,
    /// What its result comes to.
    pub outline: Outline,
    packed: Packed,
}

impl CohortPair {
    /// A pair with a result that was packed before.
    pub fn of_packed(pair: Arc<str>, hand_in: HandIn, outline: Outline, packed: Packed) -> Self {
        Self {
            pair,
            hand_in: Some(hand_in),
            outline,
            packed,
        }
    }

    /// The result, unpacked.
    pub fn result(&self) -> PairResult {
        PairResult {
            pair: self.pair.clone(),
            hand_in: self.hand_in.clone(),
            ..self.packed.result()
        }
    }

    /// Packs another result in its place.
    pub fn replace(&mut self, result: &PairResult) {
        self.outline = Outline::of(result);
        self.packed = Packed::against(&self.packed.sample, &written_out(result));
    }
}

/// Packed by itself.
impl From<PairResult> for CohortPair {
    fn from(result: PairResult) -> Self {
        Self {
            outline: Outline::of(&result),
            packed: Packed::against(&Arc::default(), &written_out(&result)),
            pair: result.pair,
            hand_in: result.hand_in,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn result(message: &str) -> PairResult {
        PairResult {
            skill: Some(message.into()),
            ..PairResult::default()
        }
    }

    #[test]
    fn results_are_packed_against_the_first_and_read_back() {
        let packer = Packer::default();
        let long = "A sentence that many results have in common, word for word. ".repeat(9);
        let first = packer.pack(&result(&long));
        let second = packer.pack(&result(&(long.clone() + "And one more.")));
        assert!(second.bytes.len() < 60 && second.length > 500);
        assert_eq!(first.result().skill.as_deref(), Some(long.as_str()));
        let skill = second.result().skill.unwrap();
        assert!(skill.ends_with("And one more."));
        // As a later run has it.
        let sample = packer.sample().unwrap().bytes.to_vec();
        let later = Packer::with_sample(sample);
        let kept = Packed::kept(&later.sample().unwrap().bytes, second.length, &second.bytes);
        assert_eq!(kept.as_ref(), Some(&second));
        let sample = &later.sample().unwrap().bytes;
        for length in [0, second.length + 1, usize::MAX] {
            assert_eq!(Packed::kept(sample, length, &second.bytes), None);
        }
        assert_eq!(Packed::kept(sample, 9, b"strange"), None);
    }
}
