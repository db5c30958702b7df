//! Every number that a check uses: the defaults compiled in, and what a course sets in their place.

use std::collections::BTreeMap;
use std::ops::Range;
use std::sync::LazyLock;

use crate::configuration::{Faults, Reading, Table, Value, nearest};

/// The file of the defaults, which is compiled in: no course has it.
pub(crate) const DEFAULTS_FILE: &str = "rubrics/defaults.toml";
const DEFAULTS_TEXT: &str = include_str!("../rubrics/defaults.toml");

/// Declares the thresholds once: field, key in the files, and access by key.
macro_rules! thresholds {
    ($($(#[doc = $doc:literal])+ $key:ident),+ $(,)?) => {
        /// The thresholds in force. Units and meaning of each: [`definitions`].
        #[derive(Debug, Clone, PartialEq)]
        pub struct Thresholds {
            $($(#[doc = $doc])+ pub $key: f64,)+
            origins: BTreeMap<&'static str, Origin>,
        }

        /// The key of every threshold, in the order of the documentation.
        pub const KEYS: &[&str] = &[$(stringify!($key)),+];

        impl Thresholds {
            /// The threshold of that key; none where there is no such key.
            pub fn get(&self, key: &str) -> Option<f64> {
                match key {
                    $(stringify!($key) => Some(self.$key),)+
                    _ => None,
                }
            }

            fn field(&mut self, key: &str) -> Option<&mut f64> {
                match key {
                    $(stringify!($key) => Some(&mut self.$key),)+
                    _ => None,
                }
            }

            fn all_zero() -> Self {
                Self { $($key: 0.0,)+ origins: BTreeMap::new() }
            }
        }
    };
}

thresholds! {
    /// Scored trials that a test should have.
    few_trials,
    /// 1 − smaller n / larger n of the tests, at most.
    unequal_trials,
    /// Whole days from the last practice to the retention test, at least.
    retention_days,
    /// Level (0–1) from which on a block is at the ceiling.
    ceiling,
    /// Level (0–1) down from which a block is at the floor.
    floor,
    /// Quadratic weighted kappa of two raters, at least.
    raters_kappa,
    /// Trials rated twice from which on agreement is judged.
    raters_least,
    /// Share (0–1) of test trials with a second rating, at least.
    second_rated,
    /// Weeks of a programme, at least.
    weeks,
    /// Practice sessions, at least.
    sessions,
    /// Days between two practice sessions, at most.
    long_gap_days,
    /// Share (0–1) of practice sessions with a record of feedback or schedule, at least.
    recorded_share,
    /// Confidence (0–1) of the interval of a change.
    beyond_noise,
    /// Decimals beyond what the data carry, from which on they are too many.
    spurious_digits,
    /// Expected number of chance matches in the cohort, below which trials look copied.
    copied,
    /// Expected number of spreads this small in the cohort, below which trials look too regular.
    too_regular,
    /// Robust z of a pair's standardised change, above which it is unusual.
    unusual_gain,
    /// Percent of a criterion's evidence points between mark and suggestion.
    far_from_evidence,
    /// Marks from a level's boundary.
    near_boundary,
    /// Percent of the total between two markers.
    tolerance,
}

/// Who set a threshold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    /// The file that sets it.
    pub file: String,
    /// The line there, from 1.
    pub line: usize,
}

/// What a threshold is, as `rubrics/defaults.toml` says.
#[derive(Debug, Clone, PartialEq)]
pub struct Definition {
    /// The key under `[thresholds]`.
    pub key: &'static str,
    /// The value where no course sets another.
    pub default: f64,
    /// The unit, in words.
    pub unit: String,
    /// The smallest value it may take.
    pub least: Option<f64>,
    /// The largest value it may take.
    pub most: Option<f64>,
    /// Whether it must be a whole number.
    pub whole: bool,
    /// What it decides, and which checks use it.
    pub explains: String,
    line: usize,
}

static DEFINITIONS: LazyLock<Vec<Definition>> = LazyLock::new(|| {
    // The text is compiled in, and a test reads it: a fault can't reach a user.
    #[expect(clippy::panic, reason = "compiled in; a test reads it")]
    match read_definitions(DEFAULTS_TEXT) {
        Ok(definitions) => definitions,
        Err(faults) => panic!("{faults}"),
    }
});

/// Every threshold with its default, unit and explanation.
pub fn definitions() -> &'static [Definition] {
    &DEFINITIONS
}

/// What the threshold of that key is; none where there is no such key.
pub fn definition(key: &str) -> Option<&'static Definition> {
    DEFINITIONS.iter().find(|definition| definition.key == key)
}

fn read_definitions(source: &str) -> Result<Vec<Definition>, Faults> {
    Reading::of(DEFAULTS_FILE, source, |file| {
        let mut found: Vec<Definition> = Vec::new();
        for (name, table) in file.named_tables("a threshold") {
            let definition = KEYS
                .iter()
                .copied()
                .find(|key| *key == name.value)
                .and_then(|key| {
                    Some(Definition {
                        key,
                        default: table.needed_number("value")?.value,
                        unit: table.needed_text("unit")?.value,
                        least: table.number("least").map(|number| number.value),
                        most: table.number("most").map(|number| number.value),
                        whole: table.truth("whole").is_some_and(|truth| truth.value),
                        explains: table.needed_text("explains")?.value,
                        line: line_of(source, &name.span),
                    })
                });
            match definition {
                Some(definition) => {
                    table.finish();
                    found.push(definition);
                }
                None => file.fault(&name.span, "not a threshold that a check uses", None),
            }
        }
        for key in KEYS {
            if !found.iter().any(|definition| definition.key == *key) {
                file.fault(&(0..0), format!("no default for `{key}`"), None);
            }
        }
        found
    })
}

fn line_of(source: &str, span: &Range<usize>) -> usize {
    source
        .get(..span.start)
        .map_or(0, |before| before.matches('\n').count())
        + 1
}

impl Default for Thresholds {
    fn default() -> Self {
        let mut thresholds = Self::all_zero();
        for definition in definitions() {
            let origin = Origin {
                file: DEFAULTS_FILE.to_owned(),
                line: definition.line,
            };
            thresholds.set(definition.key, definition.default, origin);
        }
        thresholds
    }
}

impl Thresholds {
    /// Which file and line set the threshold of that key.
    pub fn origin(&self, key: &str) -> Option<&Origin> {
        self.origins.get(key)
    }

    fn set(&mut self, key: &'static str, value: f64, origin: Origin) {
        if let Some(field) = self.field(key) {
            *field = value;
            self.origins.insert(key, origin);
        }
    }

    /// Takes over the thresholds that another set got from the file named `file`.
    pub fn take_over(&mut self, other: &Self, file: &str) {
        for key in KEYS {
            if let (Some(value), Some(origin)) = (other.get(key), other.origin(key))
                && origin.file == file
            {
                self.set(key, value, origin.clone());
            }
        }
    }

    /// Reads a `[thresholds]` table of the file named `file` over these: unknown keys, texts and values out of range are faults of that file and
    /// change nothing.
    pub fn overlay(&mut self, file: &str, table: &Table<'_>) {
        for (name, value) in table.entries() {
            let Some(definition) = definition(&name.value) else {
                table.fault(
                    &name.span,
                    format!("there is no threshold `{}`", name.value),
                    Some(nearest(&name.value, KEYS.iter().copied()).map_or_else(
                        || format!("the thresholds are: {}", KEYS.join(", ")),
                        |near| format!("did you mean `{near}`?"),
                    )),
                );
                continue;
            };
            let Value::Number(number) = value.value else {
                table.fault(
                    &value.span,
                    format!("`{}` must be a number ({})", name.value, definition.unit),
                    None,
                );
                continue;
            };
            if let Some(why) = definition.refuses(number) {
                table.fault(
                    &value.span,
                    format!(
                        "`{}` is {number} {}: it must be {why}",
                        name.value, definition.unit
                    ),
                    Some(format!("the default is {}", definition.default)),
                );
                continue;
            }
            let line = line_of(table.reading().source(), &name.span);
            let origin = Origin {
                file: file.to_owned(),
                line,
            };
            self.set(definition.key, number, origin);
        }
    }
}

impl Definition {
    /// What a value must be, where this one isn't.
    fn refuses(&self, value: f64) -> Option<String> {
        if let Some(least) = self.least.filter(|least| value < *least) {
            return Some(format!("{least} or more"));
        }
        if let Some(most) = self.most.filter(|most| value > *most) {
            return Some(format!("{most} or less"));
        }
        (self.whole && value.fract() != 0.0).then(|| "a whole number".to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn overlaid(text: &str) -> Result<Thresholds, Faults> {
        Reading::of("rubric.toml", text, |file| {
            let mut thresholds = Thresholds::default();
            if let Some(table) = file.table("thresholds", "[thresholds]") {
                thresholds.overlay("rubric.toml", &table);
                table.finish();
            }
            thresholds
        })
    }

    #[test]
    fn every_key_has_a_default_within_its_own_range() {
        let definitions = read_definitions(DEFAULTS_TEXT).unwrap();
        assert_eq!(definitions.len(), KEYS.len());
        for definition in &definitions {
            assert_eq!(
                definition.refuses(definition.default),
                None,
                "{}",
                definition.key
            );
            assert_eq!(
                Thresholds::default().get(definition.key),
                Some(definition.default)
            );
        }
    }

    /// Defaults of the contract's table.
    #[test]
    fn the_defaults_are_those_that_the_documentation_states() {
        let t = Thresholds::default();
        let stated = [
            (t.few_trials, 10.0),
            (t.unequal_trials, 0.2),
            (t.retention_days, 1.0),
            (t.ceiling, 0.9),
            (t.floor, 0.1),
            (t.raters_kappa, 0.4),
            (t.raters_least, 10.0),
            (t.second_rated, 0.2),
            (t.weeks, 3.0),
            (t.sessions, 6.0),
            (t.long_gap_days, 14.0),
            (t.recorded_share, 0.5),
            (t.beyond_noise, 0.95),
            (t.spurious_digits, 3.0),
            (t.copied, 0.001),
            (t.too_regular, 0.001),
            (t.unusual_gain, 3.5),
            (t.far_from_evidence, 20.0),
            (t.near_boundary, 1.0),
            (t.tolerance, 5.0),
        ];
        for (given, wanted) in stated {
            assert!((given - wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn a_course_sets_its_own_and_the_origin_says_where() {
        let set = overlaid("[thresholds]\nretention_days = 7\n").unwrap();
        assert_eq!(set.get("retention_days"), Some(7.0));
        assert_eq!(set.get("few_trials"), Some(10.0));
        let origin = set.origin("retention_days").unwrap();
        assert_eq!((origin.file.as_str(), origin.line), ("rubric.toml", 2));
        assert_eq!(set.origin("few_trials").unwrap().file, DEFAULTS_FILE);
    }

    #[test]
    fn a_wrong_key_a_text_and_a_value_out_of_range_are_each_a_fault() {
        let text = "[thresholds]\nfew_trails = 5\nceiling = 'high'\nfloor = 3\nsessions = 2.5\n";
        let faults = overlaid(text).unwrap_err();
        let lines: Vec<usize> = faults.list.iter().map(|fault| fault.line).collect();
        assert_eq!(lines, [2, 3, 4, 5], "{faults}");
        assert!(faults.render().contains("did you mean `few_trials`?"));
    }
}
