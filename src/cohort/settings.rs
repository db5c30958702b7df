//! `cohort.toml`: everything that a cohort settles. Every key is optional; an unknown one is a fault that names the nearest.

use std::collections::BTreeMap;

use super::marking_settings::{
    LateRule, ModerationSettings, ReturnSettings, choice, read_conflicts, within,
};
use crate::configuration::{Faults, Located, Reading, Table, Value};
use crate::logbook::model::{Better, MeasureKind};
use crate::logbook::open::Limits;
use crate::logbook::settings::{CellMeaning, DateOrder, MeasureSettings, ReadingSettings};
use crate::thresholds::Thresholds;

/// The file's name in a cohort's folder.
pub const FILE: &str = "cohort.toml";

/// `cohort.toml` as `setup` writes it, every key explained.
pub const TEMPLATE: &str = include_str!("cohort-template.toml");

/// A cohort's settings, with what was left open filled in.
#[derive(Debug, Clone)]
pub struct Settings {
    /// The cohort's title; empty where none is given.
    pub title: String,
    /// The rubric: a path from the cohort's folder, or the name of one that ships. None where the file does not say.
    pub rubric: Option<Located<String>>,
    /// The roster's file; none where the file does not say.
    pub roster: Option<Located<String>>,
    /// The folder or zip of the hand-ins; none where the file does not say.
    pub submissions: Option<Located<String>>,
    /// The models of stages, where the course has its own: a path from the cohort's folder.
    pub stages: Option<Located<String>>,
    /// The theories, where the course has its own: a path from the cohort's folder.
    pub theories: Option<Located<String>>,
    /// The seed of everything drawn at random.
    pub seed: u64,
    /// How hand-ins are read.
    pub reading: ReadingSettings,
    /// Which hand-in is whose, by the instructor's word.
    pub assign: BTreeMap<String, String>,
    /// What a hand-in may take.
    pub limits: Limits,
    /// How marks are moderated.
    pub moderation: ModerationSettings,
    /// Marker = pairs or students that they must not mark.
    pub conflicts: BTreeMap<String, Vec<String>>,
    /// What lateness costs; none where it costs nothing.
    pub late: Option<LateRule>,
    /// How marks are handed back.
    pub hand_back: ReturnSettings,
    /// How long hand-ins are kept, in the course's own words.
    pub keep: String,
    /// The thresholds that the cohort sets; see [`Settings::over`].
    thresholds: Thresholds,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            title: String::new(),
            rubric: None,
            roster: None,
            submissions: None,
            stages: None,
            theories: None,
            seed: 1,
            reading: ReadingSettings::default(),
            assign: BTreeMap::new(),
            limits: Limits::default(),
            moderation: ModerationSettings::default(),
            conflicts: BTreeMap::new(),
            late: None,
            hand_back: ReturnSettings::default(),
            keep: String::new(),
            thresholds: Thresholds::default(),
        }
    }
}

impl Settings {
    /// Reads the text of a `cohort.toml`.
    ///
    /// # Errors
    /// Every fault of the file at once, each with its line.
    pub fn read(text: &str) -> Result<Self, Faults> {
        Reading::of(FILE, text, Self::from_table)
    }

    fn from_table(file: &Table<'_>) -> Self {
        let mut settings = Self {
            title: file
                .text("title")
                .map_or_else(String::new, |title| title.value),
            rubric: file.text("rubric"),
            roster: file.text("roster"),
            submissions: file.text("submissions"),
            stages: file.text("stages"),
            theories: file.text("theories"),
            keep: file
                .text("keep")
                .map_or_else(String::new, |keep| keep.value),
            ..Self::default()
        };
        if let Some(seed) = file.number("seed") {
            settings.seed = seed_from(file, &seed);
        }
        settings.reading = reading(file);
        if let Some(table) = file.table("assign", "[assign]") {
            settings.assign = texts(&table);
        }
        if let Some(table) = file.table("limits", "[limits]") {
            settings.limits = limits(&table);
        }
        if let Some(table) = file.table("moderation", "[moderation]") {
            settings.moderation = ModerationSettings::read(&table);
        }
        if let Some(table) = file.table("conflicts", "[conflicts]") {
            settings.conflicts = read_conflicts(&table);
        }
        if let Some(table) = file.table("late", "[late]") {
            settings.late = LateRule::read(&table);
        }
        if let Some(table) = file.table("return", "[return]") {
            settings.hand_back = ReturnSettings::read(&table);
        }
        if let Some(table) = file.table("thresholds", "[thresholds]") {
            settings.thresholds.overlay(FILE, &table);
        }
        settings
    }

    /// The rubric's thresholds with those over them that the cohort sets.
    #[must_use]
    pub fn over(&self, mut rubric: Thresholds) -> Thresholds {
        rubric.take_over(&self.thresholds, FILE);
        rubric
    }
}

/// A seed is a whole number that a double holds exactly.
fn seed_from(file: &Table<'_>, seed: &Located<f64>) -> u64 {
    let whole = crate::number::plain(seed.value).parse::<u64>();
    whole.unwrap_or_else(|_| {
        file.fault(&seed.span, "`seed` must be a whole number from 0 on", None);
        1
    })
}

const ORDERS: [(&str, DateOrder); 3] = [
    ("day-first", DateOrder::DayFirst),
    ("month-first", DateOrder::MonthFirst),
    ("year-first", DateOrder::YearFirst),
];

