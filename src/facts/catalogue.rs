//! The one registry of facts: what each is called, its type, unit, definition and source.
//!
//! `explain` prints it, expressions are checked against it, and a fact that is not here cannot be computed. A namespace's entries stand
//! beside its computation, in a file of its own; this file only lists the namespaces and finds names in them.
//!
//! A fact's full name is its namespace and its own name (`pre.mean`, `change.post.g`). A repeated test has a number (`retention_2.mean`).
//! Bare names speak of the primary measure; the others' go through `measure["name"].`. Findings are counted by `findings["check.id"]`.

mod entry;

use std::collections::HashMap;
use std::sync::LazyLock;

pub use entry::{Entry, Namespace, Scope};

use super::value::FactKind;
use super::{
    about, change, curve, estimate, gain, later, practice, programme, raters, technique,
    test_block, testing,
};

/// Every namespace, in the order in which facts are explained.
pub static NAMESPACES: &[Namespace] = &[
    Namespace::of_pair("about", "what the About table says", about::ENTRIES),
    Namespace::of_pair("programme", "how practice was laid out", programme::ENTRIES),
    Namespace::of_repeated("pre", "the pre-test", test_block::ENTRIES),
    Namespace::of_repeated("mid", "the mid-test", test_block::ENTRIES),
    Namespace::of_repeated("post", "the post-test", test_block::ENTRIES),
    Namespace::of_repeated("retention", "the retention test", test_block::ENTRIES),
    Namespace::of_repeated("transfer", "the transfer test", test_block::ENTRIES),
    Namespace::of_measure("practice", "all practice trials", practice::ENTRIES),
    Namespace::of_measure("tests", "the tests together", testing::ENTRIES),
    Namespace::of_measure("raters", "who scored the trials", raters::ENTRIES),
    Namespace::of_pair(
        "technique",
        "the checklist of technique",
        technique::ENTRIES,
    ),
    Namespace::of_repeated("change.post", "post-test against pre-test", change::ENTRIES),
    Namespace::of_repeated(
        "change.retention",
        "retention test against pre-test",
        change::ENTRIES,
    ),
    Namespace::of_repeated(
        "change.transfer",
        "transfer test against pre-test",
        change::ENTRIES,
    ),
    Namespace::of_measure("gain", "what became of the gain", gain::ENTRIES),
    Namespace::of_measure("curve", "the practice curve", curve::ENTRIES),
    Namespace::of_measure("estimate", "the learner's own estimates", estimate::ENTRIES),
    Namespace::of_pair(
        "claims",
        "the numbers that the report states",
        later::CLAIMS,
    ),
    Namespace::of_pair("stage", "the diagnosis against its signs", later::STAGE),
    Namespace::of_pair(
        "theory",
        "the theory against its predictions",
        later::THEORY,
    ),
    Namespace::of_pair("thresholds", "the thresholds in force", later::THRESHOLDS),
];

/// Full names of the unnumbered facts, as [`NAMESPACES`] orders them.
static FULL_NAMES: LazyLock<Vec<Vec<String>>> = LazyLock::new(|| {
    NAMESPACES
        .iter()
        .map(|namespace| {
            namespace
                .entries
                .iter()
                .map(|entry| format!("{}.{}", namespace.name, entry.name))
                .collect()
        })
        .collect()
});

/// A fact's name taken apart, with what the registry says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Described {
    /// The measure of which it speaks, where it names one.
    pub measure: Option<String>,
    /// Its namespace; none for `findings["check.id"]`.
    pub namespace: Option<&'static Namespace>,
    /// Which of several tests: 1 for the only or first one.
    pub number: u16,
    /// Its type, unit, definition and source.
    pub entry: &'static Entry,
}

/// What the registry says of a fact, by its full name; none where there is no such fact.
pub fn describe(name: &str) -> Option<Described> {
    if let Some((measure, rest)) = split_measure(name) {
        let described = describe_bare(rest)?;
        let of_measure = described
            .namespace
            .is_some_and(|namespace| namespace.scope == Scope::Measure);
        return of_measure.then_some(Described {
            measure: Some(measure),
            ..described
        });
    }
    if let Some(rest) = name.strip_prefix("findings") {
        return unquote(rest)
            .filter(|(id, after)| !id.is_empty() && after.is_empty())
            .map(|_| Described {
                measure: None,
                namespace: None,
                number: 1,
                entry: &later::FINDINGS,
            });
    }
    describe_bare(name)
}

fn describe_bare(name: &str) -> Option<Described> {
    let (namespace, fact) = name.rsplit_once('.')?;
    let (namespace, number) = find_namespace(namespace)?;
    Some(Described {
        measure: None,
        namespace: Some(namespace),
        number,
        entry: namespace.entry(fact)?,
    })
}

