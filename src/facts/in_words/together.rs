//! Several facts named together, as a person would list them: by what they are of, not one by one.

use super::{Named, OfWhat, named, of_measure};
use crate::facts::catalogue;
use crate::wording::listed;

/// The same facts of the same tests, of one measure or several.
struct Group {
    facts: Vec<String>,
    of: Vec<OfWhat>,
    measures: Vec<Option<String>>,
}

/// What facts are, listed: `constant error and absolute error of the pre-test and post-test`, `mean of the post-test, for distance too`. Names may
/// be of whole namespaces.
pub fn together(names: &[&str]) -> String {
    let mut names: Vec<&str> = names.to_vec();
    names.sort_by_cached_key(|name| place(name));
    let mut groups: Vec<Group> = Vec::new();
    for name in names {
        let (measure, bare) = of_measure(name);
        let Named { fact, of } = named(bare);
        // First the tests of each fact.
        let found = groups.iter_mut().find(|group| {
            let joins = |known: &OfWhat| {
                of.as_ref()
                    .is_some_and(|of| of.joined_by == known.joined_by)
            };
            group.facts == [fact.as_str()]
                && group.measures == [measure.as_deref().map(str::to_owned)]
                && group.of.first().is_some_and(joins)
        });
        match found {
            Some(group) => group.of.extend(of),
            None => groups.push(Group {
                facts: vec![fact],
                of: of.into_iter().collect(),
                measures: vec![measure],
            }),
        }
    }
    // Then the facts of the same tests, then the measures of the same facts.
    let groups = merged(groups, |one, other| {
        let same = one.of == other.of && one.measures == other.measures;
        same.then(|| one.facts.append(&mut other.facts)).is_some()
    });
    let groups = merged(groups, |one, other| {
        let same = one.of == other.of && one.facts == other.facts;
        same.then(|| one.measures.append(&mut other.measures))
            .is_some()
    });
    let words: Vec<String> = groups.iter().map(Group::in_words).collect();
    words.join("; ")
}

/// Each group taken into the first one that takes it.
fn merged(groups: Vec<Group>, takes: impl Fn(&mut Group, &mut Group) -> bool) -> Vec<Group> {
    let mut merged: Vec<Group> = Vec::new();
    for mut group in groups {
        if !merged.iter_mut().any(|one| takes(one, &mut group)) {
            merged.push(group);
        }
    }
    merged
}

/// Where a fact stands in the registry: its namespace, then its place there; others last.
fn place(name: &str) -> (usize, u16, usize) {
    let (_, bare) = of_measure(name);
    let in_registry = |namespace: &str| {
        let (found, number) = catalogue::find_namespace(namespace)?;
        let mut all = catalogue::NAMESPACES.iter();
        let at = all.position(|known| known.name == found.name)?;
        Some((at, number, found))
    };
    if let Some((at, number, _)) = in_registry(bare) {
        return (at, number, 0);
    }
    let of_fact = || {
        let (namespace, fact) = bare.rsplit_once('.')?;
        let (at, number, found) = in_registry(namespace)?;
        let mut entries = found.entries.iter();
        Some((at, number, entries.position(|entry| entry.name == fact)?))
    };
    of_fact().unwrap_or((usize::MAX, 0, 0))
}

impl Group {
    fn in_words(&self) -> String {
        let mut words = listed(&self.facts);
        if let Some(first) = self.of.first() {
            // `the pre-test, post-test and retention test`
            let titles: Vec<&str> = self
                .of
                .iter()
                .enumerate()
                .map(|(index, of)| match index {
                    0 => of.title.as_str(),
                    _ => of.title.strip_prefix("the ").unwrap_or(&of.title),
                })
                .collect();
            words = format!("{words} {} {}", first.joined_by, listed(&titles));
        }
        let others: Vec<&str> = self.measures.iter().filter_map(Option::as_deref).collect();
        if others.is_empty() {
            words
        } else if self.measures.contains(&None) {
            format!("{words}, for {} too", listed(&others))
        } else {
            format!("{words} ({})", listed(&others))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_of_the_same_tests_are_told_together() {
        assert_eq!(
            together(&[
                "post.ae",
                "post.ce",
                "pre.ae",
                "pre.ce",
                "transfer.ae",
                "transfer.ce"
            ]),
            "constant error and absolute error of the pre-test, post-test and transfer test"
        );
        assert_eq!(
            together(&["post.ae", "pre.ce"]),
            "constant error of the pre-test; absolute error of the post-test"
        );
    }

    #[test]
    fn measures_of_the_same_facts_are_told_together() {
        let of = |name: &str| format!("measure[\"distance\"].{name}");
        let (pre, post, mid) = (of("pre.bve"), of("post.bve"), of("mid"));
        assert_eq!(
            together(&[&pre, &post, "pre.bve", "post.bve"]),
            "bivariate variable error of the pre-test and post-test, for distance too"
        );
        assert_eq!(
            together(&[&pre]),
            "bivariate variable error of the pre-test (distance)"
        );
        assert_eq!(together(&["mid", &mid]), "the mid-test, for distance too");
    }

    #[test]
    fn what_has_words_of_its_own_keeps_them() {
        assert_eq!(
            together(&[
                "retention.days_after",
                "transfer.days_after",
                "technique.mid",
                "technique.post"
            ]),
            "days from the last practice to the retention test and transfer test; technique in the mid-test and post-test"
        );
        assert_eq!(
            together(&["retention_2.mean", "retention.mean"]),
            "mean of the retention test and retention test 2"
        );
        assert_eq!(together(&["no.such", "thing"]), "no such and thing");
    }
}
