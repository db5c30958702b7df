//! The spellings that the reader takes, from `aliases.toml` and the cohort's additions.

mod names;
mod spellings;

use std::collections::{HashMap, HashSet};
use std::sync::LazyLock;

use serde::Deserialize;

use self::spellings::{Lists, Spellings, words};
use super::cells::starts_as_number;
use super::dates::looks_like_date;
use super::model::{Better, Feedback, MeasureKind, Order, Variety};
use super::problem::ColumnLine;
use super::spelling::key;
use crate::phase::PhaseKind;
use crate::statistic::Statistic;

pub use names::{AboutKey, Field, TableKind};
pub(crate) use names::{CellWord, Counted};

/// The compiled-in list.
const COMPILED_IN: &str = include_str!("../aliases.toml");

/// A header longer than this is prose: nobody types it into a list of spellings.
const LONGEST_SPELLING: usize = 120;

/// Every spelling that the reader takes.
#[derive(Debug, Clone)]
pub struct Aliases {
    tables: Vec<(String, TableKind)>,
    about: Spellings<AboutKey>,
    about_header: Spellings<bool>,
    columns: Spellings<(TableKind, Field)>,
    numbered: Spellings<Counted>,
    phases: Spellings<PhaseKind>,
    statistics: Spellings<Statistic>,
    computed: HashSet<String>,
    kinds: Spellings<MeasureKind>,
    betters: Spellings<Better>,
    orders: Spellings<Order>,
    varieties: Spellings<Variety>,
    parts: Spellings<&'static str>,
    feedback: Spellings<Feedback>,
    answers: Spellings<bool>,
    cell_words: Spellings<CellWord>,
    units: HashSet<String>,
    months: Spellings<i8>,
    weekdays: HashSet<String>,
    ordinals: Spellings<u32>,
    learning_stages: HashSet<String>,
}

impl Default for Aliases {
    fn default() -> Self {
        BUILT.clone()
    }
}

static BUILT: LazyLock<Aliases> = LazyLock::new(|| {
    // The list is compiled in and tested: a fault in it leaves no spellings rather than ending the program.
    let source: Source = toml::from_str(COMPILED_IN).unwrap_or_default();
    Aliases::from_source(&source)
});

#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Source {
    tables: Lists,
    about: Lists,
    about_header: Lists,
    columns: HashMap<String, Lists>,
    numbered: Lists,
    phases: Lists,
    statistics: Lists,
    computed: Lists,
    kinds: Lists,
    better: Lists,
    orders: Lists,
    varieties: Lists,
    parts: Lists,
    feedback: Lists,
    answers: Lists,
    cells: Lists,
    units: Lists,
    months: Lists,
    weekdays: Lists,
    ordinals: Lists,
    learning_stages: Lists,
}

impl Aliases {
    fn from_source(source: &Source) -> Self {
        let mut tables = Vec::new();
        let mut columns = Spellings::default();
        for kind in TableKind::ALL {
            let name = kind.name().to_lowercase();
            tables.push((key(&name), *kind));
            let spellings = source.tables.get(&name).into_iter().flatten();
            tables.extend(spellings.map(|spelling| (key(spelling), *kind)));
            let Some(lists) = source.columns.get(&name) else {
                continue;
            };
            // In the order of the fields, so that the readings of an ambiguous spelling have a fixed order.
            for field in Field::ALL {
                if let Some(list) = lists.get(field.name()) {
                    columns.add(field.name(), (*kind, *field));
                    for spelling in list {
                        columns.add(spelling, (*kind, *field));
                    }
                }
            }
        }
        tables.sort_by_key(|(spelling, _)| std::cmp::Reverse(spelling.len()));
        Self {
            tables,
            about: Spellings::of(&source.about, AboutKey::ALL.iter().copied(), AboutKey::name),
            about_header: Spellings::of(&source.about_header, [true, false], |is_key| {
                if is_key { "key" } else { "value" }
            }),
            columns,
            numbered: Spellings::of(
                &source.numbered,
                Counted::ALL.iter().copied(),
                Counted::name,
            ),
            phases: Spellings::of(&source.phases, PhaseKind::ALL, PhaseKind::name),
            statistics: Spellings::of(
                &source.statistics,
                Statistic::ALL.iter().copied(),
                Statistic::name,
            ),
            computed: words(&source.computed),
            kinds: Spellings::of(&source.kinds, MeasureKind::ALL, MeasureKind::name),
            betters: Spellings::of(&source.better, Better::ALL, Better::name),
            orders: Spellings::of(&source.orders, Order::ALL, Order::name),
            varieties: Spellings::of(&source.varieties, Variety::ALL, Variety::name),
            parts: Spellings::of(&source.parts, ["whole", "part", "simplified"], |part| part),
            feedback: Spellings::of(&source.feedback, Feedback::ALL, Feedback::name),
            answers: Spellings::of(&source.answers, [true, false], |yes| {
                if yes { "yes" } else { "no" }
            }),
            cell_words: Spellings::of(&source.cells, CellWord::ALL.iter().copied(), CellWord::name),
            units: words(&source.units),
            months: Spellings::of_numbers(&source.months),
            weekdays: words(&source.weekdays),
            ordinals: Spellings::of_numbers(&source.ordinals),
            learning_stages: words(&source.learning_stages),
        }
    }

