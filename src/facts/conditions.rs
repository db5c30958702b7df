//! Under which conditions trials were done: equipment, distance, surface, whatever describes the task.

use std::collections::HashSet;
use std::sync::Arc;

use super::record::Block;
use crate::logbook::model::Logbook;

/// The different conditions of some trials, in the order in which they appear.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Conditions {
    /// As typed where each first appears.
    typed: Vec<Arc<str>>,
    /// What is compared of each.
    compared: HashSet<String>,
}

impl Conditions {
    /// The conditions recorded for a block's trials that have a score.
    pub fn of(block: &Block, logbook: &Logbook) -> Self {
        let scored = block.trials().filter(|trial| trial.score.is_some());
        // A condition typed beside the second rating only is the trial's too.
        let rows = scored.flat_map(|trial| {
            std::iter::once(trial.row).chain(trial.ratings.iter().map(|rating| rating.row))
        });
        let mut conditions = Self::default();
        // Most trials of a block repeat one text.
        let mut seen: HashSet<&Arc<str>> = HashSet::new();
        for row in rows {
            if let Some(condition) = logbook.trials.get(row).and_then(|t| t.condition.as_ref())
                && seen.insert(condition)
            {
                conditions.add(condition);
            }
        }
        conditions
    }

    fn add(&mut self, condition: &Arc<str>) {
        let compared = compared(condition);
        if !compared.is_empty() && self.compared.insert(compared) {
            self.typed.push(condition.clone());
        }
    }

    /// Adds another block's conditions.
    pub fn extend(&mut self, other: &Self) {
        for condition in &other.typed {
            self.add(condition);
        }
    }

    /// How many differ.
    pub fn count(&self) -> usize {
        self.typed.len()
    }

    /// None is recorded.
    pub fn is_empty(&self) -> bool {
        self.typed.is_empty()
    }

    /// One at least is common to both.
    pub fn meets(&self, other: &Self) -> bool {
        !self.compared.is_disjoint(&other.compared)
    }

    /// One at least is not among the others.
    pub fn exceeds(&self, other: &Self) -> bool {
        !self.compared.is_subset(&other.compared)
    }

    /// As typed, several separated by semicolons; none where none is recorded.
    pub fn text(&self) -> Option<Arc<str>> {
        match self.typed.as_slice() {
            [] => None,
            [only] => Some(only.clone()),
            several => Some(several.join("; ").into()),
        }
    }
}

/// A condition without case, spaces and punctuation. The decimal point stays: 1.5 m is not 15 m.
fn compared(condition: &str) -> String {
    let characters: Vec<char> = condition.chars().collect();
    let is_digit = |at: Option<usize>| {
        at.and_then(|at| characters.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    let mut compared = String::new();
    for (at, character) in characters.iter().enumerate() {
        if character.is_alphanumeric() {
            compared.extend(character.to_lowercase());
        } else if matches!(character, '.' | ',')
            && is_digit(at.checked_sub(1))
            && is_digit(at.checked_add(1))
        {
            compared.push('.');
        }
    }
    compared
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{Row, logbook};
    use crate::facts::{Record, record::MeasureRecord};
    use crate::logbook::model::Measure;
    use crate::phase::Phase;

    fn conditions(typed: &[&str]) -> Conditions {
        let rows = (1..)
            .zip(typed)
            .map(|(number, typed)| Row::pre(number, 1.0).under(typed))
            .collect();
        let logbook = logbook(vec![Measure::undescribed()], rows);
        let record = Record::new(&logbook);
        record
            .measures
            .first()
            .and_then(|measure: &MeasureRecord| measure.block(Phase::PRE))
            .map(|block| Conditions::of(block, &logbook))
            .unwrap_or_default()
    }

    #[test]
    fn spellings_of_one_condition_are_one() {
        let seen = conditions(&["3 m, small ball", "3m – Small Ball", "3 M small-ball"]);
        assert_eq!(seen.count(), 1);
        assert_eq!(seen.text().as_deref(), Some("3 m, small ball"));
        let two = conditions(&["3 m", "5 m", "3 m"]);
        assert_eq!(two.text().as_deref(), Some("3 m; 5 m"));
        assert_eq!(conditions(&["–", ""]).text(), None);
    }

    #[test]
    fn a_decimal_point_matters() {
        let near = conditions(&["1.5 m"]);
        assert!(near.meets(&conditions(&["1,5 m."])));
        assert!(!near.meets(&conditions(&["15 m"])));
    }

    #[test]
    fn conditions_in_common_and_conditions_of_ones_own() {
        let practised = conditions(&["3 m", "4 m"]);
        let tested = conditions(&["4 m", "6 m"]);
        assert!(tested.meets(&practised) && tested.exceeds(&practised));
        assert!(!conditions(&["3 m"]).exceeds(&practised));
        assert!(!Conditions::default().exceeds(&practised));
    }
}
