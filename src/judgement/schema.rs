//! The shapes of a stages file and a theories file for editors. A test holds them to what the readers take.

use schemars::{JsonSchema, schema_for};

/// The JSON Schema of a file of stage models.
pub fn stages_schema() -> String {
    // A schema is a tree of texts: writing it can't fail.
    serde_json::to_string_pretty(&schema_for!(StagesFile)).unwrap_or_default()
}

/// The JSON Schema of a file of theories.
pub fn theories_schema() -> String {
    serde_json::to_string_pretty(&schema_for!(TheoriesFile)).unwrap_or_default()
}

/// Models of the stages of learning.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct StagesFile {
    /// The models.
    model: Vec<ModelShape>,
}

/// A model of stages.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct ModelShape {
    /// Its name in files.
    id: String,
    /// Its name for people.
    title: String,
    /// How a text names the model itself.
    spellings: Option<Vec<String>>,
    /// Where it comes from.
    source: String,
    /// Its stages, the first one first.
    stage: Vec<StageShape>,
    /// What speaks for them.
    sign: Option<Vec<SignShape>>,
}

/// A stage.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct StageShape {
    /// Its name in the file.
    id: String,
    /// Its name for people.
    title: String,
    /// How a text names it.
    spellings: Vec<String>,
    /// Signs without whose support no record bears this stage out.
    requires: Option<Vec<String>>,
}

/// A sign.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct SignShape {
    /// Its name in the file.
    id: String,
    /// Of which diagnosis: start or end.
    at: MomentShape,
    /// What is looked at, for people.
    looks_at: String,
    /// Its value with the pair's numbers; {fact} is filled in.
    shows: String,
    /// A condition: where it doesn't hold, the sign is not recorded.
    needs: String,
    /// For which stages it speaks, and when.
    speaks_for: Vec<SpeaksForShape>,
    /// Why it speaks so.
    because: String,
    /// A publication, or common practice.
    source: String,
}

/// Of which diagnosis.
#[derive(JsonSchema)]
#[schemars(rename_all = "lowercase")]
#[expect(dead_code, reason = "the shape alone is used")]
enum MomentShape {
    Start,
    End,
}

/// For which stages a sign speaks, and when.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct SpeaksForShape {
    /// Ids of stages of this model.
    stages: Vec<String>,
    /// A condition over facts.
    when: String,
}

/// Theories of motor learning.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct TheoriesFile {
    /// The theories.
    theory: Vec<TheoryShape>,
}

/// A theory.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct TheoryShape {
    /// Its name in files.
    id: String,
    /// Its name for people.
    title: String,
    /// How a text names it.
    spellings: Vec<String>,
    /// Where it comes from.
    source: String,
    /// Theories that can't be right together with it.
    contradicts: Option<Vec<ContradictionShape>>,
    /// What it predicts.
    prediction: Vec<PredictionShape>,
}

/// A theory that can't be right together with this one.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct ContradictionShape {
    /// The other's id.
    theory: String,
    /// Why.
    because: String,
}

/// A prediction.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields)]
#[expect(dead_code, reason = "the shape alone is used")]
struct PredictionShape {
    /// Its name in the file.
    id: String,
    /// What is predicted.
    states: String,
    /// Whether it needs a comparison, or a record that no logbook has: then it is never scored.
    beyond_one_learner: Option<bool>,
    /// A condition: where it holds, the record can show it.
    needs: Option<String>,
    /// A condition: the pattern as predicted.
    when: Option<String>,
    /// A condition: the opposite pattern.
    unless: Option<String>,
    /// The pair's numbers; {fact} is filled in.
    shows: Option<String>,
    /// How often it arises by accident.
    chance: Option<String>,
    /// What would test it.
    design: String,
    /// What else shows the same.
    rivals: Option<Vec<String>>,
    /// Why the theory predicts it.
    because: String,
    /// A publication, or common practice.
    source: String,
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use serde_json::Value;

    use super::*;
    use crate::expression::fixture;
    use crate::judgement::{StageModels, Theories};

    const EVERY_KEY_OF_A_MODEL: &str = r#"
[[model]]
id = "m"
title = "M"
spellings = ["m"]
source = "s"
stage = [
  { id = "a", title = "A", spellings = ["a"], requires = ["s"] },
  { id = "b", title = "B", spellings = ["b"] },
]
[[model.sign]]
id = "s"
at = "end"
looks_at = "x"
shows = "{pre.mean}"
needs = "has(pre.mean)"
because = "b"
source = "s"
speaks_for = [{ stages = ["a"], when = "pre.mean > 1" }]
"#;

    const EVERY_KEY_OF_A_THEORY: &str = r#"
[[theory]]
id = "t"
title = "T"
spellings = ["t"]
source = "s"
contradicts = [{ theory = "t", because = "b" }]
[[theory.prediction]]
id = "p"
states = "x"
beyond_one_learner = false
needs = "has(pre.mean)"
when = "pre.mean > 1"
unless = "pre.mean < 0"
shows = "s"
chance = "c"
design = "d"
rivals = ["r"]
because = "b"
source = "s"
"#;

    fn written(text: &str) -> BTreeSet<String> {
        fn walk(value: &toml::Value, keys: &mut BTreeSet<String>) {
            match value {
                toml::Value::Table(table) => {
                    for (key, inner) in table {
                        keys.insert(key.clone());
                        walk(inner, keys);
                    }
                }
                toml::Value::Array(list) => list.iter().for_each(|inner| walk(inner, keys)),
                _ => {}
            }
        }
        let mut keys = BTreeSet::new();
        walk(&toml::Value::Table(text.parse().unwrap()), &mut keys);
        keys
    }

    fn described(schema: &str) -> BTreeSet<String> {
        fn walk(value: &Value, keys: &mut BTreeSet<String>) {
            match value {
                Value::Object(object) => {
                    if let Some(known) = object.get("properties").and_then(Value::as_object) {
                        keys.extend(known.keys().cloned());
                    }
                    object.values().for_each(|inner| walk(inner, keys));
                }
                Value::Array(list) => list.iter().for_each(|inner| walk(inner, keys)),
                _ => {}
            }
        }
        let mut keys = BTreeSet::new();
        walk(&serde_json::from_str(schema).unwrap(), &mut keys);
        keys
    }

    #[test]
    fn the_schemas_have_the_keys_that_the_readers_take() {
        let catalogue = fixture::catalogue();
        StageModels::read("m", EVERY_KEY_OF_A_MODEL, &catalogue).unwrap();
        assert_eq!(written(EVERY_KEY_OF_A_MODEL), described(&stages_schema()));
        Theories::read("t", EVERY_KEY_OF_A_THEORY, &catalogue).unwrap();
        assert_eq!(
            written(EVERY_KEY_OF_A_THEORY),
            described(&theories_schema())
        );
    }
}
