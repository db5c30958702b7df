//! Longest stretches that texts of different owners have in common, through a suffix array: time grows with n log n, never with all pairs.
//!
//! Source: Manber & Myers 1993, SIAM Journal on Computing 22:935–948 (suffix arrays by doubling); Kasai et al. 2001, CPM, LNCS 2089:181–192
//! (longest common prefixes); Larsson & Sadakane 2007, Theoretical Computer Science 387:258–272 (sorting on only what is still alike).

use std::ops::Range;

use rayon::prelude::*;

/// A stretch of one text that another owner's text has too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shared {
    /// Where it begins.
    pub at: u32,
    /// Where it begins in the other owner's text.
    pub other: u32,
    /// How long it is.
    pub length: u32,
}

impl Shared {
    /// Its places, and those in the other owner's text.
    pub fn places(self) -> impl Iterator<Item = (usize, usize)> {
        let (at, other) = (self.at as usize, self.other as usize);
        (0..self.length as usize).map(move |i| (at + i, other + i))
    }
}

/// For each place, a longest stretch from there that another owner has too, on either side in the order of suffixes: those of at least
/// `least` that are wanted, and only where it doesn't begin earlier. `text` must hold a symbol of its own after each owner's part, so that
/// no stretch runs over its end; `suffixes` are its own.
pub(super) fn shared_stretches(
    suffixes: Suffixes,
    text: &[u32],
    owner: &[u32],
    least: usize,
    is_wanted: impl Fn(&Shared) -> bool + Sync,
) -> Vec<Shared> {
    let Suffixes { order, rank } = suffixes;
    let common = common_prefixes(text, &order, &rank);
    drop(rank);
    let forward = order.iter().copied().zip(common.iter().copied());
    // Backwards, what a suffix has in common with the one walked before is what that one has with it.
    let behind = std::iter::once(0).chain(common.iter().rev().copied());
    let backward = order.iter().rev().copied().zip(behind);
    let (mut found, behind) = rayon::join(
        || neighbours(forward, text, owner, least, &is_wanted),
        || neighbours(backward, text, owner, least, &is_wanted),
    );
    found.extend(behind);
    found
}

/// Walks suffixes in one direction and matches each with the nearest one of another owner behind it.
fn neighbours(
    walk: impl Iterator<Item = (u32, u32)>,
    text: &[u32],
    owner: &[u32],
    least: usize,
    is_wanted: impl Fn(&Shared) -> bool,
) -> Vec<Shared> {
    let mut found = Vec::new();
    // The last suffix seen, and the last one of any other owner than its; each with the prefix in common with the current one.
    let mut last: Option<(u32, u32, u32)> = None;
    let mut before: Option<(u32, u32, u32)> = None;
    for (at, common) in walk {
        let Some(&own) = owner.get(at as usize) else {
            continue;
        };
        for (_, _, prefix) in [&mut last, &mut before].into_iter().flatten() {
            *prefix = common.min(*prefix);
        }
        let other = if last.is_some_and(|(whose, ..)| whose != own) {
            last
        } else {
            before
        };
        if let Some((_, other, length)) = other
            && length as usize >= least
            && !begins_earlier(text, at as usize, other as usize)
        {
            let shared = Shared { at, other, length };
            if is_wanted(&shared) {
                found.push(shared);
            }
        }
        if last.is_some_and(|(whose, ..)| whose != own) {
            before = last;
        }
        last = Some((own, at, u32::MAX));
    }
    found
}

fn begins_earlier(text: &[u32], at: usize, other: usize) -> bool {
    match (at.checked_sub(1), other.checked_sub(1)) {
        (Some(at), Some(other)) => text.get(at) == text.get(other),
        _ => false,
    }
}

/// The suffixes of a text.
pub(super) struct Suffixes {
    /// Where each begins, in order.
    order: Vec<u32>,
    /// The place in that order of the suffix that begins at each place of the text.
    rank: Vec<u32>,
}

impl Suffixes {
    /// Sorts them by their first symbols, and then those still alike by ever twice as many.
    pub fn of(text: &[u32]) -> Self {
        let mut found = Self {
            order: vec![0; text.len()],
            rank: vec![0; text.len()],
        };
        let (mut length, mut keyed) = by_first_symbols(text);
        keyed.par_sort_unstable();
        let mut alike = Vec::new();
        found.settle(&keyed, 0, &mut alike);
        while !alike.is_empty() && length <= text.len() {
            for places in std::mem::take(&mut alike) {
                keyed.clear();
                let suffixes = found.order.get(places.clone()).unwrap_or_default();
                keyed.extend(suffixes.iter().map(|suffix| {
                    let rest = found.rank.get(*suffix as usize + length);
                    let key = rest.map_or(0, |rank| u64::from(*rank) + 1);
                    (Key::of(key), *suffix)
                }));
                keyed.sort_unstable();
                found.settle(&keyed, places.start, &mut alike);
            }
            length *= 2;
        }
        found
    }

    /// Takes suffixes in order of their keys for the places from `first` on. Those of one key have the rank of the first of them, and the
    /// places of these are still to be sorted.
    fn settle(&mut self, keyed: &[(Key, u32)], first: usize, alike: &mut Vec<Range<usize>>) {
        let mut place = first;
        for same in keyed.chunk_by(|a, b| a.0 == b.0) {
            let places = place..place + same.len();
            let slots = self.order.get_mut(places.clone()).unwrap_or_default();
            for (slot, (_, suffix)) in slots.iter_mut().zip(same) {
                *slot = *suffix;
                if let Some(rank) = self.rank.get_mut(*suffix as usize) {
                    *rank = u32::try_from(place).unwrap_or(u32::MAX);
                }
            }
            place = places.end;
            if same.len() > 1 {
                alike.push(places);
            }
        }
    }
}

