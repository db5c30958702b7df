//! Models of the stages of learning, read from TOML: their stages, and the signs that speak for each.

use std::collections::BTreeSet;

use super::naming::Spellings;
use super::stage_verdict::Moment;
use crate::configuration::{Faults, Located, Reading, Table};
use crate::expression::{Catalogue, Condition, Sentence, needed_condition, needed_sentence};

/// The models that ship.
pub const SHIPPED_STAGES: &str = include_str!("../../rubrics/stages.toml");

/// The models of stages that a course knows.
#[derive(Debug, Clone, PartialEq)]
pub struct StageModels {
    /// In the order of the file: where a stage's name fits several models, the first holds unless the text names another.
    pub models: Vec<StageModel>,
}

/// One model of stages.
#[derive(Debug, Clone, PartialEq)]
pub struct StageModel {
    /// Its name in files.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// How a text names the model itself.
    pub spellings: Spellings,
    /// Where it comes from.
    pub source: String,
    /// Its stages, the first one first.
    pub stages: Vec<Stage>,
    /// What speaks for them.
    pub signs: Vec<Sign>,
}

/// One stage of a model.
#[derive(Debug, Clone, PartialEq)]
pub struct Stage {
    /// Its name in the file.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// How a text names it.
    pub spellings: Spellings,
    /// Signs, by id, without whose support no record bears this stage out.
    pub requires: Vec<String>,
}

/// Something that a record can show, and the stages for which it speaks.
#[derive(Debug, Clone, PartialEq)]
pub struct Sign {
    /// Its name in the file, unique within the model for one moment.
    pub id: String,
    /// Whether it is looked at for the diagnosis at the start or at the end.
    pub at: Moment,
    /// What is looked at, for people.
    pub looks_at: String,
    /// Its value with the pair's numbers.
    pub shows: Sentence,
    /// Where this doesn't hold, the sign is not recorded.
    pub needs: Condition,
    /// Stages by id, each with the condition under which the sign speaks for it.
    pub speaks_for: Vec<(String, Condition)>,
    /// Why it speaks so.
    pub because: String,
    /// A publication, or `common practice`.
    pub source: String,
}

impl StageModels {
    /// Reads models of stages: `name` is the file's name in messages, `source` its text.
    ///
    /// # Errors
    /// Every fault of the file at once.
    pub fn read(name: &str, source: &str, catalogue: &Catalogue) -> Result<Self, Faults> {
        Reading::of(name, source, |file| {
            let mut seen = BTreeSet::new();
            let models = file
                .tables("model", "a model")
                .iter()
                .filter_map(|table| model(table, catalogue, &mut seen))
                .collect();
            if !file.has("model") {
                file.fault(&(0..0), "this file has no [[model]]", None);
            }
            Self { models }
        })
    }

    /// The models that ship.
    ///
    /// # Errors
    /// Their faults, where the catalogue lacks a fact that they name.
    pub fn shipped(catalogue: &Catalogue) -> Result<Self, Faults> {
        Self::read("rubrics/stages.toml", SHIPPED_STAGES, catalogue)
    }
}

/// An id that no other entry of the same list has.
pub(super) fn unique_id(table: &Table<'_>, seen: &mut BTreeSet<String>) -> Option<String> {
    let id = table.needed_text("id")?;
    if !seen.insert(id.value.clone()) {
        table.fault(
            &id.span,
            format!("the id `{}` is used twice", id.value),
            None,
        );
    }
    Some(id.value)
}

pub(super) fn values(texts: Vec<Located<String>>) -> Vec<String> {
    texts.into_iter().map(|text| text.value).collect()
}

fn model(
    table: &Table<'_>,
    catalogue: &Catalogue,
    seen: &mut BTreeSet<String>,
) -> Option<StageModel> {
    let id = unique_id(table, seen);
    let title = table.needed_text("title");
    let spellings = values(table.texts("spellings"));
    let source = table.needed_text("source");
    let mut own = BTreeSet::new();
    let stages: Vec<(Stage, Vec<Located<String>>)> = table
        .tables("stage", "a stage")
        .iter()
        .filter_map(|entry| stage(entry, &mut own))
        .collect();
    let stage_ids: Vec<&str> = stages.iter().map(|(stage, _)| stage.id.as_str()).collect();
    let mut signs_seen = BTreeSet::new();
    let signs: Vec<Sign> = table
        .tables("sign", "a sign")
        .iter()
        .filter_map(|entry| sign(entry, catalogue, &stage_ids, &mut signs_seen))
        .collect();
    for required in stages.iter().flat_map(|(_, required)| required) {
        if !signs.iter().any(|sign| sign.id == required.value) {
            let message = format!(
                "there is no sign `{}` that could be required",
                required.value
            );
            table.fault(&required.span, message, None);
        }
    }
    if stages.len() < 2 {
        table.fault(&table.span(), "a model has at least two stages", None);
    }
    table.finish();
    Some(StageModel {
        id: id?,
        title: title?.value,
        spellings: Spellings::of(spellings),
        source: source?.value,
        stages: stages.into_iter().map(|(stage, _)| stage).collect(),
        signs,
    })
}

