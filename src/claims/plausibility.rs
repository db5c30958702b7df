//! How common each slip is, and which are made together: data, in `plausibility.toml`.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::slips;

/// What stands in the file.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Listed {
    slip: BTreeMap<String, Entry>,
    together: Vec<Together>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Entry {
    plausibility: f64,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Together {
    first: Vec<String>,
    then: Vec<String>,
    /// Listed even where one of the two gives the number alone.
    #[serde(default)]
    always: bool,
}

/// Plausibilities and pairs, by place in [`slips::ALL`].
#[derive(Debug, Default)]
pub struct Plausibility {
    /// How common each slip is: 10 for the commonest, 1 for a rarity.
    pub of: Vec<f64>,
    /// From where that is known.
    pub sources: Vec<String>,
    /// For each slip, those that are made together with it and act after it.
    then: Vec<Vec<Second>>,
}

/// A slip that is made together with another, and acts after it.
#[derive(Debug, Clone, Copy)]
pub struct Second {
    /// Its place in [`slips::ALL`].
    pub slip: usize,
    /// The two are so often made together that they are listed even where one alone gives the number as stated.
    pub always: bool,
}

/// For a slip that the file does not list; a test sees to it that there is none.
const UNLISTED: f64 = 1.0;

/// The plausibilities in force.
pub static PLAUSIBILITY: LazyLock<Plausibility> = LazyLock::new(|| {
    toml::from_str::<Listed>(include_str!("plausibility.toml"))
        .map(|listed| Plausibility::from_listed(&listed))
        .unwrap_or_default()
});

/// From where the plausibility of a slip is known: a publication, or `common practice`.
pub fn source(code: &str) -> &'static str {
    slips::ALL
        .iter()
        .position(|slip| slip.code == code)
        .and_then(|place| PLAUSIBILITY.sources.get(place))
        .map_or("common practice", String::as_str)
}

impl Plausibility {
    fn from_listed(listed: &Listed) -> Self {
        let place = |code: &String| slips::ALL.iter().position(|slip| slip.code == code);
        let mut then: Vec<Vec<Second>> = vec![Vec::new(); slips::ALL.len()];
        for group in &listed.together {
            for first in group.first.iter().filter_map(place) {
                for second in group.then.iter().filter_map(place) {
                    let Some(list) = then.get_mut(first).filter(|_| first != second) else {
                        continue;
                    };
                    match list.iter_mut().find(|known| known.slip == second) {
                        Some(known) => known.always |= group.always,
                        None => list.push(Second {
                            slip: second,
                            always: group.always,
                        }),
                    }
                }
            }
        }
        let entry = |slip: &&slips::Slip| listed.slip.get(slip.code);
        Self {
            of: slips::ALL
                .iter()
                .map(|slip| entry(slip).map_or(UNLISTED, |entry| entry.plausibility))
                .collect(),
            sources: slips::ALL
                .iter()
                .map(|slip| {
                    entry(slip).map_or_else(
                        || String::from("common practice"),
                        |entry| entry.source.clone(),
                    )
                })
                .collect(),
            then,
        }
    }

    /// How common the slip at this place is.
    pub fn at(&self, slip: usize) -> f64 {
        self.of.get(slip).copied().unwrap_or(UNLISTED)
    }

    /// The slips made together with the one at this place.
    pub fn then(&self, slip: usize) -> &[Second] {
        self.then.get(slip).map(Vec::as_slice).unwrap_or_default()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_slip_is_listed_and_every_listed_code_is_a_slip() {
        let listed: Listed = toml::from_str(include_str!("plausibility.toml")).unwrap();
        for slip in slips::ALL {
            let entry = listed.slip.get(slip.code);
            assert!(
                entry.is_some_and(|entry| entry.plausibility > 0.0 && !entry.source.is_empty()),
                "{}",
                slip.code
            );
        }
        let together = listed
            .together
            .iter()
            .flat_map(|group| group.first.iter().chain(&group.then));
        for code in listed.slip.keys().chain(together) {
            assert!(slips::by_code(code).is_some(), "{code}");
        }
    }
}
