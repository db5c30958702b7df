//! Who marks which pair: first markers balanced by work, and a second-marking sample that links all markers.
//!
//! Pure: everything comes in as plain values, the seed among them, and the same input gives the same sharing. The sample is stratified as
//! university rules for second marking publish it (all under the pass mark, the top, the boundaries, then every marker; common practice).

mod linked;
mod sample;

use std::collections::BTreeMap;

use crate::stats::random::Stream;
use sample::draw_sample;

/// A pair to be marked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ToShare {
    /// Its id.
    pub pair: String,
    /// How much work it is: judged points, findings and claims that differ.
    pub work: f64,
    /// The total that its evidence gives, in marks; none where the data settle nothing.
    pub evidence: Option<f64>,
    /// The first marker whom the roster names.
    pub named: Option<String>,
    /// The first marker by the ledger.
    pub first: Option<String>,
    /// The first marker has entered something.
    pub first_began: bool,
    /// The second marker by the ledger.
    pub second: Option<String>,
    /// Why it was drawn for second marking, by the ledger.
    pub drawn: Option<String>,
    /// The second marker has entered something.
    pub second_began: bool,
    /// Who must not mark it.
    pub conflicts: Vec<String>,
}

/// The rules of a sharing.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareRules {
    /// The markers, in order.
    pub markers: Vec<String>,
    /// How many pairs the rule of the sample asks for.
    pub sample: usize,
    /// Every pair is marked twice.
    pub all_twice: bool,
    /// The mark from which on a report passes.
    pub pass: Option<f64>,
    /// Where the levels of the total begin, the highest first.
    pub levels: Vec<f64>,
    /// Pairs at the top level are drawn by chance like others.
    pub top_by_chance: bool,
    /// Marks from a boundary that count as near it.
    pub near: f64,
    /// So many pairs go to every marker.
    pub common: usize,
    /// The seed of everything drawn.
    pub seed: u64,
}

/// One pair's part in a sharing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shared {
    /// The pair.
    pub pair: String,
    /// Who marks it first.
    pub first: String,
    /// Who marks it a second time; none outside the sample.
    pub second: Option<String>,
    /// Why it is in the sample; [`COMMON`] where every marker marks it.
    pub drawn: Option<String>,
}

/// What a sharing came to.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Sharing {
    /// The pairs, in their order.
    pub pairs: Vec<Shared>,
    /// What could not be done, in sentences.
    pub remarks: Vec<String>,
}

/// Why a pair is in the sample that every marker marks.
pub const COMMON: &str = "given to every marker";

/// Why nothing was shared out.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CannotShare {
    /// There is nobody to share out to.
    #[error(
        "nobody is named as a marker: give the roster a column `marker`, or name them with --markers \"Ann,Ben\""
    )]
    NoMarkers,
    /// The roster gives a pair to somebody who must not mark it.
    #[error(
        "the roster gives {pair} to {marker}, whom [conflicts] in cohort.toml keeps from marking it; change one of the two"
    )]
    NamedInConflict {
        /// The pair.
        pair: String,
        /// The marker.
        marker: String,
    },
    /// Nobody may mark a pair.
    #[error(
        "[conflicts] in cohort.toml keeps every marker from marking {pair}; nobody is left for it"
    )]
    Nobody {
        /// The pair.
        pair: String,
    },
}

impl ToShare {
    fn may(&self, marker: &str) -> bool {
        self.conflicts.iter().all(|other| other != marker)
    }
}

