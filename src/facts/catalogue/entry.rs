//! One fact of the registry, and one namespace.

use crate::facts::value::FactKind;

/// What the registry says of one fact of a namespace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Entry {
    /// Its name within the namespace: `mean`.
    pub name: &'static str,
    /// Its type.
    pub kind: FactKind,
    /// Its unit; empty where it has none. `score` stands for the measure's own unit.
    pub unit: &'static str,
    /// What it is, in one or two sentences.
    pub definition: &'static str,
    /// Where the definition is from.
    pub source: &'static str,
}

impl Entry {
    /// A fact that is a number.
    pub(in crate::facts) const fn number(
        name: &'static str,
        unit: &'static str,
        definition: &'static str,
        source: &'static str,
    ) -> Self {
        Self::new(FactKind::Number, name, unit, definition, source)
    }

    /// A fact that is yes or no.
    pub(in crate::facts) const fn truth(
        name: &'static str,
        definition: &'static str,
        source: &'static str,
    ) -> Self {
        Self::new(FactKind::Truth, name, "", definition, source)
    }

    /// A fact that is a text.
    pub(in crate::facts) const fn text(
        name: &'static str,
        definition: &'static str,
        source: &'static str,
    ) -> Self {
        Self::new(FactKind::Text, name, "", definition, source)
    }

    /// A fact that is a day.
    pub(in crate::facts) const fn date(
        name: &'static str,
        definition: &'static str,
        source: &'static str,
    ) -> Self {
        Self::new(FactKind::Date, name, "", definition, source)
    }

    const fn new(
        kind: FactKind,
        name: &'static str,
        unit: &'static str,
        definition: &'static str,
        source: &'static str,
    ) -> Self {
        Self {
            name,
            kind,
            unit,
            definition,
            source,
        }
    }
}

/// Of what a namespace's facts speak.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scope {
    /// The pair as a whole.
    Pair,
    /// One measure: the primary one, or through `measure["name"].` any.
    Measure,
}

/// Facts that belong together under one name.
#[derive(Debug, PartialEq)]
pub struct Namespace {
    /// Its name: `pre`, `change.post`.
    pub name: &'static str,
    /// Of what it speaks, to follow "facts of" or stand as a title.
    pub title: &'static str,
    /// Of what its facts speak.
    pub scope: Scope,
    /// It can be numbered: `retention_2`.
    pub repeated: bool,
    /// Its facts.
    pub entries: &'static [Entry],
}

impl Namespace {
    pub(super) const fn of_pair(
        name: &'static str,
        title: &'static str,
        entries: &'static [Entry],
    ) -> Self {
        Self {
            name,
            title,
            scope: Scope::Pair,
            repeated: false,
            entries,
        }
    }

    pub(super) const fn of_measure(
        name: &'static str,
        title: &'static str,
        entries: &'static [Entry],
    ) -> Self {
        Self {
            scope: Scope::Measure,
            ..Self::of_pair(name, title, entries)
        }
    }

    pub(super) const fn of_repeated(
        name: &'static str,
        title: &'static str,
        entries: &'static [Entry],
    ) -> Self {
        Self {
            repeated: true,
            ..Self::of_measure(name, title, entries)
        }
    }

    /// The entry of one of its facts.
    pub fn entry(&self, fact: &str) -> Option<&'static Entry> {
        self.entries.iter().find(|entry| entry.name == fact)
    }
}