/// What suffixes are sorted by: 64 bits in halves, so that a key and its suffix take twelve bytes and not sixteen. All suffixes of a cohort
/// with their keys are the most that a check ever holds.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Key {
    upper: u32,
    lower: u32,
}

impl Key {
    #[expect(clippy::cast_possible_truncation, reason = "each half has 32 bits")]
    fn of(bits: u64) -> Self {
        Self {
            upper: (bits >> 32) as u32,
            lower: bits as u32,
        }
    }
}

/// Each suffix with as many of its first symbols as fit into 64 bits, and how many these are.
fn by_first_symbols(text: &[u32]) -> (usize, Vec<(Key, u32)>) {
    // 0 stands for what lies behind the text, so that a suffix comes before those that it begins.
    let largest = u64::from(text.iter().copied().max().unwrap_or(0)) + 1;
    let bits = largest.ilog2() + 1;
    let symbols = u64::BITS / bits;
    let mut keyed = Vec::with_capacity(text.len());
    let mut key = 0_u64;
    for (at, symbol) in text.iter().enumerate().rev() {
        // The symbols behind move on by one, and the last of them falls out.
        key >>= bits;
        key |= (u64::from(*symbol) + 1) << (bits * (symbols - 1));
        keyed.push((Key::of(key), u32::try_from(at).unwrap_or(u32::MAX)));
    }
    (symbols as usize, keyed)
}

/// The prefix that each suffix has in common with the one before it in order.
fn common_prefixes(text: &[u32], order: &[u32], rank: &[u32]) -> Vec<u32> {
    let n = text.len();
    let mut common = vec![0_u32; n];
    let mut length = 0_usize;
    for (at, place) in rank.iter().enumerate() {
        let place = *place as usize;
        let Some(before) = place.checked_sub(1).and_then(|before| order.get(before)) else {
            length = 0;
            continue;
        };
        let before = *before as usize;
        while at + length < n
            && before + length < n
            && text.get(at + length) == text.get(before + length)
        {
            length += 1;
        }
        if let Some(common) = common.get_mut(place) {
            *common = u32::try_from(length).unwrap_or(u32::MAX);
        }
        length = length.saturating_sub(1);
    }
    common
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Texts of several owners in one, each with an end of its own.
    fn joined(texts: &[Vec<u32>]) -> (Vec<u32>, Vec<u32>) {
        let (mut text, mut owner) = (Vec::new(), Vec::new());
        for (whose, symbols) in (0_u32..).zip(texts) {
            text.extend(symbols);
            text.push(1_000 + whose);
            owner.extend(std::iter::repeat_n(whose, symbols.len() + 1));
        }
        (text, owner)
    }

    #[test]
    fn banana_in_order() {
        // "banana" with a=1, b=2, n=3: Manber & Myers' order of its suffixes.
        let text = [2, 1, 3, 1, 3, 1];
        let Suffixes { order, rank } = Suffixes::of(&text);
        assert_eq!(order, [5, 3, 1, 0, 4, 2]);
        assert_eq!(common_prefixes(&text, &order, &rank), [0, 1, 3, 0, 0, 2]);
    }

    proptest! {
        /// Against sorting whole suffixes. Symbols of 24 bits, so that a key holds two of them and runs have to be doubled.
        #[test]
        fn suffixes_are_in_order(
            text in prop::collection::vec(0_u32..3, 0..60),
            wide in any::<bool>(),
        ) {
            let text: Vec<u32> = text.iter().map(|symbol| symbol << if wide { 22 } else { 0 }).collect();
            let mut expected: Vec<u32> = (0..u32::try_from(text.len()).unwrap()).collect();
            expected.sort_by_key(|at| &text[*at as usize..]);
            let Suffixes { order, rank } = Suffixes::of(&text);
            for (place, at) in order.iter().enumerate() {
                prop_assert_eq!(rank[*at as usize] as usize, place);
            }
            prop_assert_eq!(order, expected);
        }

        /// Against all pairs compared one by one.
        #[test]
        fn the_longest_shared_stretch_from_each_place_is_found(
            texts in prop::collection::vec(prop::collection::vec(0_u32..3, 0..12), 2..5)
        ) {
            let (text, owner) = joined(&texts);
            let found = shared_stretches(Suffixes::of(&text), &text, &owner, 1, |_| true);
            for shared in &found {
                for (at, other) in shared.places() {
                    prop_assert_ne!(owner[at], owner[other]);
                    prop_assert_eq!(text[at], text[other]);
                }
            }
            for at in 0..text.len() {
                let longest = (0..text.len())
                    .filter(|other| owner[*other] != owner[at])
                    .map(|other| {
                        let ahead = text.len() - at.max(other);
                        (0..ahead).take_while(|i| text[at + i] == text[other + i]).count()
                    })
                    .max()
                    .unwrap_or(0);
                // Those that begin earlier are found from their beginning.
                let reached = found
                    .iter()
                    .filter(|shared| shared.at as usize <= at)
                    .map(|shared| ((shared.at + shared.length) as usize).saturating_sub(at))
                    .max()
                    .unwrap_or(0);
                prop_assert!(reached >= longest, "{at}: {reached} < {longest}");
            }
        }
    }
}