    /// Adds spellings of a column to every table that has it. False where no table has a column of that name.
    pub(crate) fn add_column(&mut self, name: &str, list: &[String]) -> bool {
        let Some(field) = Field::ALL.iter().find(|field| field.name() == name.trim()) else {
            return false;
        };
        let meanings: Vec<(TableKind, Field)> = self
            .columns
            .all(&key(name))
            .iter()
            .copied()
            .filter(|(_, of)| of == field)
            .collect();
        for spelling in list {
            for meaning in &meanings {
                // The cohort has settled what this spelling means.
                self.columns
                    .settle(spelling, *meaning, |(kind, _)| kind == meaning.0);
            }
        }
        !meanings.is_empty()
    }

    /// The line of `cohort.toml` by which a header would name this column. None where it would settle nothing (a number, a date, signs), or
    /// where it would take the header from another column that it names, in this table or another.
    pub(crate) fn line_for(&self, field: Field, header: &str) -> Option<ColumnLine> {
        let header = header.split_whitespace().collect::<Vec<_>>().join(" ");
        let spelling = key(&header);
        let is_name = spelling.contains(char::is_alphabetic)
            && header.chars().count() <= LONGEST_SPELLING
            && !starts_as_number(&header)
            && !looks_like_date(&header, self);
        let taken = self.column(&key(field.name())).iter().any(|(table, of)| {
            let meanings = || {
                self.column(&spelling)
                    .iter()
                    .filter(|(kind, _)| kind == table)
            };
            *of == field
                && meanings().next().is_some()
                && !meanings().any(|(_, meaning)| *meaning == field)
        });
        (is_name && !taken).then(|| ColumnLine {
            column: field.name().into(),
            header: header.into(),
        })
    }

    /// The same spellings, and these as names of score columns.
    pub(crate) fn with_score_columns(&self, names: &[String]) -> Self {
        let mut aliases = self.clone();
        for name in names {
            aliases.columns.add(name, (TableKind::Trials, Field::Score));
        }
        aliases
    }

    /// Adds spellings of a phase. False where there is no phase of that name.
    pub(crate) fn add_phase(&mut self, name: &str, list: &[String]) -> bool {
        let mut phases = PhaseKind::ALL.into_iter();
        let Some(phase) = phases.find(|phase| phase.name() == name.trim()) else {
            return false;
        };
        for spelling in list {
            self.phases.settle(spelling, phase, |_| true);
        }
        true
    }

    /// The table that a sheet's, file's or title's name speaks of: the longest spelling that it contains.
    pub(crate) fn table_named(&self, name: &str) -> Option<TableKind> {
        let name = key(name);
        self.tables
            .iter()
            .find(|(spelling, _)| name.contains(spelling.as_str()))
            .map(|(_, kind)| *kind)
    }

    /// The meanings of a header, over all tables.
    pub(crate) fn column(&self, key: &str) -> &[(TableKind, Field)] {
        self.columns.all(key)
    }

    /// The About key with this spelling.
    pub(crate) fn about_key(&self, key: &str) -> Option<AboutKey> {
        self.about.first(key)
    }

    /// Whether a word heads the keys (true) or the values (false) of an About table.
    pub(crate) fn about_header(&self, key: &str) -> Option<bool> {
        self.about_header.first(key)
    }

    /// What a word before a number counts.
    pub(crate) fn counted(&self, key: &str) -> Option<Counted> {
        self.numbered.first(key)
    }

    /// The phases that a spelling may mean; more than one: ambiguous.
    pub(crate) fn phase(&self, key: &str) -> &[PhaseKind] {
        self.phases.all(key)
    }

    /// The statistic with this spelling.
    pub(crate) fn statistic(&self, key: &str) -> Option<Statistic> {
        self.statistics.first(key)
    }

    /// Whether a spelling marks something computed, though no statistic that could be recomputed.
    pub(crate) fn is_computed(&self, key: &str) -> bool {
        self.computed.contains(key)
    }

    pub(crate) fn measure_kind(&self, key: &str) -> Option<MeasureKind> {
        self.kinds.first(key)
    }

    pub(crate) fn better(&self, key: &str) -> Option<Better> {
        self.betters.first(key)
    }

    pub(crate) fn order(&self, key: &str) -> Option<Order> {
        self.orders.first(key)
    }

    pub(crate) fn variety(&self, key: &str) -> Option<Variety> {
        self.varieties.first(key)
    }