fn reading(file: &Table<'_>) -> ReadingSettings {
    let mut reading = ReadingSettings::default();
    reading.date_order = choice(file, "date_order", &ORDERS.map(|(word, _)| word))
        .and_then(|index| ORDERS.get(index))
        .map(|(_, order)| *order);
    if let Some(table) = file.table("measure", "[measure]") {
        reading.measure = measure(&table);
    }
    for (key, what, is_columns) in [
        ("columns", "[columns]", true),
        ("phases", "[phases]", false),
    ] {
        let Some(table) = file.table(key, what) else {
            continue;
        };
        let lists = table.lists();
        let spellings: BTreeMap<String, Vec<String>> = lists
            .iter()
            .map(|(name, list)| {
                (
                    name.value.clone(),
                    list.iter().map(|s| s.value.clone()).collect(),
                )
            })
            .collect();
        let unknown = if is_columns {
            reading.add_columns(&spellings)
        } else {
            reading.add_phases(&spellings)
        };
        for (name, _) in lists
            .iter()
            .filter(|(name, _)| unknown.contains(&name.value))
        {
            let kind = if is_columns {
                "column of a logbook"
            } else {
                "phase"
            };
            table.fault(
                &name.span,
                format!("`{}` is no {kind}: the canonical name stands on the left, spellings on the right", name.value),
                None,
            );
        }
    }
    if let Some(table) = file.table("cells", "[cells]") {
        for (text, meaning) in table.entries() {
            let meaning_of = match &meaning.value {
                Value::Text(word) if word == "lowest" => Some(CellMeaning::Lowest),
                Value::Text(word) if word == "missing" => Some(CellMeaning::Missing),
                Value::Number(score) => Some(CellMeaning::Number(*score)),
                _ => None,
            };
            match meaning_of {
                Some(meaning) => reading.set_cell(&text.value, meaning),
                None => table.fault(
                    &meaning.span,
                    format!(
                        "`{}` must be \"lowest\", \"missing\" or a number",
                        text.value
                    ),
                    None,
                ),
            }
        }
    }
    reading
}

fn measure(table: &Table<'_>) -> MeasureSettings {
    let number = |key: &'static str| table.number(key).map(|number| number.value);
    let measure = MeasureSettings {
        kind: choice(table, "kind", &MeasureKind::ALL.map(MeasureKind::name))
            .and_then(|index| MeasureKind::ALL.get(index).copied()),
        unit: table.text("unit").map(|unit| unit.value.into()),
        better: choice(table, "better", &Better::ALL.map(Better::name))
            .and_then(|index| Better::ALL.get(index).copied()),
        lowest: number("lowest"),
        highest: number("highest"),
        step: within(table, "step", 0.0, f64::MAX).filter(|step| *step > 0.0),
        target: number("target"),
    };
    if let (Some(low), Some(high)) = (measure.lowest, measure.highest)
        && low >= high
    {
        table.fault(&table.span(), "`lowest` must be below `highest`", None);
    }
    table.finish();
    measure
}

fn limits(table: &Table<'_>) -> Limits {
    let mut limits = Limits::default();
    for (key, field) in [
        ("file_mib", &mut limits.file_mib),
        ("unpacked_mib", &mut limits.unpacked_mib),
        ("cells", &mut limits.cells),
        ("rows", &mut limits.rows),
        ("seconds", &mut limits.seconds),
    ] {
        if let Some(number) = table.number(key) {
            match crate::number::plain(number.value).parse::<u64>() {
                Ok(whole) if whole > 0 => *field = whole,
                _ => table.fault(
                    &number.span,
                    format!("`{key}` must be a whole number above 0"),
                    None,
                ),
            }
        }
    }
    table.finish();
    limits
}

/// A free table of texts.
fn texts(table: &Table<'_>) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for (name, value) in table.entries() {
        if let Value::Text(text) = value.value {
            all.insert(name.value, text);
        } else {
            table.fault(
                &value.span,
                format!("`{}` must be a text in quotes", name.value),
                None,
            );
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_template_is_sound_and_changes_nothing_that_matters() {
        let settings = Settings::read(TEMPLATE).unwrap();
        assert_eq!(settings.seed, 1);
        assert_eq!(settings.limits, Limits::default());
        assert_eq!(
            settings.moderation.sample_least,
            ModerationSettings::default().sample_least
        );
        assert!(settings.assign.is_empty());
    }

    /// Every line of the template that is commented out is a sound setting too.
    #[test]
    fn every_example_of_the_template_is_sound() {
        let all: String = TEMPLATE
            .lines()
            .map(|line| match line.strip_prefix("#: ") {
                Some(example) => format!("{example}\n"),
                None => format!("{line}\n"),
            })
            .collect();
        let settings = Settings::read(&all).unwrap_or_else(|faults| panic!("{faults}"));
        assert!(
            settings.late.is_some()
                && !settings.conflicts.is_empty()
                && !settings.assign.is_empty()
        );
    }

    #[test]
    fn every_fault_is_found_at_once() {
        let text = "titel = 'x'\nseed = 1.5\ndate_order = 'monthfirst'\n[measure]\nlowest = 4\nhighest = 1\n[columns]\nscoer = ['Wurf']\n\
                    [cells]\nmiss = true\n[thresholds]\nfew_trails = 3\n";
        let faults = Settings::read(text).unwrap_err();
        let lines: Vec<usize> = faults.list.iter().map(|fault| fault.line).collect();
        assert_eq!(lines, [1, 2, 3, 4, 8, 10, 12], "{faults}");
    }

    #[test]
    fn the_cohort_has_the_last_word_on_thresholds() {
        let settings = Settings::read("[thresholds]\nfew_trials = 5\n").unwrap();
        let thresholds = settings.over(Thresholds::default());
        assert!((thresholds.few_trials - 5.0).abs() < 1e-12);
        assert_eq!(thresholds.origin("few_trials").unwrap().file, FILE);
    }
}