/// A stage, and the places of the signs that it requires.
fn stage(table: &Table<'_>, seen: &mut BTreeSet<String>) -> Option<(Stage, Vec<Located<String>>)> {
    let id = unique_id(table, seen);
    let title = table.needed_text("title");
    let spellings = values(table.texts("spellings"));
    let requires = table.texts("requires");
    if spellings.is_empty() {
        table.fault(
            &table.span(),
            "a stage needs `spellings`: how pairs name it",
            None,
        );
    }
    table.finish();
    let stage = Stage {
        id: id?,
        title: title?.value,
        spellings: Spellings::of(spellings),
        requires: values(requires.clone()),
    };
    Some((stage, requires))
}

fn sign(
    table: &Table<'_>,
    catalogue: &Catalogue,
    stages: &[&str],
    seen: &mut BTreeSet<(String, Moment)>,
) -> Option<Sign> {
    let id = table.needed_text("id");
    let at = table
        .needed_text("at")
        .and_then(|word| match word.value.as_str() {
            "start" => Some(Moment::Start),
            "end" => Some(Moment::End),
            other => {
                let message = format!("`at` is \"start\" or \"end\", not \"{other}\"");
                table.fault(&word.span, message, None);
                None
            }
        });
    if let (Some(id), Some(at)) = (&id, at)
        && !seen.insert((id.value.clone(), at))
    {
        table.fault(
            &id.span,
            format!("the sign `{}` is there twice", id.value),
            None,
        );
    }
    let looks_at = table.needed_text("looks_at");
    let shows = needed_sentence(table, "shows", catalogue);
    let needs = needed_condition(table, "needs", catalogue);
    let because = table.needed_text("because");
    let source = table.needed_text("source");
    let mut speaks_for = Vec::new();
    for entry in table.tables("speaks_for", "what a sign speaks for") {
        let when = needed_condition(&entry, "when", catalogue);
        let named = entry.texts("stages");
        entry.finish();
        for stage in &named {
            if !stages.contains(&stage.value.as_str()) {
                let message = format!("this model has no stage `{}`", stage.value);
                let help = format!("its stages are {}", stages.join(", "));
                entry.fault(&stage.span, message, Some(help));
            }
        }
        if named.is_empty() {
            entry.fault(
                &entry.span(),
                "`stages` says for which stages the sign speaks",
                None,
            );
        }
        if let Some(when) = when {
            if when.value.constant() == Some(false) {
                entry.fault(&when.span, "this is never true", None);
            }
            speaks_for.extend(
                named
                    .into_iter()
                    .map(|stage| (stage.value, when.value.clone())),
            );
        }
    }
    if speaks_for.is_empty() && !table.has("speaks_for") {
        table.fault(
            &table.span(),
            "a sign needs [[model.sign.speaks_for]]",
            None,
        );
    }
    table.finish();
    Some(Sign {
        id: id?.value,
        at: at?,
        looks_at: looks_at?.value,
        shows: shows?.value,
        needs: needs?.value,
        speaks_for,
        because: because?.value,
        source: source?.value,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;

    #[test]
    fn the_models_that_ship_have_no_fault() {
        let models =
            StageModels::shipped(&fixture::catalogue()).unwrap_or_else(|faults| panic!("{faults}"));
        assert_eq!(models.models.len(), 4);
        for model in &models.models {
            for moment in [Moment::Start, Moment::End] {
                let signs = model.signs.iter().filter(|sign| sign.at == moment).count();
                assert!(
                    signs >= 3,
                    "{}: {signs} signs could never be enough",
                    model.id
                );
            }
            for stage in &model.stages {
                let spoken_for =
                    |sign: &Sign| sign.speaks_for.iter().any(|(id, _)| *id == stage.id);
                assert!(
                    model.signs.iter().any(spoken_for),
                    "{}: nothing speaks for {}",
                    model.id,
                    stage.id
                );
            }
        }
    }

    #[test]
    fn every_fault_of_a_model_is_found() {
        let text = r#"
[[model]]
id = "m"
title = "M"
source = "common practice"
[[model.stage]]
id = "a"
title = "A"
spellings = ["a"]
requires = ["nothing"]
[[model.stage]]
id = "a"
title = "B"
[[model.sign]]
id = "s"
at = "middle"
looks_at = "x"
shows = "{pre.maen}"
needs = "has(pre.mean)"
because = "b"
[[model.sign.speaks_for]]
stages = ["c"]
when = "pre.mean"
"#;
        let faults = StageModels::read("stages.toml", text, &fixture::catalogue()).unwrap_err();
        let lines: Vec<usize> = faults.list.iter().map(|fault| fault.line).collect();
        // requires; spellings missing and id twice; source of the sign missing; at; shows; stages; when.
        assert_eq!(lines, [10, 11, 12, 14, 16, 18, 22, 23], "{faults}");
    }
}