    pub(crate) fn part(&self, key: &str) -> Option<&'static str> {
        self.parts.first(key)
    }

    pub(crate) fn feedback(&self, key: &str) -> Option<Feedback> {
        self.feedback.first(key)
    }

    /// Yes or no.
    pub(crate) fn answer(&self, key: &str) -> Option<bool> {
        self.answers.first(key)
    }

    /// Words in score cells.
    pub(crate) fn cell_word(&self, key: &str) -> Option<CellWord> {
        self.cell_words.first(key)
    }

    pub(crate) fn is_unit(&self, key: &str) -> bool {
        self.units.contains(key)
    }

    /// The month with this name, 1 to 12.
    pub(crate) fn month(&self, key: &str) -> Option<i8> {
        self.months.first(key)
    }

    /// Whether a word names a stage of learning.
    pub(crate) fn is_learning_stage(&self, key: &str) -> bool {
        self.learning_stages.contains(key)
    }

    /// The number that an ordinal names: 2 for `second`.
    pub(crate) fn ordinal(&self, key: &str) -> Option<u32> {
        self.ordinals.first(key)
    }

    pub(crate) fn is_weekday(&self, key: &str) -> bool {
        self.weekdays.contains(key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source() -> Source {
        toml::from_str(COMPILED_IN).expect("the compiled-in list is sound")
    }

    #[test]
    fn every_name_in_the_list_is_known_and_every_known_name_is_listed() {
        let source = source();
        let has = |lists: &Lists, names: &[&str]| {
            let mut listed: Vec<&str> = lists.keys().map(String::as_str).collect();
            let mut names = names.to_vec();
            listed.sort_unstable();
            names.sort_unstable();
            assert_eq!(listed, names);
        };
        let tables: Vec<String> = TableKind::ALL
            .iter()
            .map(|kind| kind.name().to_lowercase())
            .collect();
        for (table, lists) in &source.columns {
            assert!(tables.contains(table), "{table}");
            for name in lists.keys() {
                assert!(
                    Field::ALL.iter().any(|field| field.name() == name),
                    "{table}.{name}"
                );
            }
        }
        has(&source.about, &names(AboutKey::ALL, AboutKey::name));
        has(&source.statistics, &names(Statistic::ALL, Statistic::name));
        has(&source.phases, &PhaseKind::ALL.map(PhaseKind::name));
        has(&source.numbered, &names(Counted::ALL, Counted::name));
        has(&source.cells, &names(CellWord::ALL, CellWord::name));
        has(&source.kinds, &MeasureKind::ALL.map(MeasureKind::name));
        has(&source.better, &Better::ALL.map(Better::name));
        has(&source.orders, &Order::ALL.map(Order::name));
        has(&source.varieties, &Variety::ALL.map(Variety::name));
        has(&source.feedback, &Feedback::ALL.map(Feedback::name));
        has(&source.parts, &["whole", "part", "simplified"]);
        has(&source.answers, &["yes", "no"]);
    }

    fn names<T: Copy>(all: &[T], name: fn(T) -> &'static str) -> Vec<&'static str> {
        all.iter().copied().map(name).collect()
    }

    #[test]
    fn words_with_one_meaning_have_one() {
        // Only columns and phases are settled by what stands in the column: elsewhere a second meaning would be picked at random.
        let aliases = Aliases::default();
        for ambiguous in [
            aliases.statistics.ambiguous(),
            aliases.about.ambiguous(),
            aliases.cell_words.ambiguous(),
            aliases.months.ambiguous(),
            aliases.feedback.ambiguous(),
            aliases.kinds.ambiguous(),
            aliases.betters.ambiguous(),
            aliases.answers.ambiguous(),
            aliases.orders.ambiguous(),
        ] {
            assert_eq!(ambiguous, [""; 0]);
        }
    }

    #[test]
    fn spellings_of_practice_are_found() {
        let aliases = Aliases::default();
        assert_eq!(aliases.phase(&key("Pre-Test")), [PhaseKind::Pre]);
        assert_eq!(aliases.phase(&key("pós-teste")), [PhaseKind::Post]);
        assert_eq!(
            aliases.phase(&key("practice trials")),
            [PhaseKind::Familiarisation, PhaseKind::Practice]
        );
        assert_eq!(aliases.statistic(&key("St. Dev.")), Some(Statistic::Sd));
        assert_eq!(
            aliases.statistic(&key("% change")),
            Some(Statistic::PercentChange)
        );
        assert_eq!(
            aliases.table_named("Pre and post results"),
            Some(TableKind::Trials)
        );
        assert_eq!(aliases.table_named("P07-claims"), Some(TableKind::Claims));
        assert!(
            aliases
                .column(&key("Attempt #"))
                .contains(&(TableKind::Trials, Field::Trial))
        );
    }
}
