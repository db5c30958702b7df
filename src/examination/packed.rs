//! Results as they wait for being written or looked at: a fifth of the room that they take unpacked, so that ten thousand pairs fit where
//! two thousand would.

use std::sync::Arc;

use super::outline::Outline;
use super::result::{HandIn, PairResult};

/// A pair's result as bytes: by what `serde` makes of it, compressed. It is read by the build of the program that wrote it, by no other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed(Box<[u8]>);

#[expect(
    clippy::expect_used,
    reason = "what this build of the program packs it unpacks: nothing from outside is between"
)]
impl Packed {
    /// Packs a result, all but what the pair handed in.
    ///
    /// # Panics
    /// Never: `serde` refuses only what has no length, and no part of a result is such.
    pub fn of(result: &PairResult) -> Self {
        let bytes = postcard::to_stdvec(result).expect("a result is written out");
        Self(lz4_flex::compress_prepend_size(&bytes).into())
    }

    /// What was packed by this build of the program and kept somewhere, byte for byte.
    pub fn from_bytes(bytes: &[u8]) -> Self {
        Self(bytes.into())
    }

    /// The bytes, to be kept.
    pub fn as_bytes(&self) -> &[u8] {
        &self.0
    }

    /// The result.
    ///
    /// # Panics
    /// On bytes that this build of the program has not packed.
    pub fn result(&self) -> PairResult {
        let bytes = lz4_flex::decompress_size_prepended(&self.0).expect("a packed result");
        postcard::from_bytes(&bytes).expect("a packed result")
    }
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