/// A namespace by its name, and which of several tests (`retention_2`: the retention test, 2).
pub fn find_namespace(name: &str) -> Option<(&'static Namespace, u16)> {
    let exactly = |name: &str| NAMESPACES.iter().find(|namespace| namespace.name == name);
    if let Some(namespace) = exactly(name) {
        return Some((namespace, 1));
    }
    let (base, number) = name.rsplit_once('_')?;
    // `retention_02` would be a second name of one thing.
    let number = number
        .parse::<u16>()
        .ok()
        .filter(|parsed| *parsed >= 2 && parsed.to_string() == number)?;
    exactly(base)
        .filter(|namespace| namespace.repeated)
        .map(|namespace| (namespace, number))
}

/// The type of a fact by its full name; none where there is no such fact.
pub fn kind_of(name: &str) -> Option<FactKind> {
    describe(name).map(|described| described.entry.kind)
}

/// The names with which expressions begin: `about`, `pre`, `change`, `measure`, `findings` …; numbered tests are not listed.
pub fn roots() -> impl Iterator<Item = &'static str> {
    let mut last = "";
    NAMESPACES
        .iter()
        .filter_map(move |namespace| {
            let root = namespace.name.split('.').next().unwrap_or(namespace.name);
            let is_new = root != last;
            last = root;
            is_new.then_some(root)
        })
        .chain(["measure", "findings"])
}

/// Every fact with its full name, numbered and measures' ones left out, in the order in which facts are explained.
pub fn all() -> impl Iterator<Item = (&'static str, &'static Namespace, &'static Entry)> {
    FULL_NAMES
        .iter()
        .zip(NAMESPACES)
        .flat_map(|(names, namespace)| {
            names
                .iter()
                .zip(namespace.entries)
                .map(move |(name, entry)| (name.as_str(), namespace, entry))
        })
}

/// The known name nearest to an unknown one, for "did you mean"; none where nothing is near.
pub fn nearest(name: &str) -> Option<String> {
    if let Some((measure, rest)) = split_measure(name) {
        return nearest_bare(rest, |namespace| namespace.scope == Scope::Measure)
            .map(|fact| of_measure(&measure, &fact));
    }
    nearest_bare(name, |_| true)
}

fn nearest_bare(name: &str, allowed: impl Fn(&Namespace) -> bool) -> Option<String> {
    let number = name
        .rsplit_once('.')
        .and_then(|(namespace, _)| find_namespace(namespace))
        .map_or(1, |(_, number)| number);
    let plain = if number == 1 {
        name.to_owned()
    } else {
        name.replacen(&format!("_{number}."), ".", 1)
    };
    let (distance, nearest, namespace) = all()
        .filter(|(_, namespace, _)| allowed(namespace))
        .map(|(known, namespace, _)| (distance(&plain, known), known, namespace))
        .min_by_key(|(distance, ..)| *distance)?;
    // Beyond half of the name it is another word rather than a slip of the pen.
    if distance * 2 > plain.chars().count() {
        return None;
    }
    let fact = nearest.strip_prefix(namespace.name)?;
    Some(if number > 1 && namespace.repeated {
        format!("{}_{number}{fact}", namespace.name)
    } else {
        nearest.to_owned()
    })
}

/// Changes of a letter between two names. A fact asked for without its namespace's first part (`post.g` for `change.post.g`) is nearer than
/// any slip of the pen.
fn distance(name: &str, known: &str) -> usize {
    let apart = strsim::osa_distance(name, known);
    let left_out = known.ends_with(name)
        && known
            .strip_suffix(name)
            .is_some_and(|before| before.ends_with('.'));
    if left_out { 0 } else { apart }
}

/// The full name of a fact where it needs no measure and no number: borrowed for ever.
pub(super) fn full_name(namespace: &'static Namespace, fact: &str) -> Option<&'static str> {
    let index = NAMESPACES
        .iter()
        .position(|known| std::ptr::eq(known, namespace))?;
    let entry = namespace
        .entries
        .iter()
        .position(|entry| entry.name == fact)?;
    FULL_NAMES.get(index)?.get(entry).map(String::as_str)
}

/// The names that need no measure and no number, each at its place.
static PLACES: LazyLock<Vec<&'static str>> =
    LazyLock::new(|| FULL_NAMES.iter().flatten().map(String::as_str).collect());

/// A fact's place in the registry, where its name needs no measure and no number.
pub(super) fn place_of(name: &str) -> Option<u16> {
    static PLACE_OF: LazyLock<HashMap<&'static str, u16>> =
        LazyLock::new(|| PLACES.iter().copied().zip(0..).collect());
    PLACE_OF.get(name).copied()
}

/// The name at a place in the registry.
pub(super) fn at_place(place: u16) -> Option<&'static str> {
    PLACES.get(usize::from(place)).copied()
}

