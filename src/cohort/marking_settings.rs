//! The parts of `cohort.toml` that govern marking: sample, tolerance, late rules, rounding, conflicts of interest.

use std::collections::BTreeMap;

use crate::configuration::{Table, Value};

/// How large the second-marking sample is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SampleRule {
    /// The square root of the number of pairs.
    SquareRoot,
    /// A share of the pairs, 0–1.
    Share(f64),
    /// So many pairs.
    Count(usize),
}

impl SampleRule {
    /// How many of so many pairs, rounded up.
    pub fn size(self, pairs: usize) -> usize {
        let wanted = match self {
            Self::SquareRoot => (pairs as f64).sqrt().ceil(),
            Self::Share(share) => (pairs as f64 * share).ceil(),
            Self::Count(count) => count as f64,
        };
        (0..=pairs).find(|n| *n as f64 >= wanted).unwrap_or(pairs)
    }
}

/// Which mark two markers within tolerance agree on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreed {
    /// The first marker's.
    First,
    /// The mean of both.
    Mean,
}

/// `[moderation]`
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "five independent yes-or-no keys of the file"
)]
pub struct ModerationSettings {
    /// The rule of the sample.
    pub sample: SampleRule,
    /// The smallest sample.
    pub sample_least: usize,
    /// Pairs whose evidence is at the top level are drawn by chance like others, not all of them.
    pub top_by_chance: bool,
    /// Marks within this percent of a criterion's (or the total's) marks agree.
    pub tolerance: Option<f64>,
    /// Marks from a level's boundary that count as near it.
    pub near_boundary: Option<f64>,
    /// Which mark two within tolerance agree on.
    pub agreed: Agreed,
    /// The second marker sees the first one's marks.
    pub second_sees_first: bool,
    /// Every pair is marked twice.
    pub all_marked_twice: bool,
    /// Markers see students' names.
    pub names: bool,
    /// A suggestion is shown only after a mark is entered.
    pub suggest_after: bool,
}

impl Default for ModerationSettings {
    fn default() -> Self {
        Self {
            sample: SampleRule::SquareRoot,
            sample_least: 10,
            top_by_chance: false,
            tolerance: None,
            near_boundary: None,
            agreed: Agreed::First,
            second_sees_first: false,
            all_marked_twice: false,
            names: false,
            suggest_after: false,
        }
    }
}

impl ModerationSettings {
    /// The tolerance in percent of a criterion's marks: five where the course sets none.
    pub fn tolerance_percent(&self) -> f64 {
        self.tolerance.unwrap_or(5.0)
    }

    /// Reads `[moderation]`; faults go to the reading.
    pub fn read(table: &Table<'_>) -> Self {
        let mut settings = Self::default();
        if let Some(sample) = sample_rule(table) {
            settings.sample = sample;
        }
        if let Some(least) = whole(table, "sample_least") {
            settings.sample_least = least;
        }
        settings.top_by_chance = choice(table, "sample_top", &["all", "by chance"]) == Some(1);
        settings.tolerance = within(table, "tolerance", 0.0, 100.0);
        settings.near_boundary = within(table, "near_boundary", 0.0, f64::MAX);
        if let Some(agreed) = choice(table, "agreed", &["first", "mean"]) {
            settings.agreed = if agreed == 0 {
                Agreed::First
            } else {
                Agreed::Mean
            };
        }
        settings.second_sees_first = choice(table, "second", &["blind", "seen"]) == Some(1);
        settings.all_marked_twice = choice(table, "second_marking", &["sample", "all"]) == Some(1);
        settings.suggest_after = choice(table, "suggest", &["before", "after"]) == Some(1);
        settings.names = table.truth("names").is_some_and(|names| names.value);
        table.finish();
        settings
    }
}

/// `sample = "sqrt"`, a share below 1, or a count.
fn sample_rule(table: &Table<'_>) -> Option<SampleRule> {
    let value = table.any("sample")?;
    let rule = match &value.value {
        Value::Text(text) if matches!(text.as_str(), "sqrt" | "square root") => {
            Some(SampleRule::SquareRoot)
        }
        Value::Number(share) if *share > 0.0 && *share < 1.0 => Some(SampleRule::Share(*share)),
        Value::Number(count) if *count >= 1.0 && count.fract() == 0.0 => {
            Some(SampleRule::Count(whole_number(*count)))
        }
        _ => None,
    };
    if rule.is_none() {
        table.fault(
            &value.span,
            "`sample` must be \"sqrt\", a share below 1 (0.1), or a number of pairs (15)",
            None,
        );
    }
    rule
}

/// `[late]`: what lateness costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LateRule {
    /// Percent of the marks for each day begun.
    pub percent: f64,
    /// Days (or parts of one) after the due time that cost nothing.
    pub grace: f64,
    /// At most so many percent of the marks.
    pub cap: f64,
}

