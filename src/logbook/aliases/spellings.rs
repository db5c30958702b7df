//! Spellings under their keys, and what each of them may mean.

use std::collections::{HashMap, HashSet};
use std::str::FromStr;

use crate::logbook::spelling::key;

/// The spellings of each name, as the list has them.
pub(super) type Lists = HashMap<String, Vec<String>>;

/// What each spelling may mean, under its key; several things where it is ambiguous.
#[derive(Debug, Clone)]
pub(super) struct Spellings<T>(HashMap<String, Vec<T>>);

impl<T> Default for Spellings<T> {
    fn default() -> Self {
        Self(HashMap::new())
    }
}

impl<T: Copy + PartialEq> Spellings<T> {
    /// The spellings of each of `all`, its name first.
    pub fn of<N: AsRef<str>>(
        lists: &Lists,
        all: impl IntoIterator<Item = T>,
        name: impl Fn(T) -> N,
    ) -> Self {
        let mut spellings = Self::default();
        for meaning in all {
            let name = name(meaning);
            spellings.add(name.as_ref(), meaning);
            for spelling in lists.get(name.as_ref()).into_iter().flatten() {
                spellings.add(spelling, meaning);
            }
        }
        spellings
    }

    /// Adds a meaning to a spelling.
    pub fn add(&mut self, spelling: &str, meaning: T) {
        let meanings = self.0.entry(key(spelling)).or_default();
        if !meanings.contains(&meaning) {
            meanings.push(meaning);
        }
    }

    /// Settles that a spelling means this alone, of what `others` takes in.
    pub fn settle(&mut self, spelling: &str, meaning: T, others: impl Fn(T) -> bool) {
        let meanings = self.0.entry(key(spelling)).or_default();
        meanings.retain(|other| !others(*other));
        meanings.push(meaning);
    }

    /// All that a key may mean.
    pub fn all(&self, key: &str) -> &[T] {
        self.0.get(key).map_or(&[], Vec::as_slice)
    }

    /// What a key means first.
    pub fn first(&self, key: &str) -> Option<T> {
        self.all(key).first().copied()
    }

    /// The keys that mean several things.
    #[cfg(test)]
    pub fn ambiguous(&self) -> Vec<&str> {
        let several = self.0.iter().filter(|(_, meanings)| meanings.len() > 1);
        several.map(|(key, _)| key.as_str()).collect()
    }
}

impl<T: Copy + PartialEq + FromStr + ToString> Spellings<T> {
    /// The spellings of numbers: months, ordinals.
    pub fn of_numbers(lists: &Lists) -> Self {
        let numbers = lists.keys().filter_map(|number| number.parse().ok());
        Self::of(lists, numbers, |number: T| number.to_string())
    }
}

/// The keys of words that have no more to say than that they are of this kind.
pub(super) fn words(lists: &Lists) -> HashSet<String> {
    lists.values().flatten().map(|word| key(word)).collect()
}
