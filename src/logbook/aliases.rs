//! The spellings that the reader takes, from `aliases.toml` and the cohort's additions.

use std::collections::HashMap;
use std::sync::LazyLock;

use serde::Deserialize;

use super::model::{Better, Feedback, MeasureKind, Order, Variety};
use super::spelling::key;
use crate::phase::PhaseKind;
use crate::statistic::Statistic;

/// The compiled-in list.
const COMPILED_IN: &str = include_str!("aliases.toml");

/// The tables of a logbook.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum TableKind {
    /// Who, when, and what is claimed in words.
    About,
    /// The measures and their scales.
    Measures,
    /// The sessions.
    Sessions,
    /// The trials, in any layout.
    Trials,
    /// The technique checklist.
    Technique,
    /// The numbers that the report states.
    Claims,
}

impl TableKind {
    /// All tables, in the order of a blank logbook.
    pub const ALL: [Self; 6] = [
        Self::About,
        Self::Measures,
        Self::Sessions,
        Self::Trials,
        Self::Technique,
        Self::Claims,
    ];

    /// The canonical name.
    pub fn name(self) -> &'static str {
        match self {
            Self::About => "About",
            Self::Measures => "Measures",
            Self::Sessions => "Sessions",
            Self::Trials => "Trials",
            Self::Technique => "Technique",
            Self::Claims => "Claims",
        }
    }
}

macro_rules! names {
    ($(#[$doc:meta])* $type:ident { $($variant:ident $name:literal,)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[allow(missing_docs, reason = "each is the column or key of that name")]
        pub enum $type { $($variant,)* }

        impl $type {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)*];

            /// The canonical name.
            pub fn name(self) -> &'static str {
                match self { $(Self::$variant => $name,)* }
            }

            fn from_name(name: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|item| item.name() == name)
            }
        }
    };
}

names! {
    /// What a column of a table holds.
    Field {
        Pair "pair",
        Coach "coach",
        Learner "learner",
        Session "session",
        Date "date",
        Week "week",
        Phase "phase",
        Block "block",
        Trial "trial",
        Measure "measure",
        Score "score",
        X "x",
        Y "y",
        Condition "condition",
        Rater "rater",
        Estimate "estimate",
        Notes "notes",
        LearningStage "learning stage",
        Minutes "minutes",
        Order "order",
        Variety "variety",
        Part "part",
        Feedback "feedback",
        FeedbackPercent "feedback %",
        Content "content",
        TrialCount "trials",
        Kind "kind",
        Unit "unit",
        Better "better",
        Lowest "lowest",
        Highest "highest",
        Step "step",
        Target "target",
        Scale "scale",
        Element "element",
        Rating "rating",
        Observer "observer",
        Statistic "statistic",
        Versus "versus",
        Value "value",
        Where "where",
    }
}

names! {
    /// The keys of the About table.
    AboutKey {
        Pair "pair",
        Coach "coach",
        Learner "learner",
        Skill "skill",
        Start "start",
        End "end",
        StageBefore "stage before",
        StageAfter "stage after",
        StageReason "stage reason",
        Theory "theory",
        TheoryReason "theory reason",
        Experience "experience",
        NovelContext "novel context",
        LearningClaimed "learning claimed",
        Consent "consent",
        Screening "screening",
    }
}

/// What a number in a header or label counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) enum Counted {
    Trial,
    Session,
    Week,
    Rater,
}

/// Words in score cells that are no numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum CellWord {
    /// Not attempted or not recorded.
    Missing,
    /// A result, but which number it stands for is the course's to say.
    Result,
}

/// Names by the keys of their spellings. More than one name under a key: ambiguous.
type Spellings<T> = HashMap<String, Vec<T>>;

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
    computed: Spellings<()>,
    kinds: Spellings<MeasureKind>,
    betters: Spellings<Better>,
    orders: Spellings<Order>,
    varieties: Spellings<Variety>,
    parts: Spellings<&'static str>,
    feedback: Spellings<Feedback>,
    answers: Spellings<bool>,
    cell_words: Spellings<CellWord>,
    units: Spellings<()>,
    months: Spellings<i8>,
    weekdays: Spellings<()>,
    ordinals: Spellings<u32>,
    learning_stages: Spellings<()>,
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

type Lists = HashMap<String, Vec<String>>;

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

/// The spellings of each name, the name itself first.
fn spellings<T: Copy + PartialEq>(lists: &Lists, name: impl Fn(&str) -> Option<T>) -> Spellings<T> {
    let mut spellings = Spellings::new();
    for (canonical, list) in lists {
        if let Some(value) = name(canonical) {
            add(&mut spellings, canonical, value);
            for spelling in list {
                add(&mut spellings, spelling, value);
            }
        }
    }
    spellings
}

fn add<T: PartialEq>(spellings: &mut Spellings<T>, spelling: &str, value: T) {
    let values = spellings.entry(key(spelling)).or_default();
    if !values.contains(&value) {
        values.push(value);
    }
}

