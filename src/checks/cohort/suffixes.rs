//! Longest stretches that texts of different owners have in common, through a suffix array: time grows with n log n, never with all pairs.
//!
//! Source: Manber & Myers 1993, SIAM Journal on Computing 22:935–948 (suffix arrays by doubling); Kasai et al. 2001, CPM, LNCS 2089:181–192
//! (longest common prefixes).

/// A stretch of one text that another owner's text has too.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Shared {
    /// Where it begins.
    pub at: usize,
    /// Where it begins in the other owner's text.
    pub other: usize,
    /// How long it is.
    pub length: usize,
}

/// For each place, a longest stretch from there that another owner has too, on either side in the order of suffixes: those of at least
/// `least`, and only where it doesn't begin earlier. `text` must hold a symbol of its own after each owner's part, so that no stretch runs
/// over its end.
pub(super) fn shared_stretches(text: &[u32], owner: &[u32], least: usize) -> Vec<Shared> {
    let suffixes = suffix_array(text);
    let common = common_prefixes(text, &suffixes);
    let mut found = Vec::new();
    let forward = suffixes.iter().copied().zip(common.iter().copied());
    neighbours(forward, text, owner, least, &mut found);
    // Backwards, what a suffix has in common with the one walked before is what that one has with it.
    let behind = std::iter::once(0).chain(common.iter().rev().copied());
    let backward = suffixes.iter().rev().copied().zip(behind);
    neighbours(backward, text, owner, least, &mut found);
    found
}

/// Walks suffixes in one direction and matches each with the nearest one of another owner behind it.
fn neighbours(
    walk: impl Iterator<Item = (u32, u32)>,
    text: &[u32],
    owner: &[u32],
    least: usize,
    found: &mut Vec<Shared>,
) {
    // The last suffix seen, and the last one of any other owner than its; each with the prefix in common with the current one.
    let mut last: Option<(u32, usize, u32)> = None;
    let mut before: Option<(u32, usize, u32)> = None;
    for (suffix, common) in walk {
        let at = suffix as usize;
        let Some(&own) = owner.get(at) else { continue };
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
            && !begins_earlier(text, at, other)
        {
            found.push(Shared {
                at,
                other,
                length: length as usize,
            });
        }
        if last.is_some_and(|(whose, ..)| whose != own) {
            before = last;
        }
        last = Some((own, at, u32::MAX));
    }
}

fn begins_earlier(text: &[u32], at: usize, other: usize) -> bool {
    match (at.checked_sub(1), other.checked_sub(1)) {
        (Some(at), Some(other)) => text.get(at) == text.get(other),
        _ => false,
    }
}

/// The suffixes in order, by doubling the length to which they are sorted.
fn suffix_array(text: &[u32]) -> Vec<u32> {
    let n = text.len();
    let mut order: Vec<u32> = (0..u32::try_from(n).unwrap_or(u32::MAX)).collect();
    let mut rank: Vec<u32> = text.to_vec();
    let mut keyed: Vec<(u64, u32)> = Vec::with_capacity(n);
    let mut length = 0;
    loop {
        keyed.clear();
        keyed.extend(order.iter().map(|suffix| {
            let at = *suffix as usize;
            let high = rank.get(at).copied().unwrap_or(0);
            // Before the first doubling one symbol alone is compared.
            let low = if length == 0 {
                0
            } else {
                rank.get(at + length).map_or(0, |rank| rank + 1)
            };
            (u64::from(high) << 32 | u64::from(low), *suffix)
        }));
        keyed.sort_unstable();
        let mut place = 0_u32;
        let mut previous = None;
        for ((key, suffix), slot) in keyed.iter().zip(order.iter_mut()) {
            if previous.is_some_and(|previous| previous != *key) {
                place += 1;
            }
            previous = Some(*key);
            *slot = *suffix;
            if let Some(rank) = rank.get_mut(*suffix as usize) {
                *rank = place;
            }
        }
        if place as usize + 1 >= n || length > n {
            return order;
        }
        length = if length == 0 { 1 } else { 2 * length };
    }
}

/// The prefix that each suffix has in common with the one before it in order.
fn common_prefixes(text: &[u32], suffixes: &[u32]) -> Vec<u32> {
    let n = text.len();
    let mut rank = vec![0_usize; n];
    for (place, suffix) in suffixes.iter().enumerate() {
        if let Some(rank) = rank.get_mut(*suffix as usize) {
            *rank = place;
        }
    }
    let mut common = vec![0_u32; n];
    let mut length = 0_usize;
    for (at, place) in rank.iter().enumerate() {
        let Some(before) = place.checked_sub(1).and_then(|before| suffixes.get(before)) else {
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
        if let Some(common) = common.get_mut(*place) {
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
        assert_eq!(suffix_array(&[2, 1, 3, 1, 3, 1]), [5, 3, 1, 0, 4, 2]);
        assert_eq!(
            common_prefixes(&[2, 1, 3, 1, 3, 1], &[5, 3, 1, 0, 4, 2]),
            [0, 1, 3, 0, 0, 2]
        );
    }

    proptest! {
        /// Against all pairs compared one by one.
        #[test]
        fn the_longest_shared_stretch_from_each_place_is_found(
            texts in prop::collection::vec(prop::collection::vec(0_u32..3, 0..12), 2..5)
        ) {
            let (text, owner) = joined(&texts);
            let found = shared_stretches(&text, &owner, 1);
            for shared in &found {
                prop_assert_ne!(owner[shared.at], owner[shared.other]);
                let same = (0..shared.length).all(|i| text[shared.at + i] == text[shared.other + i]);
                prop_assert!(same);
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
                    .filter(|shared| shared.at <= at)
                    .map(|shared| (shared.at + shared.length).saturating_sub(at))
                    .max()
                    .unwrap_or(0);
                prop_assert!(reached >= longest, "{at}: {reached} < {longest}");
            }
        }
    }
}