/// The full name of a measure's fact: `measure["distance"].pre.mean`.
pub fn of_measure(measure: &str, fact: &str) -> String {
    format!("measure[\"{}\"].{fact}", escaped(measure))
}

/// The full name of a check's count of findings: `findings["testing.one-rater"]`.
pub fn of_check(check: &str) -> String {
    format!("findings[\"{}\"]", escaped(check))
}

fn escaped(text: &str) -> String {
    text.replace('\\', "\\\\").replace('"', "\\\"")
}

/// A measure's fact taken apart: the measure, and the fact's name without it.
pub fn split_measure(name: &str) -> Option<(String, &str)> {
    let (measure, rest) = unquote(name.strip_prefix("measure")?)?;
    Some((measure, rest.strip_prefix('.')?))
}

/// What stands between `["` and `"]`, and what follows.
fn unquote(text: &str) -> Option<(String, &str)> {
    let inner = text.strip_prefix("[\"")?;
    let mut key = String::new();
    let mut characters = inner.char_indices();
    while let Some((at, character)) = characters.next() {
        match character {
            '\\' => key.push(characters.next()?.1),
            '"' => return Some((key, inner.get(at + 1..)?.strip_prefix(']')?)),
            _ => key.push(character),
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use std::collections::HashSet;

    use super::*;

    #[test]
    fn every_fact_is_listed_once_and_described() {
        let mut seen = HashSet::new();
        for (name, _, entry) in all() {
            assert!(seen.insert(name), "{name} is listed twice");
            assert_eq!(kind_of(name), Some(entry.kind), "{name}");
            for text in [entry.definition, entry.source] {
                assert!(!text.is_empty(), "{name} lacks a definition or a source");
            }
            assert!(
                entry.definition.ends_with('.'),
                "{name}: {}",
                entry.definition
            );
            let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
            assert!(entry.name.chars().all(plain), "{name}");
        }
    }

    #[test]
    fn names_are_taken_apart() {
        assert_eq!(kind_of("pre.mean"), Some(FactKind::Number));
        assert_eq!(kind_of("post.date"), Some(FactKind::Date));
        assert_eq!(kind_of("change.post.beyond_noise"), Some(FactKind::Truth));
        assert_eq!(kind_of("programme.order"), Some(FactKind::Text));
        let second = describe("retention_2.mean");
        assert_eq!(second.map(|fact| fact.number), Some(2));
        assert_eq!(kind_of("change.retention_2.g"), Some(FactKind::Number));
        for unknown in [
            "mean",
            "pre",
            "pre.means",
            "retention_1.mean",
            "retention_02.mean",
            "programme_2.weeks",
            "about.coach",
            "about.learner",
            "change.g",
            "",
        ] {
            assert_eq!(kind_of(unknown), None, "{unknown}");
        }
    }

    #[test]
    fn measures_and_findings_are_looked_up_by_key() {
        let name = of_measure("a \"quoted\" \\ name", "pre.mean");
        assert_eq!(
            split_measure(&name),
            Some(("a \"quoted\" \\ name".to_owned(), "pre.mean"))
        );
        assert_eq!(kind_of(&name), Some(FactKind::Number));
        assert_eq!(kind_of("measure[\"distance\"].programme.weeks"), None);
        assert_eq!(kind_of("measure[\"distance\"]"), None);
        assert_eq!(
            kind_of(&of_check("testing.one-rater")),
            Some(FactKind::Number)
        );
        assert_eq!(kind_of("findings"), None);
    }

    #[test]
    fn a_slip_of_the_pen_finds_its_name() {
        let found = |name: &str| nearest(name);
        assert_eq!(found("pre.maen").as_deref(), Some("pre.mean"));
        assert_eq!(found("program.weeks").as_deref(), Some("programme.weeks"));
        assert_eq!(
            found("retention.day_after").as_deref(),
            Some("retention.days_after")
        );
        assert_eq!(
            found("retention_2.men").as_deref(),
            Some("retention_2.mean")
        );
        assert_eq!(found("post.g").as_deref(), Some("change.post.g"));
        assert_eq!(
            found("measure[\"distance\"].pre.meen").as_deref(),
            Some("measure[\"distance\"].pre.mean")
        );
        assert_eq!(found("xyzzy"), None);
    }

    #[test]
    fn roots_are_what_expressions_begin_with() {
        let roots: Vec<_> = roots().collect();
        for root in [
            "about", "pre", "transfer", "change", "measure", "findings", "theory",
        ] {
            assert_eq!(
                roots.iter().filter(|known| **known == root).count(),
                1,
                "{root}"
            );
        }
    }
}
