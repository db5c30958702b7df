//! What a check, slip, fact, threshold, theory or sign looks at and why: one text for the terminal and the documentation.

use std::fmt::Write as _;

use crate::checks::{self, Check, Policy, Setting};
use crate::claims::slips::{self, Slip};
use crate::configuration::{nearest, wrapped};
use crate::emphasis::Emphasis;
use crate::facts::{FactKind, catalogue};
use crate::judgement::{StageModels, Theories};
use crate::thresholds::{self, Thresholds};

/// What is in force, for texts that name it.
pub struct InForce<'a> {
    /// The thresholds.
    pub thresholds: &'a Thresholds,
    /// What the course made of the checks.
    pub policy: &'a Policy,
    /// The models of stages.
    pub stages: &'a StageModels,
    /// The theories.
    pub theories: &'a Theories,
}

/// What is known by an id: a check, a slip, a fact, a threshold, a theory, a stage model or one of its signs. Where nothing is, the nearest
/// that would be.
///
/// # Errors
/// A sentence that says that there is no such thing, and what was perhaps meant.
pub fn explain(id: &str, in_force: &InForce<'_>) -> Result<String, String> {
    if let Some(check) = checks::find(id) {
        return Ok(of_check(check, in_force));
    }
    if let Some(slip) = slips::by_code(id) {
        return Ok(of_slip(slip));
    }
    // As a fact a threshold is named with its group.
    let threshold = id.strip_prefix("thresholds.").unwrap_or(id);
    if let Some(definition) = thresholds::definition(threshold) {
        return Ok(of_threshold(definition, in_force));
    }
    if let Some(described) = catalogue::describe(id) {
        return Ok(of_fact(id, described.entry));
    }
    if let Some(theory) = in_force
        .theories
        .theories
        .iter()
        .find(|theory| theory.id == id)
    {
        return Ok(theory.preview());
    }
    if let Some(text) = of_group(id) {
        return Ok(text);
    }
    if let Some(text) = of_sign(id, in_force.stages) {
        return Ok(text);
    }
    let known: Vec<String> = ids(in_force);
    let near = nearest(id, known.iter().map(String::as_str))
        .map(str::to_owned)
        .or_else(|| catalogue::nearest(id));
    let help = near.map_or_else(
        || String::from("`evenhand explain` lists everything"),
        |near| format!("did you mean `{near}`?"),
    );
    Err(format!(
        "there is no check, slip, fact, threshold, theory or sign `{id}`; {help}"
    ))
}

/// Everything that can be explained, in groups: checks, slips, thresholds, theories and signs a line each, facts a line a group.
pub fn list(in_force: &InForce<'_>) -> String {
    let mut out = String::from("evenhand explain ID tells what it looks at and why.\n");
    let mut family = "";
    for check in checks::ALL {
        if check.family() != family {
            family = check.family();
            heading(&mut out, &format!("Checks: {family}"));
        }
        item(&mut out, check.id, check.title);
    }
    heading(&mut out, "Slips that explain a number");
    for slip in slips::ALL {
        item(&mut out, slip.code, slip.title);
    }
    heading(&mut out, "Thresholds, as they are in force");
    for definition in thresholds::definitions() {
        let value = in_force
            .thresholds
            .get(definition.key)
            .unwrap_or(definition.default);
        let explains = first_sentence(&definition.explains);
        let text = format!("{value} {}: {explains}", definition.unit);
        item(&mut out, definition.key, &text);
    }
    heading(
        &mut out,
        "Facts that a rubric can use, by group (evenhand explain pre lists those of a group)",
    );
    for namespace in catalogue::NAMESPACES {
        let n = namespace.entries.len();
        let facts = if n == 1 {
            "1 fact"
        } else {
            &format!("{n} facts")
        };
        item(
            &mut out,
            namespace.name,
            &format!("{}: {facts}", namespace.title),
        );
    }
    heading(&mut out, "Theories");
    for theory in &in_force.theories.theories {
        item(&mut out, &theory.id, &theory.title);
    }
    heading(&mut out, "Signs of stages, by model");
    for model in &in_force.stages.models {
        let mut signs: Vec<&str> = Vec::new();
        for sign in &model.signs {
            if !signs.contains(&sign.id.as_str()) {
                signs.push(&sign.id);
            }
        }
        let _ = writeln!(out, "  {} ({})", model.id, model.title);
        wrapped(&mut out, "", &signs.join(", "), 4);
    }
    out
}

