//! The names of checks, and facts of one pair, for the tests of this module and of those that build on it.

use std::collections::BTreeMap;

use super::Catalogue;
use crate::facts::FactValue;

/// The ids of all checks, a line each with its weight: the snapshot that a test of the checks keeps true. The checks themselves come after
/// this module, which may not name them.
const IDS: &str = include_str!("../checks/snapshots/evenhand__checks__tests__ids_are_stable.snap");

/// The registry's facts, and findings of every check there is.
pub fn catalogue() -> Catalogue {
    let lines = IDS.lines().skip_while(|line| !line.starts_with("data."));
    Catalogue::new(lines.filter_map(|line| line.split(' ').next()))
}

/// Facts of one pair.
pub fn facts(known: &[(&str, FactValue)]) -> BTreeMap<String, FactValue> {
    known
        .iter()
        .map(|(name, value)| ((*name).to_owned(), value.clone()))
        .collect()
}
