//! What was computed from how much, and what could not be: said as openly for every pair.

use super::catalogue;
use super::record::{Block, Record, Why};
use super::value::{FactValue, Facts};
use crate::logbook::model::Logbook;
use crate::phase::PhaseKind;

/// How much of a pair's logbook was computed with, and what could not be computed.
#[derive(Debug, Clone, Default, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Coverage {
    /// Numbers computed: facts that are numbers.
    pub numbers: usize,
    /// Cells that they rest on: ratings of trials that count, and ratings of technique.
    pub cells: usize,
    /// Recorded cells that enter no statistic, with the reason and how many there are of each; most first.
    #[serde(deserialize_with = "known_reasons")]
    pub not_counted: Vec<(NotCountedReason, usize)>,
}

impl Coverage {
    /// What was computed for a pair, and what not.
    pub fn of(logbook: &Logbook, record: &Record, facts: &Facts) -> Self {
        Self {
            numbers: facts
                .iter()
                .filter(|(_, value)| matches!(value, FactValue::Number(_)))
                .count(),
            cells: counted_cells(logbook, record),
            not_counted: not_counted(record),
        }
    }
}

/// Why cells enter no statistic, in words.
pub type NotCountedReason = &'static str;

const REASONS: [NotCountedReason; 5] = [
    "missing",
    "not a number",
    "outside the scale",
    "a second record of the same trial",
    "of no known phase",
];

fn known_reasons<'de, D: serde::Deserializer<'de>>(
    from: D,
) -> Result<Vec<(NotCountedReason, usize)>, D::Error> {
    let read: Vec<(String, usize)> = serde::Deserialize::deserialize(from)?;
    read.into_iter()
        .map(|(text, count)| {
            let known = REASONS.into_iter().find(|reason| *reason == text);
            Ok((known.ok_or_else(|| serde::de::Error::custom(text))?, count))
        })
        .collect()
}

fn counted_cells(logbook: &Logbook, record: &Record) -> usize {
    let trials: usize = record
        .measures
        .iter()
        .flat_map(|measure| &measure.blocks)
        .filter(|block| block.phase.kind != PhaseKind::Familiarisation)
        .flat_map(Block::trials)
        .map(|trial| trial.ratings.len())
        .sum();
    let technique = logbook
        .technique
        .iter()
        .filter(|rating| rating.rating.is_some() && rating.phase.is_some())
        .count();
    trials + technique
}

fn not_counted(record: &Record) -> Vec<(NotCountedReason, usize)> {
    let mut reasons = REASONS.map(|reason| (reason, 0));
    if let Some((_, count)) = reasons.last_mut() {
        *count = record.without_phase.len();
    }
    for aside in &record.set_aside {
        let reason = match aside.why {
            Why::Missing => 0,
            Why::Unreadable => 1,
            Why::OutOfScale(_) => 2,
            Why::DuplicateOf(_) => 3,
        };
        if let Some((_, count)) = reasons.get_mut(reason) {
            *count += 1;
        }
    }
    let mut not_counted: Vec<_> = reasons
        .into_iter()
        .filter(|(_, count)| *count > 0)
        .collect();
    not_counted.sort_by_key(|(_, count)| std::cmp::Reverse(*count));
    not_counted
}

/// Facts, or whole namespaces of facts, that have no value, with the reason. What About leaves open is no computation that failed.
pub fn not_computed(facts: &Facts) -> impl Iterator<Item = (&str, &str)> {
    facts.absent().filter(|(name, _)| {
        let namespace = catalogue::find_namespace(name)
            .map(|(namespace, _)| namespace)
            .or_else(|| catalogue::describe(name).and_then(|fact| fact.namespace));
        namespace.is_none_or(|namespace| namespace.name != "about")
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{Row, logbook};
    use crate::facts::{FactSettings, compute};
    use crate::logbook::model::{Measure, Score};

    #[test]
    fn what_counts_and_what_does_not_is_counted() {
        let measure = Measure {
            highest: Some(4.0),
            ..Measure::undescribed()
        };
        let logbook = logbook(
            vec![measure],
            vec![
                Row::pre(1, 3.0).by("A"),
                Row::pre(1, 2.0).by("B"),
                Row::pre(2, 4.0),
                Row::pre(3, 5.0),
                Row::pre(4, 0.0).scored(Score::Missing),
                Row::pre(5, 0.0).scored(Score::Missing),
                Row::pre(6, 1.0).without_phase(),
            ],
        );
        let record = Record::new(&logbook);
        let facts = compute("P1", &logbook, &record, &FactSettings::default());
        let coverage = Coverage::of(&logbook, &record, &facts);
        assert_eq!(coverage.cells, 3);
        assert_eq!(
            coverage.not_counted,
            [
                ("missing", 2),
                ("outside the scale", 1),
                ("of no known phase", 1)
            ]
        );
        assert!(coverage.numbers >= 10);
        let of = |name: &str| {
            not_computed(&facts)
                .find(|(known, _)| *known == name)
                .map(|(_, reason)| reason)
        };
        assert_eq!(of("retention"), Some("no retention test is recorded"));
        assert_eq!(of("about"), None);
    }
}