/// The facts of a group, a line each; none where there is no such group.
fn of_group(name: &str) -> Option<String> {
    let namespace = catalogue::NAMESPACES
        .iter()
        .find(|namespace| namespace.name == name)?;
    let mut out = String::new();
    title(&mut out, namespace.name, namespace.title);
    for entry in namespace.entries {
        // A threshold's fact says the same of each: what it decides is said by the threshold.
        let says = match thresholds::definition(entry.name) {
            Some(definition) if namespace.name == "thresholds" => &definition.explains,
            _ => entry.definition,
        };
        item(
            &mut out,
            &format!("{}.{}", namespace.name, entry.name),
            says,
        );
    }
    Some(out)
}

fn ids(in_force: &InForce<'_>) -> Vec<String> {
    let mut ids: Vec<String> = Vec::new();
    ids.extend(checks::ALL.iter().map(|check| check.id.to_owned()));
    ids.extend(slips::ALL.iter().map(|slip| slip.code.to_owned()));
    ids.extend(catalogue::all().map(|(name, _, _)| name.to_owned()));
    ids.extend(thresholds::KEYS.iter().map(|key| (*key).to_owned()));
    ids.extend(
        in_force
            .theories
            .theories
            .iter()
            .map(|theory| theory.id.clone()),
    );
    ids
}

fn of_check(check: &Check, in_force: &InForce<'_>) -> String {
    let mut out = String::new();
    title(&mut out, check.id, check.title);
    let setting = in_force.policy.setting(check.id);
    let weight = match setting {
        None => check.weight.name().to_owned(),
        Some(Setting::Off) => String::from("switched off by this course"),
        Some(at) => format!(
            "{} (this course; listed as {})",
            at.name(),
            check.weight.name()
        ),
    };
    section(&mut out, "Weight", &weight);
    section(&mut out, "What it looks at", check.explanation.looks_at);
    section(&mut out, "Why it matters", check.explanation.matters);
    section(&mut out, "Example", check.explanation.example);
    section(&mut out, "What can be done", check.explanation.remedy);
    for key in check.thresholds {
        if let Some(definition) = thresholds::definition(key) {
            section(
                &mut out,
                "Threshold",
                &threshold_in_force(definition, in_force),
            );
        }
    }
    section(&mut out, "Source", check.explanation.source);
    out
}

fn of_slip(slip: &Slip) -> String {
    let mut out = String::new();
    title(&mut out, slip.code, slip.title);
    if slip.convention {
        section(
            &mut out,
            "Kind",
            "A convention or a matter of rounding: a question to the pair, not an error. A course may accept it under [numbers] in its rubric.",
        );
    }
    section(&mut out, "How the number comes about", slip.explanation);
    section(&mut out, "Why it matters", slip.matters);
    section(&mut out, "What can be done", slip.remedy);
    out
}

fn of_fact(name: &str, entry: &catalogue::Entry) -> String {
    let mut out = String::new();
    title(&mut out, name, "a fact that a rubric can use");
    let kind = match entry.kind {
        FactKind::Number => "a number",
        FactKind::Truth => "true or false",
        FactKind::Text => "a text",
        FactKind::Date => "a date",
    };
    section(&mut out, "Type", kind);
    if !entry.unit.is_empty() {
        section(&mut out, "Unit", entry.unit);
    }
    section(&mut out, "What it is", entry.definition);
    section(&mut out, "Source", entry.source);
    section(
        &mut out,
        "Where it can't be computed",
        "It is absent, never zero: evidence that asks for it goes to the marker. `evenhand pair` says why.",
    );
    out
}

