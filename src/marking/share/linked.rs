//! Whether the pairs that markers share link all of them: severity can't be told apart from luck between markers that nothing links.

use std::collections::BTreeMap;

/// Groups of markers who are linked by pairs that they share, directly or over others.
#[derive(Debug, Clone)]
pub(super) struct Links {
    group: BTreeMap<String, usize>,
}

impl Links {
    /// No marker is linked to another.
    pub(super) fn none<'a>(markers: impl Iterator<Item = &'a String>) -> Self {
        let mut group = BTreeMap::new();
        for marker in markers {
            let next = group.len();
            group.entry(marker.clone()).or_insert(next);
        }
        Self { group }
    }

    /// Two markers share a pair.
    pub(super) fn link(&mut self, a: &str, b: &str) {
        if let (Some(from), Some(to)) = (self.group.get(a).copied(), self.group.get(b).copied()) {
            for group in self.group.values_mut().filter(|group| **group == from) {
                *group = to;
            }
        }
    }

    /// Whether two markers are linked. Somebody who is no marker is linked to nobody.
    pub(super) fn linked(&self, a: &str, b: &str) -> bool {
        matches!((self.group.get(a), self.group.get(b)), (Some(a), Some(b)) if a == b)
    }

    /// Whether all markers are linked.
    pub(super) fn all(&self) -> bool {
        let mut groups = self.group.values();
        let first = groups.next();
        groups.all(|group| Some(group) == first)
    }

    /// Whether there is such a marker.
    pub(super) fn has(&self, marker: &str) -> bool {
        self.group.contains_key(marker)
    }
}
