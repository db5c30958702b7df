//! The shape of a rubric's file for editors, which complete keys and check types with it. A test holds it to what the reader takes.

use std::collections::BTreeMap;

use schemars::{JsonSchema, schema_for};

/// The JSON Schema of a rubric's file. Facts, sums and levels are beyond it: `evenhand rubric FILE` checks those.
pub fn schema() -> String {
    // A schema is a tree of texts: writing it can't fail.
    serde_json::to_string_pretty(&schema_for!(RubricFile)).unwrap_or_default()
}

/// A rubric: criteria, evidence, levels and the course's own settings of the checks.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct RubricFile {
    /// What the rubric is called.
    title: String,
    /// The marks of all criteria together.
    out_of: f64,
    /// The mark from which on a report passes.
    pass: Option<f64>,
    /// Levels of the total.
    level: Option<Vec<LevelShape>>,
    /// Checks by id: off, query, concern or error, or a table with `weight` and `reason`.
    checks: Option<BTreeMap<String, SwitchShape>>,
    /// Thresholds that differ from the defaults, by key; `evenhand explain` lists them.
    thresholds: Option<BTreeMap<String, f64>>,
    /// How stated numbers are read.
    numbers: Option<NumbersShape>,
    /// The criteria.
    criterion: Vec<CriterionShape>,
}

/// A level: from a mark up to where the next begins.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct LevelShape {
    /// Its name for people.
    title: String,
    /// The lowest mark that it holds.
    from: f64,
    /// What work at this level looks like.
    descriptor: Option<String>,
}

/// What a course makes of a check.
#[derive(JsonSchema)]
#[schemars(untagged)]
#[expect(dead_code, reason = "the shape alone is used")]
enum SwitchShape {
    Weight(WeightShape),
    Reasoned(ReasonedShape),
}

/// A check's weight with the reason for it.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct ReasonedShape {
    /// The weight.
    weight: WeightShape,
    /// Why.
    reason: Option<String>,
}

/// The weight that a check's findings have at most.
#[derive(JsonSchema)]
#[schemars(rename_all = "lowercase")]
#[expect(dead_code, reason = "the shape alone is used")]
enum WeightShape {
    Off,
    Query,
    Concern,
    Error,
}

/// How stated numbers are read.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct NumbersShape {
    /// Codes of slips that this course accepts as its own convention.
    accept: Option<Vec<String>>,
}

/// A criterion; its points sum to its marks.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct CriterionShape {
    /// Its name in files.
    id: String,
    /// Its name for people.
    title: String,
    /// The marks out of which it is marked.
    marks: f64,
    /// Whether the pair shares the mark or each student has one.
    each: Option<EachShape>,
    /// Points that the data settle.
    evidence: Option<Vec<EvidenceShape>>,
    /// Points that a person gives.
    judged: Option<Vec<JudgedShape>>,
    /// Levels of the criterion's mark.
    level: Option<Vec<LevelShape>>,
}

/// To whom a criterion's mark belongs.
#[derive(JsonSchema)]
#[schemars(rename_all = "lowercase")]
#[expect(dead_code, reason = "the shape alone is used")]
enum EachShape {
    Pair,
    Student,
}

/// Points that the data settle.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct EvidenceShape {
    /// Its name in files, unique within the criterion.
    id: String,
    /// What it is about, in a few words for people; its id is read out otherwise.
    title: Option<String>,
    /// What it is worth.
    points: f64,
    /// Checks whose findings say what it says where it isn't met: where a marker dismisses them, the pair is not told it.
    findings: Option<Vec<String>>,
    /// A condition over facts: where it holds, the points are earned.
    when: String,
    /// A condition: where `when` doesn't hold and this does, half of the points are earned.
    partly: Option<String>,
    /// A condition: where it doesn't hold, the points are left to the marker.
    testable: Option<String>,
    /// What the pair reads where the points are earned; {fact} is filled in.
    met: Option<String>,
    /// What the pair reads where half of them are.
    partly_met: Option<String>,
    /// What the pair reads where none is: what is missing and the next step.
    unmet: Option<String>,
    /// What the marker reads where the data settle nothing.
    unsure: Option<String>,
}

/// Points that a person gives.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct JudgedShape {
    /// Its name in files, unique within the criterion.
    id: String,
    /// What it is worth.
    points: f64,
    /// The question that the marker answers.
    asks: String,
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

    use super::*;
    use crate::rubric::tests_support::read;

    /// A rubric with every key there is.
    const EVERY_KEY: &str = r#"
title = "T"
out_of = 4
pass = 2
checks = { "testing.one-rater" = "off", "testing.ceiling" = { weight = "query", reason = "r" } }
thresholds = { retention_days = 7 }
numbers = { accept = ["best-trial"] }
[[level]]
title = "L"
from = 0
descriptor = "d"
[[criterion]]
id = "a"
title = "A"
marks = 4
each = "student"
[[criterion.evidence]]
id = "e"
title = "E"
points = 2
findings = ["testing.one-rater"]
when = "pre.n > 3"
partly = "pre.n > 2"
testable = "has(pre.n)"
met = "m"
partly_met = "p"
unmet = "u"
unsure = "s"
[[criterion.judged]]
id = "j"
points = 2
asks = "q?"
[[criterion.level]]
title = "L"
from = 0
descriptor = "d"
"#;

    fn keys_of(table: &toml::Table, keys: &mut BTreeSet<String>) {
        for (key, value) in table {
            keys.insert(key.clone());
            match value {
                toml::Value::Table(inner) if !matches!(key.as_str(), "checks" | "thresholds") => {
                    keys_of(inner, keys);
                }
                toml::Value::Array(list) => {
                    for inner in list.iter().filter_map(toml::Value::as_table) {
                        keys_of(inner, keys);
                    }
                }
                _ => {}
            }
        }
    }

    fn properties(value: &Value, keys: &mut BTreeSet<String>) {
        let Some(object) = value.as_object() else {
            return;
        };
        if let Some(known) = object.get("properties").and_then(Value::as_object) {
            keys.extend(known.keys().cloned());
        }
        for inner in object.values() {
            properties(inner, keys);
            for item in inner.as_array().into_iter().flatten() {
                properties(item, keys);
            }
        }
    }

    #[test]
    fn the_schema_has_the_keys_that_the_reader_takes() {
        read(EVERY_KEY).unwrap();
        let mut written = BTreeSet::new();
        keys_of(&EVERY_KEY.parse().unwrap(), &mut written);
        written.extend(["weight".to_owned(), "reason".to_owned()]);
        let mut described = BTreeSet::new();
        properties(&serde_json::from_str(&schema()).unwrap(), &mut described);
        assert_eq!(written, described);
    }
}