impl LateRule {
    /// Reads `[late]`; faults go to the reading.
    pub fn read(table: &Table<'_>) -> Option<Self> {
        let rule = Self {
            percent: within(table, "percent", 0.0, 100.0).unwrap_or(0.0),
            grace: within(table, "grace", 0.0, 366.0).unwrap_or(0.0),
            cap: within(table, "cap", 0.0, 100.0).unwrap_or(100.0),
        };
        table.finish();
        (rule.percent > 0.0).then_some(rule)
    }
}

/// The ids by which the institution's own system knows what the marks are of, for the OneRoster files; empty ones are made up, and stay the
/// same as long as the cohort's title does.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct OneRosterIds {
    /// The class.
    pub class: String,
    /// The category of assessment.
    pub category: String,
    /// The term.
    pub academic_session: String,
    /// The school or department.
    pub school: String,
}

/// `[return]`
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ReturnSettings {
    /// The step to which final marks are rounded, half up, once, at the end; none where they are not.
    pub round: Option<f64>,
    /// Ids for the OneRoster files.
    pub one_roster: OneRosterIds,
}

impl ReturnSettings {
    /// Reads `[return]`; faults go to the reading.
    pub fn read(table: &Table<'_>) -> Self {
        let text = |key| table.text(key).map(|text| text.value).unwrap_or_default();
        let settings = Self {
            round: within(table, "round", 0.0, 100.0).filter(|step| *step > 0.0),
            one_roster: OneRosterIds {
                class: text("class_id"),
                category: text("category_id"),
                academic_session: text("term_id"),
                school: text("school_id"),
            },
        };
        table.finish();
        settings
    }
}

/// `[conflicts]`: marker = pairs or students that they must not mark.
pub fn read_conflicts(table: &Table<'_>) -> BTreeMap<String, Vec<String>> {
    table
        .lists()
        .into_iter()
        .map(|(marker, of)| (marker.value, of.into_iter().map(|id| id.value).collect()))
        .collect()
}

fn whole(table: &Table<'_>, key: &'static str) -> Option<usize> {
    let number = table.number(key)?;
    if number.value >= 0.0 && number.value.fract() == 0.0 && number.value < 1e9 {
        Some(whole_number(number.value))
    } else {
        table.fault(
            &number.span,
            format!("`{key}` must be a whole number"),
            None,
        );
        None
    }
}

fn whole_number(number: f64) -> usize {
    // Checked before: not negative, whole, below 1e9; saturates otherwise.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "checked by the callers"
    )]
    let whole = number as usize;
    whole
}

/// A number within a range, if the key is there.
pub(super) fn within(table: &Table<'_>, key: &'static str, least: f64, most: f64) -> Option<f64> {
    let number = table.number(key)?;
    if number.value < least || number.value > most {
        let range = if most < f64::MAX {
            format!("between {least} and {most}")
        } else {
            format!("{least} or more")
        };
        table.fault(&number.span, format!("`{key}` must be {range}"), None);
        return None;
    }
    Some(number.value)
}

/// Which of the words that a key may hold, if the key is there.
pub(super) fn choice(table: &Table<'_>, key: &'static str, words: &[&str]) -> Option<usize> {
    let text = table.text(key)?;
    let index = words.iter().position(|word| *word == text.value);
    if index.is_none() {
        table.fault(
            &text.span,
            format!("`{key}` must be \"{}\"", words.join("\" or \"")),
            None,
        );
    }
    index
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::Reading;

    fn moderation(text: &str) -> Result<ModerationSettings, String> {
        Reading::of("cohort.toml", text, |file| {
            file.table("moderation", "[moderation]")
                .map(|table| ModerationSettings::read(&table))
                .unwrap_or_default()
        })
        .map_err(|faults| faults.to_string())
    }

    #[test]
    fn sample_rules_are_read_and_sized() {
        let sample = |rule: &str| {
            moderation(&format!("[moderation]\nsample = {rule}\n"))
                .unwrap()
                .sample
        };
        // Square root of the cohort, ten percent, a fixed count: the rules that universities publish (common practice).
        assert_eq!(sample("'sqrt'").size(200), 15);
        assert_eq!(sample("0.1").size(200), 20);
        assert_eq!(sample("25").size(200), 25);
        assert_eq!(sample("25").size(7), 7);
    }

    #[test]
    fn faults_name_what_a_key_may_hold() {
        let faults = moderation(
            "[moderation]\nsample = 'half'\nagreed = 'best'\ntolerance = 300\nsampel_least = 3\n",
        )
        .unwrap_err();
        for part in [
            "sqrt",
            "\"first\" or \"mean\"",
            "between 0 and 100",
            "`sample_least`",
        ] {
            assert!(faults.contains(part), "{part}: {faults}");
        }
    }
}
