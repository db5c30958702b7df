//! Results as they wait for being written or looked at: a fifth of the room that they take unpacked, so that ten thousand pairs fit where
//! two thousand would.

use std::sync::Arc;

use super::outline::Outline;
use super::result::{HandIn, PairResult};

/// A pair's result as bytes: by what `serde` makes of it, compressed. It is read by the build of the program that wrote it, by no other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed(Box<[u8]>);

impl Packed {
    /// Packs a result, all but what the pair handed in.
    pub fn of(result: &PairResult) -> Self {
        #[expect(
            clippy::expect_used,
            reason = "every part of a result has a length, which is all that is asked"
        )]
        let bytes = postcard::to_stdvec(result).expect("a result is written out");
        Self(lz4_flex::compress_prepend_size(&bytes).into())
    }

    /// What was packed and kept somewhere; none where it can't be read back.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        read(bytes).map(|_| Self(bytes.into()))
    }

    /// The bytes, to be kept.
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }

    /// The result.
    pub fn result(&self) -> PairResult {
        #[expect(
            clippy::expect_used,
            reason = "bytes that can't be read back are not packed in the first place"
        )]
        read(&self.0).expect("a packed result is read back")
    }
}

fn read(bytes: &[u8]) -> Option<PairResult> {
    let bytes = lz4_flex::decompress_size_prepended(bytes).ok()?;
    postcard::from_bytes(&bytes).ok()
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
}

impl From<PairResult> for CohortPair {
    fn from(result: PairResult) -> Self {
        Self {
            outline: Outline::of(&result),
            packed: Packed::of(&result),
            pair: result.pair,
            hand_in: result.hand_in,
        }
    }
}
