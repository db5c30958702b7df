//! What was computed from how much, and what could not be: said as openly for every pair.

use super::catalogue;
use super::record::{Block, Record, Why};
use super::value::{FactValue, Facts};
use crate::logbook::model::Logbook;
use crate::phase::PhaseKind;

/// How much of a pair's logbook was computed with, and what could not be computed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Coverage {
    /// Numbers computed: facts that are numbers.
    pub numbers: usize,
    /// Cells that they rest on: ratings of trials that count, and ratings of technique.
    pub cells: usize,
    /// Recorded cells that enter no statistic, with the reason and how many there are of each; most first.
    pub not_counted: Vec<(&'static str, usize)>,
    /// Facts, or whole namespaces of facts, that have no value, with the reason.
    pub not_computed: Vec<(String, String)>,
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
            not_computed: not_computed(facts),
        }
    }
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

fn not_counted(record: &Record) -> Vec<(&'static str, usize)> {
    let mut reasons = [
        ("missing", 0),
        ("not a number", 0),
        ("outside the scale", 0),
        ("a second record of the same trial", 0),
        ("of no known phase", record.without_phase.len()),
    ];
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

/// What About leaves open is no computation that failed.
fn not_computed(facts: &Facts) -> Vec<(String, String)> {
    facts
        .absent()
        .filter(|(name, _)| {
            let namespace = catalogue::find_namespace(name)
                .map(|(namespace, _)| namespace)
                .or_else(|| catalogue::describe(name).and_then(|fact| fact.namespace));
            namespace.is_none_or(|namespace| namespace.name != "about")
        })
        .map(|(name, reason)| (name.to_owned(), reason.to_owned()))
        .collect()
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
            let found = coverage
                .not_computed
                .iter()
                .find(|(known, _)| known == name);
            found.map(|(_, reason)| reason.as_str())
        };
        assert_eq!(of("retention"), Some("no retention test is recorded"));
        assert_eq!(of("about"), None);
    }
}
