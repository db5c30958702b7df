//! A run of numbers shared between selections: the first five trials are a part of all trials, not another list.

use std::ops::{Deref, Range};
use std::rc::Rc;

/// Consecutive numbers of a shared list.
#[derive(Debug, Clone)]
pub struct Part<T> {
    all: Rc<[T]>,
    range: Range<usize>,
}

impl<T> Part<T> {
    /// A part of this one, cut at its ends.
    pub fn part(&self, range: Range<usize>) -> Self {
        let length = self.range.len();
        let (start, end) = (range.start.min(length), range.end.min(length));
        Self {
            all: Rc::clone(&self.all),
            range: self.range.start + start..self.range.start + end.max(start),
        }
    }
}

impl<T> Default for Part<T> {
    fn default() -> Self {
        std::iter::empty().collect()
    }
}

impl<T> Deref for Part<T> {
    type Target = [T];

    fn deref(&self) -> &[T] {
        self.all.get(self.range.clone()).unwrap_or_default()
    }
}

impl<'a, T> IntoIterator for &'a Part<T> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<T> FromIterator<T> for Part<T> {
    fn from_iter<I: IntoIterator<Item = T>>(items: I) -> Self {
        let all: Rc<[T]> = items.into_iter().collect();
        let range = 0..all.len();
        Self { all, range }
    }
}

#[cfg(test)]
mod tests {
    use super::Part;

    #[test]
    fn a_part_of_a_part_is_counted_from_its_own_start() {
        let all: Part<u8> = (1..=5).collect();
        let later = all.part(2..5);
        assert_eq!(&*later, [3, 4, 5]);
        assert_eq!(&*later.part(1..2), [4]);
        assert_eq!(&*later.part(2..9), [5]);
        assert!(later.part(7..9).is_empty());
    }
}
