//! Which facts have a value: a bit a name, where the registry has the name, so that a cohort's thousands of pairs can be added up.

use std::collections::BTreeSet;

use super::catalogue;
use super::value::Facts;

/// Names of facts, without the measure of which they speak.
#[derive(Debug, Clone, Default, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct NameSet {
    /// A bit for each place in the registry.
    registered: Vec<u64>,
    /// Numbered tests' names.
    others: BTreeSet<String>,
}

impl NameSet {
    /// The facts of a pair that have a value.
    pub fn of(facts: &Facts) -> Self {
        let mut names = Self::default();
        for (name, _) in facts.iter() {
            match catalogue::split_measure(name) {
                Some((_, bare)) => names.insert(bare),
                None => names.insert(name),
            }
        }
        names
    }

    fn insert(&mut self, name: &str) {
        let Some(place) = catalogue::place_of(name) else {
            self.others.insert(name.to_owned());
            return;
        };
        let word = usize::from(place / 64);
        if self.registered.len() <= word {
            self.registered.resize(word + 1, 0);
        }
        if let Some(bits) = self.registered.get_mut(word) {
            *bits |= 1 << (place % 64);
        }
    }

    /// Adds all names of another set.
    pub fn add(&mut self, other: &Self) {
        if self.registered.len() < other.registered.len() {
            self.registered.resize(other.registered.len(), 0);
        }
        for (own, others) in self.registered.iter_mut().zip(&other.registered) {
            *own |= others;
        }
        for name in &other.others {
            if !self.others.contains(name) {
                self.others.insert(name.clone());
            }
        }
    }

    /// The names, sorted.
    pub fn names(&self) -> Vec<&str> {
        let bits = self
            .registered
            .iter()
            .flat_map(|word| (0..64).map(move |bit| word >> bit & 1 == 1));
        let registered = (0_u16..).zip(bits).filter(|(_, is_there)| *is_there);
        let registered = registered.filter_map(|(place, _)| catalogue::at_place(place));
        let mut names: Vec<&str> = registered.collect();
        names.extend(self.others.iter().map(String::as_str));
        names.sort_unstable();
        names
    }
}

#[cfg(test)]
mod tests {
    use super::super::value::FactValue;
    use super::*;

    fn facts(names: &[&'static str]) -> Facts {
        let mut facts = Facts::of_primary("score".into());
        for name in names {
            facts.set(*name, FactValue::Number(1.0));
        }
        facts
    }

    #[test]
    fn sets_of_pairs_add_up_to_all_names_in_order() {
        let mut one = NameSet::of(&facts(&["pre.n", "retention_2.n", "measure[\"b\"].post.n"]));
        let mut other = facts(&["about.consent", "pre.n"]);
        other.leave_out("pre.mean", "no trials");
        one.add(&NameSet::of(&other));
        assert_eq!(
            one.names(),
            ["about.consent", "post.n", "pre.n", "retention_2.n"]
        );
        let mut empty = NameSet::default();
        empty.add(&one);
        assert_eq!(empty.names(), one.names());
    }
}
