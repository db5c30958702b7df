//! What a cohort settles about reading: the order of dates, the measure of logbooks that describe none, further spellings, and what words
//! in score cells stand for.

use std::collections::{BTreeMap, HashMap};
use std::sync::Arc;

use super::aliases::Aliases;
use super::model::{Better, Measure, MeasureKind};
use super::spelling::key;

/// Everything that a course settles about reading.
#[derive(Debug, Clone, Default)]
pub struct ReadingSettings {
    /// Day or month first, where a file's own dates don't settle it.
    pub date_order: Option<DateOrder>,
    /// The measure of a logbook without a Measures table.
    pub measure: MeasureSettings,
    /// Every spelling that is taken: the compiled-in list and the cohort's additions.
    pub aliases: Arc<Aliases>,
    /// What a text in a score cell stands for.
    cells: HashMap<String, CellMeaning>,
}

/// The order of day, month and year in dates of numbers alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DateOrder {
    /// 9/3/26 is 9 March.
    DayFirst,
    /// 9/3/26 is 3 September.
    MonthFirst,
    /// 26/3/9 is 9 March.
    YearFirst,
}

/// What a text in a score cell stands for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CellMeaning {
    /// The lowest score of the measure's scale.
    Lowest,
    /// A missing score.
    Missing,
    /// This score.
    Number(f64),
}

/// What is known of a measure; what is left open takes the default of its kind.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MeasureSettings {
    /// What it measures.
    pub kind: Option<MeasureKind>,
    /// Its unit.
    pub unit: Option<Arc<str>>,
    /// Which way is better.
    pub better: Option<Better>,
    /// The lowest score.
    pub lowest: Option<f64>,
    /// The highest score.
    pub highest: Option<f64>,
    /// The smallest step.
    pub step: Option<f64>,
    /// The target.
    pub target: Option<f64>,
}

impl MeasureSettings {
    /// The measure with what is left open filled in: `error` is lower-is-better from 0 with target 0, `signed error` is best at its
    /// target, `count` starts at 0 in steps of 1, `success` is 0 or 1; otherwise higher is better, without ends and step.
    pub fn complete(self, name: Arc<str>) -> Measure {
        let kind = self.kind.unwrap_or(MeasureKind::Quantity);
        let mut measure = Measure {
            name,
            kind,
            unit: self.unit,
            better: self.better.unwrap_or(match kind {
                MeasureKind::Error => Better::Lower,
                MeasureKind::SignedError => Better::Target,
                _ => Better::Higher,
            }),
            lowest: self.lowest,
            highest: self.highest,
            step: self.step,
            target: self.target,
            place: None,
        };
        match kind {
            MeasureKind::Error => {
                measure.lowest = measure.lowest.or(Some(0.0));
                measure.target = measure.target.or(Some(0.0));
            }
            MeasureKind::Count => {
                measure.lowest = measure.lowest.or(Some(0.0));
                measure.step = measure.step.or(Some(1.0));
            }
            MeasureKind::Success => {
                measure.lowest = measure.lowest.or(Some(0.0));
                measure.highest = measure.highest.or(Some(1.0));
                measure.step = measure.step.or(Some(1.0));
            }
            MeasureKind::Rating | MeasureKind::SignedError | MeasureKind::Quantity => {}
        }
        measure
    }
}

impl ReadingSettings {
    /// The settings with a cohort's further spellings of columns: canonical name → spellings. The names that no table has come back.
    #[must_use = "names that no table has should be reported"]
    pub fn add_columns(&mut self, spellings: &BTreeMap<String, Vec<String>>) -> Vec<String> {
        let aliases = Arc::make_mut(&mut self.aliases);
        spellings
            .iter()
            .filter(|(name, list)| !aliases.add_column(name, list))
            .map(|(name, _)| name.clone())
            .collect()
    }

    /// The settings with a cohort's further spellings of phases: canonical name → spellings. The names that are no phase come back.
    #[must_use = "names that are no phase should be reported"]
    pub fn add_phases(&mut self, spellings: &BTreeMap<String, Vec<String>>) -> Vec<String> {
        let aliases = Arc::make_mut(&mut self.aliases);
        spellings
            .iter()
            .filter(|(name, list)| !aliases.add_phase(name, list))
            .map(|(name, _)| name.clone())
            .collect()
    }

    /// Settles what a text in a score cell stands for.
    pub fn set_cell(&mut self, text: &str, meaning: CellMeaning) {
        self.cells.insert(key(text), meaning);
    }

    /// What a text in a score cell stands for, by its key.
    pub(crate) fn cell_meaning(&self, key: &str) -> Option<CellMeaning> {
        self.cells.get(key).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn kinds_fill_in_what_is_left_open() {
        let of = |kind| {
            MeasureSettings {
                kind: Some(kind),
                ..MeasureSettings::default()
            }
            .complete("m".into())
        };
        let error = of(MeasureKind::Error);
        assert_eq!(
            (error.better, error.lowest, error.highest, error.target),
            (Better::Lower, Some(0.0), None, Some(0.0))
        );
        let success = of(MeasureKind::Success);
        assert_eq!(
            (success.lowest, success.highest, success.step),
            (Some(0.0), Some(1.0), Some(1.0))
        );
        assert_eq!(of(MeasureKind::SignedError).better, Better::Target);
        assert_eq!(of(MeasureKind::Rating).highest, None);
        assert_eq!(
            MeasureSettings::default().complete("score".into()),
            Measure::undescribed()
        );
    }

    #[test]
    fn further_spellings_are_taken_and_unknown_names_come_back() {
        let mut settings = ReadingSettings::default();
        let columns = BTreeMap::from([
            ("score".to_owned(), vec!["Wurfwert".to_owned()]),
            ("scoer".to_owned(), vec!["x".to_owned()]),
        ]);
        assert_eq!(settings.add_columns(&columns), ["scoer"]);
        let phases = BTreeMap::from([("retention".to_owned(), vec!["Nachklang".to_owned()])]);
        assert!(settings.add_phases(&phases).is_empty());
        settings.set_cell("Miss!", CellMeaning::Lowest);
        assert_eq!(settings.cell_meaning("miss"), Some(CellMeaning::Lowest));
    }
}