fn of_threshold(definition: &thresholds::Definition, in_force: &InForce<'_>) -> String {
    let mut out = String::new();
    title(&mut out, definition.key, "a threshold of the checks");
    section(&mut out, "What it decides", &definition.explains);
    section(
        &mut out,
        "In force",
        &threshold_in_force(definition, in_force),
    );
    section(
        &mut out,
        "Default",
        &format!("{} {}", definition.default, definition.unit),
    );
    section(
        &mut out,
        "In a rubric's conditions and sentences",
        &format!("thresholds.{}", definition.key),
    );
    out
}

fn threshold_in_force(definition: &thresholds::Definition, in_force: &InForce<'_>) -> String {
    let value = in_force
        .thresholds
        .get(definition.key)
        .unwrap_or(definition.default);
    let origin = in_force
        .thresholds
        .origin(definition.key)
        .map_or_else(String::new, |origin| {
            if origin.file == thresholds::DEFAULTS_FILE {
                String::from(", the default")
            } else {
                format!(", set in {} line {}", origin.file, origin.line)
            }
        });
    format!("{} = {value} {}{origin}", definition.key, definition.unit)
}

/// A sign by its id, or `model.sign`.
fn of_sign(id: &str, stages: &StageModels) -> Option<String> {
    let (model_id, sign_id) = id
        .split_once('.')
        .map_or((None, id), |(model, sign)| (Some(model), sign));
    let mut out = String::new();
    for model in stages
        .models
        .iter()
        .filter(|model| model_id.is_none_or(|id| model.id == id))
    {
        for sign in model.signs.iter().filter(|sign| sign.id == sign_id) {
            title(
                &mut out,
                &format!("{}.{}", model.id, sign.id),
                &format!("a sign in {}", model.title),
            );
            section(&mut out, "What it looks at", &sign.looks_at);
            for (stage, condition) in &sign.speaks_for {
                let stage = model
                    .stages
                    .iter()
                    .find(|known| known.id == *stage)
                    .map_or(stage.as_str(), |known| known.title.as_str());
                section(
                    &mut out,
                    "Speaks for",
                    &format!("{stage}, where {}", condition.words()),
                );
            }
            section(&mut out, "Is recorded where", sign.needs.words());
            section(&mut out, "Why", &sign.because);
            section(&mut out, "Source", &sign.source);
        }
    }
    (!out.is_empty()).then_some(out)
}

fn title(out: &mut String, id: &str, title: &str) {
    if !out.is_empty() {
        out.push('\n');
    }
    let _ = writeln!(out, "{}: {title}", Emphasis::Heading.on(id));
}

fn heading(out: &mut String, title: &str) {
    if !out.is_empty() {
        out.push('\n');
    }
    let _ = writeln!(out, "{}", Emphasis::Heading.on(title));
}

fn item(out: &mut String, id: &str, text: &str) {
    // One line each: the first sentence says what it is.
    let _ = writeln!(out, "  {id:<36} {}", first_sentence(text));
}

fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ").next().unwrap_or(text).trim_end()
}

fn section(out: &mut String, name: &str, text: &str) {
    if text.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n  {}", Emphasis::Heading.on(name));
    wrapped(out, "", text, 4);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_short_names_nothing_twice_and_says_what_each_threshold_decides() {
        let (thresholds, policy) = (Thresholds::default(), Policy::default());
        let catalogue = crate::expression::Catalogue::new(checks::ALL.iter().map(|check| check.id));
        let in_force = InForce {
            thresholds: &thresholds,
            policy: &policy,
            stages: &StageModels::shipped(&catalogue).unwrap(),
            theories: &Theories::shipped(&catalogue).unwrap(),
        };
        let list = list(&in_force);
        let lines: Vec<&str> = list.lines().filter(|line| !line.is_empty()).collect();
        assert!(lines.len() < 250, "{}", lines.len());
        for (at, line) in lines.iter().enumerate() {
            assert!(!lines[..at].contains(line), "twice: {line}");
        }
        let few = lines.iter().find(|line| line.starts_with("  few_trials "));
        assert!(
            few.is_some_and(|line| line.contains("10 ") && line.len() > 60),
            "{few:?}"
        );
        // What a group holds is asked for by its name.
        assert!(explain("pre", &in_force).unwrap().contains("pre.mean"));
    }
}