fn only<T: Copy>(spellings: &Spellings<T>, key: &str) -> Option<T> {
    spellings
        .get(key)
        .and_then(|values| values.first().copied())
}

impl Aliases {
    fn from_source(source: &Source) -> Self {
        let mut columns = Spellings::new();
        for kind in TableKind::ALL {
            let Some(lists) = source.columns.get(&kind.name().to_lowercase()) else {
                continue;
            };
            // In the order of the fields, so that the readings of an ambiguous spelling have a fixed order.
            for field in Field::ALL {
                if let Some(list) = lists.get(field.name()) {
                    add(&mut columns, field.name(), (kind, *field));
                    for spelling in list {
                        add(&mut columns, spelling, (kind, *field));
                    }
                }
            }
        }
        let mut phases = Spellings::new();
        for phase in PhaseKind::ALL {
            add(&mut phases, phase.name(), phase);
            for spelling in source.phases.get(phase.name()).into_iter().flatten() {
                add(&mut phases, spelling, phase);
            }
        }
        let named = |lists: &Lists, name: &str| lists.get(name).cloned().unwrap_or_default();
        let mut tables = Vec::new();
        for kind in TableKind::ALL {
            let name = kind.name().to_lowercase();
            for spelling in std::iter::once(name.clone()).chain(named(&source.tables, &name)) {
                tables.push((key(&spelling), kind));
            }
        }
        tables.sort_by_key(|(spelling, _)| std::cmp::Reverse(spelling.len()));
        Self {
            tables,
            about: spellings(&source.about, AboutKey::from_name),
            about_header: spellings(&source.about_header, |name| Some(name == "key")),
            columns,
            numbered: spellings(&source.numbered, |name| match name {
                "trial" => Some(Counted::Trial),
                "session" => Some(Counted::Session),
                "week" => Some(Counted::Week),
                "rater" => Some(Counted::Rater),
                _ => None,
            }),
            phases,
            statistics: spellings(&source.statistics, Statistic::from_name),
            computed: spellings(&source.computed, |_| Some(())),
            kinds: spellings(&source.kinds, |name| {
                [
                    MeasureKind::Rating,
                    MeasureKind::Count,
                    MeasureKind::Success,
                    MeasureKind::Error,
                    MeasureKind::SignedError,
                    MeasureKind::Quantity,
                ]
                .into_iter()
                .find(|kind| kind.name() == name)
            }),
            betters: spellings(&source.better, |name| match name {
                "higher" => Some(Better::Higher),
                "lower" => Some(Better::Lower),
                "target" => Some(Better::Target),
                _ => None,
            }),
            orders: spellings(&source.orders, |name| {
                [Order::Blocked, Order::Serial, Order::Random]
                    .into_iter()
                    .find(|order| order.name() == name)
            }),
            varieties: spellings(&source.varieties, |name| {
                [Variety::Constant, Variety::Variable]
                    .into_iter()
                    .find(|variety| variety.name() == name)
            }),
            parts: spellings(&source.parts, |name| {
                ["whole", "part", "simplified"]
                    .into_iter()
                    .find(|part| *part == name)
            }),
            feedback: spellings(&source.feedback, |name| match name {
                "results" => Some(Feedback::Results),
                "technique" => Some(Feedback::Technique),
                "both" => Some(Feedback::Both),
                "none" => Some(Feedback::None),
                _ => None,
            }),
            answers: spellings(&source.answers, |name| Some(name == "yes")),
            cell_words: spellings(&source.cells, |name| match name {
                "missing" => Some(CellWord::Missing),
                "result" => Some(CellWord::Result),
                _ => None,
            }),
            units: spellings(&source.units, |_| Some(())),
            months: spellings(&source.months, |name| name.parse().ok()),
            weekdays: spellings(&source.weekdays, |_| Some(())),
            ordinals: spellings(&source.ordinals, |name| name.parse().ok()),
            learning_stages: spellings(&source.learning_stages, |_| Some(())),
        }
    }

    /// Adds spellings of a column to every table that has it. False where no table has a column of that name.
    pub(crate) fn add_column(&mut self, name: &str, list: &[String]) -> bool {
        let Some(field) = Field::from_name(name.trim()) else {
            return false;
        };
        let kinds: Vec<TableKind> = self
            .columns
            .get(&key(name))
            .into_iter()
            .flatten()
            .filter(|(_, of)| *of == field)
            .map(|(kind, _)| *kind)
            .collect();
        for spelling in list {
            let meanings = self.columns.entry(key(spelling)).or_default();
            for kind in &kinds {
                // The cohort has settled what this spelling means.
                meanings.retain(|(of, _)| of != kind);
                meanings.push((*kind, field));
            }
        }
        !kinds.is_empty()
    }

    /// The same spellings, and these as names of score columns.
    pub(crate) fn with_score_columns(&self, names: &[String]) -> Self {
        let mut aliases = self.clone();
        for name in names {
            add(
                &mut aliases.columns,
                name,
                (TableKind::Trials, Field::Score),
            );
        }
        aliases
    }