/// Shares pairs out. Whatever a marker has begun stays with that marker; a pair nobody has begun moves only where its marker is gone, may not
/// mark it, or another marker has nothing at all.
///
/// # Errors
/// [`CannotShare`]
pub fn share(pairs: &[ToShare], rules: &ShareRules) -> Result<Sharing, CannotShare> {
    if rules.markers.is_empty() {
        return Err(CannotShare::NoMarkers);
    }
    let firsts = first_markers(pairs, rules)?;
    let mut shared: Vec<Shared> = pairs
        .iter()
        .zip(firsts)
        .map(|(pair, first)| Shared {
            pair: pair.pair.clone(),
            first,
            second: None,
            drawn: None,
        })
        .collect();
    let remarks = draw_sample(pairs, rules, &mut shared);
    Ok(Sharing {
        pairs: shared,
        remarks,
    })
}

/// Work so far by marker.
type Loads<'a> = BTreeMap<&'a str, f64>;

fn first_markers(pairs: &[ToShare], rules: &ShareRules) -> Result<Vec<String>, CannotShare> {
    let known = |marker: &str| rules.markers.iter().any(|known| known == marker);
    let kept = |pair: &ToShare| {
        pair.first
            .clone()
            .filter(|first| pair.first_began || (known(first) && pair.may(first)))
    };
    let mut firsts: Vec<Option<String>> = Vec::with_capacity(pairs.len());
    for pair in pairs {
        let begun = pair.first.clone().filter(|_| pair.first_began);
        if begun.is_none()
            && let Some(named) = &pair.named
            && !pair.may(named)
        {
            return Err(CannotShare::NamedInConflict {
                pair: pair.pair.clone(),
                marker: named.clone(),
            });
        }
        firsts.push(begun.or_else(|| pair.named.clone()).or_else(|| kept(pair)));
    }
    // A marker without any pair is new: what nobody has begun is dealt out again.
    let idle = |marker: &String| firsts.iter().flatten().all(|first| first != marker);
    if rules.markers.iter().any(idle) {
        for (pair, first) in pairs.iter().zip(&mut firsts) {
            if pair.named.is_none() && !pair.first_began {
                *first = None;
            }
        }
    }
    let mut loads: Loads<'_> = rules.markers.iter().map(|m| (m.as_str(), 0.0)).collect();
    for (pair, first) in pairs.iter().zip(&firsts) {
        if let Some(first) = first
            && let Some(load) = loads.get_mut(first.as_str())
        {
            *load += pair.work;
        }
    }
    // The heaviest first, each to whoever has least: Graham 1969, SIAM Journal on Applied Mathematics 17:416–429.
    let mut open: Vec<usize> = firsts
        .iter()
        .enumerate()
        .filter(|(_, first)| first.is_none())
        .map(|(index, _)| index)
        .collect();
    let count = open.len();
    Stream::new(rules.seed, "first markers").choose(&mut open, count);
    let work = |index: &usize| pairs.get(*index).map_or(0.0, |pair| pair.work);
    open.sort_by(|a, b| work(b).total_cmp(&work(a)));
    let mut dealt: BTreeMap<usize, String> = BTreeMap::new();
    for index in open {
        let Some(pair) = pairs.get(index) else {
            continue;
        };
        let marker = least_loaded(rules, &loads, |marker| pair.may(marker)).ok_or_else(|| {
            CannotShare::Nobody {
                pair: pair.pair.clone(),
            }
        })?;
        if let Some(load) = loads.get_mut(marker.as_str()) {
            *load += pair.work;
        }
        dealt.insert(index, marker);
    }
    Ok(firsts
        .into_iter()
        .enumerate()
        .map(|(index, first)| first.or_else(|| dealt.remove(&index)).unwrap_or_default())
        .collect())
}

/// Of the markers who may, the one with least work; of those, the first in order.
fn least_loaded(
    rules: &ShareRules,
    loads: &Loads<'_>,
    may: impl Fn(&str) -> bool,
) -> Option<String> {
    let load = |marker: &String| loads.get(marker.as_str()).copied().unwrap_or(0.0);
    rules
        .markers
        .iter()
        .filter(|marker| may(marker))
        .min_by(|a, b| load(a).total_cmp(&load(b)))
        .cloned()
}

#[cfg(test)]
mod tests;