    /// Adds spellings of a phase. False where there is no phase of that name.
    pub(crate) fn add_phase(&mut self, name: &str, list: &[String]) -> bool {
        let Some(phase) = PhaseKind::ALL
            .into_iter()
            .find(|phase| phase.name() == name.trim())
        else {
            return false;
        };
        for spelling in list {
            self.phases.insert(key(spelling), vec![phase]);
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
        self.columns.get(key).map_or(&[], Vec::as_slice)
    }

    /// The About key with this spelling.
    pub(crate) fn about_key(&self, key: &str) -> Option<AboutKey> {
        only(&self.about, key)
    }

    /// Whether a word heads the keys (true) or the values (false) of an About table.
    pub(crate) fn about_header(&self, key: &str) -> Option<bool> {
        only(&self.about_header, key)
    }

    /// What a word before a number counts.
    pub(crate) fn counted(&self, key: &str) -> Option<Counted> {
        only(&self.numbered, key)
    }

    /// The phases that a spelling may mean; more than one: ambiguous.
    pub(crate) fn phase(&self, key: &str) -> &[PhaseKind] {
        self.phases.get(key).map_or(&[], Vec::as_slice)
    }

    /// The statistic with this spelling.
    pub(crate) fn statistic(&self, key: &str) -> Option<Statistic> {
        only(&self.statistics, key)
    }

    /// Whether a spelling marks something computed, though no statistic that could be recomputed.
    pub(crate) fn is_computed(&self, key: &str) -> bool {
        self.computed.contains_key(key)
    }

    pub(crate) fn measure_kind(&self, key: &str) -> Option<MeasureKind> {
        only(&self.kinds, key)
    }

    pub(crate) fn better(&self, key: &str) -> Option<Better> {
        only(&self.betters, key)
    }

    pub(crate) fn order(&self, key: &str) -> Option<Order> {
        only(&self.orders, key)
    }

    pub(crate) fn variety(&self, key: &str) -> Option<Variety> {
        only(&self.varieties, key)
    }

    pub(crate) fn part(&self, key: &str) -> Option<&'static str> {
        only(&self.parts, key)
    }

    pub(crate) fn feedback(&self, key: &str) -> Option<Feedback> {
        only(&self.feedback, key)
    }

    /// Yes or no.
    pub(crate) fn answer(&self, key: &str) -> Option<bool> {
        only(&self.answers, key)
    }

    /// Words in score cells.
    pub(crate) fn cell_word(&self, key: &str) -> Option<CellWord> {
        only(&self.cell_words, key)
    }

    pub(crate) fn is_unit(&self, key: &str) -> bool {
        self.units.contains_key(key)
    }

    /// The month with this name, 1 to 12.
    pub(crate) fn month(&self, key: &str) -> Option<i8> {
        only(&self.months, key)
    }

    /// Whether a word names a stage of learning.
    pub(crate) fn is_learning_stage(&self, key: &str) -> bool {
        self.learning_stages.contains_key(key)
    }

    /// The number that an ordinal names: 2 for `second`.
    pub(crate) fn ordinal(&self, key: &str) -> Option<u32> {
        only(&self.ordinals, key)
    }

    pub(crate) fn is_weekday(&self, key: &str) -> bool {
        self.weekdays.contains_key(key)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source() -> Source {
        toml::from_str(COMPILED_IN).expect("the compiled-in list is sound")
    }

    #[test]
    fn every_canonical_name_in_the_list_is_known() {
        let source = source();
        for (table, lists) in &source.columns {
            assert!(
                TableKind::ALL
                    .iter()
                    .any(|kind| kind.name().to_lowercase() == *table),
                "{table}"
            );
            for name in lists.keys() {
                assert!(Field::from_name(name).is_some(), "{table}.{name}");
            }
        }
        for name in source.about.keys() {
            assert!(AboutKey::from_name(name).is_some(), "{name}");
        }
        assert_eq!(source.about.len(), AboutKey::ALL.len());
        for name in source.statistics.keys() {
            assert!(Statistic::from_name(name).is_some(), "{name}");
        }
        assert_eq!(source.statistics.len(), Statistic::ALL.len());
        for name in source.phases.keys() {
            assert!(
                PhaseKind::ALL.iter().any(|phase| phase.name() == name),
                "{name}"
            );
        }
    }

    #[test]
    fn words_with_one_meaning_have_one() {
        // Only columns and phases are settled by what stands in the column: elsewhere a second meaning would be picked at random.
        let aliases = Aliases::default();
        for (key, values) in &aliases.statistics {
            assert_eq!(values.len(), 1, "{key}: {values:?}");
        }
        for (key, values) in &aliases.about {
            assert_eq!(values.len(), 1, "{key}: {values:?}");
        }
        for (key, values) in &aliases.cell_words {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.months {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.feedback {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.kinds {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.betters {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.answers {
            assert_eq!(values.len(), 1, "{key}");
        }
        for (key, values) in &aliases.orders {
            assert_eq!(values.len(), 1, "{key}");
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
