//! Theories of motor learning, read from TOML: what each predicts, and what makes a prediction testable on one learner.

use std::collections::BTreeSet;

use super::naming::Spellings;
use super::stage_models::{unique_id, values};
use crate::configuration::{Faults, Located, Reading, Table, nearest};
use crate::expression::{Catalogue, Condition, Sentence, condition, needed_condition, sentence};

/// The theories that ship.
pub const SHIPPED_THEORIES: &str = include_str!("../../rubrics/theories.toml");

/// The theories that a course knows.
#[derive(Debug, Clone, PartialEq)]
pub struct Theories {
    /// In the order of the file.
    pub theories: Vec<Theory>,
}

/// One theory.
#[derive(Debug, Clone, PartialEq)]
pub struct Theory {
    /// Its name in files.
    pub id: String,
    /// Its name for people.
    pub title: String,
    /// How a text names it.
    pub spellings: Spellings,
    /// Where it comes from.
    pub source: String,
    /// Ids of theories that can't be right together with it, each with the reason.
    pub contradicts: Vec<(String, String)>,
    /// What it predicts.
    pub predictions: Vec<Prediction>,
}

/// One prediction of a theory.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// Its name in the file, unique within the theory.
    pub id: String,
    /// What is predicted, for people.
    pub states: String,
    /// How it can be tested; none where no logbook of one learner can.
    pub test: Option<Test>,
    /// What would make it testable: what to record, or which comparison.
    pub design: String,
    /// What would show the same pattern without this theory.
    pub rivals: Vec<String>,
    /// Why the theory predicts this.
    pub because: String,
    /// A publication, or `common practice`.
    pub source: String,
}

/// How a prediction shows in a record.
#[derive(Debug, Clone, PartialEq)]
pub struct Test {
    /// Where this holds, the record can show it.
    pub needs: Condition,
    /// The pattern as predicted.
    pub when: Condition,
    /// The opposite pattern. Where a prediction has one, what is neither is undecided.
    pub unless: Option<Condition>,
    /// What the record shows, with the pair's numbers.
    pub shows: Option<Sentence>,
    /// How often the pattern arises by accident, with the pair's numbers where that is known.
    pub chance: Option<Sentence>,
}

impl Theories {
    /// Reads theories: `name` is the file's name in messages, `source` its text.
    ///
    /// # Errors
    /// Every fault of the file at once.
    pub fn read(name: &str, source: &str, catalogue: &Catalogue) -> Result<Self, Faults> {
        Reading::of(name, source, |file| {
            let mut seen = BTreeSet::new();
            let mut others = Vec::new();
            let theories: Vec<Theory> = file
                .tables("theory", "a theory")
                .iter()
                .filter_map(|table| theory(table, catalogue, &mut seen, &mut others))
                .collect();
            for other in &others {
                if !seen.contains(&other.value) {
                    let near = nearest(&other.value, seen.iter().map(String::as_str));
                    file.fault(
                        &other.span,
                        format!("there is no theory `{}` in this file", other.value),
                        near.map(|near| format!("did you mean `{near}`?")),
                    );
                }
            }
            if !file.has("theory") {
                file.fault(&(0..0), "this file has no [[theory]]", None);
            }
            Self { theories }
        })
    }

    /// The theories that ship.
    ///
    /// # Errors
    /// Their faults, where the catalogue lacks a fact that they name.
    pub fn shipped(catalogue: &Catalogue) -> Result<Self, Faults> {
        Self::read("rubrics/theories.toml", SHIPPED_THEORIES, catalogue)
    }
}

/// A theory; to `others` go the theories that it contradicts, which must be in the file.
fn theory(
    table: &Table<'_>,
    catalogue: &Catalogue,
    seen: &mut BTreeSet<String>,
    others: &mut Vec<Located<String>>,
) -> Option<Theory> {
    let id = unique_id(table, seen);
    let title = table.needed_text("title");
    let spellings = values(table.texts("spellings"));
    let source = table.needed_text("source");
    if spellings.is_empty() {
        table.fault(
            &table.span(),
            "a theory needs `spellings`: how pairs name it",
            None,
        );
    }
    let mut contradicts = Vec::new();
    for entry in table.tables("contradicts", "a contradiction") {
        let other = entry.needed_text("theory");
        let because = entry.needed_text("because");
        entry.finish();
        if let (Some(other), Some(because)) = (other, because) {
            contradicts.push((other.value.clone(), because.value));
            others.push(other);
        }
    }
    let mut own = BTreeSet::new();
    let predictions: Vec<Prediction> = table
        .tables("prediction", "a prediction")
        .iter()
        .filter_map(|entry| prediction(entry, catalogue, &mut own))
        .collect();
    if predictions.is_empty() && !table.has("prediction") {
        table.fault(&table.span(), "a theory needs [[theory.prediction]]", None);
    }
    table.finish();
    Some(Theory {
        id: id?,
        title: title?.value,
        spellings: Spellings::of(spellings),
        source: source?.value,
        contradicts,
        predictions,
    })
}

fn prediction(
    table: &Table<'_>,
    catalogue: &Catalogue,
    seen: &mut BTreeSet<String>,
) -> Option<Prediction> {
    let id = unique_id(table, seen);
    let states = table.needed_text("states");
    let beyond = table
        .truth("beyond_one_learner")
        .is_some_and(|truth| truth.value);
    let design = table.needed_text("design");
    let rivals = values(table.texts("rivals"));
    let because = table.needed_text("because");
    let source = table.needed_text("source");
    let test = if beyond {
        for key in ["needs", "when", "unless", "shows", "chance"] {
            if table.has(key) {
                table.fault(
                    &table.key_span(key),
                    format!("`{key}` is never used: `beyond_one_learner` says that no logbook can test this"),
                    None,
                );
            }
        }
        Some(None)
    } else {
        test(table, catalogue).map(Some)
    };
    table.finish();
    Some(Prediction {
        id: id?,
        states: states?.value,
        test: test?,
        design: design?.value,
        rivals,
        because: because?.value,
        source: source?.value,
    })
}

fn test(table: &Table<'_>, catalogue: &Catalogue) -> Option<Test> {
    let needs = needed_condition(table, "needs", catalogue);
    let when = needed_condition(table, "when", catalogue);
    let unless = condition(table, "unless", catalogue).map(|located| located.value);
    let shows = sentence(table, "shows", catalogue).map(|located| located.value);
    let chance = sentence(table, "chance", catalogue).map(|located| located.value);
    for condition in [&needs, &when].into_iter().flatten() {
        if condition.value.constant() == Some(false) {
            let help = "a prediction that no logbook can test has `beyond_one_learner = true`";
            table.fault(&condition.span, "this is never true", Some(help.to_owned()));
        }
    }
    Some(Test {
        needs: needs?.value,
        when: when?.value,
        unless,
        shows,
        chance,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::expression::fixture;

    #[test]
    fn the_theories_that_ship_have_no_fault() {
        let theories =
            Theories::shipped(&fixture::catalogue()).unwrap_or_else(|faults| panic!("{faults}"));
        // At least the theories that the documentation lists.
        for id in [
            "dynamic-systems",
            "schema",
            "closed-loop",
            "motor-programme",
            "power-law",
            "contextual-interference",
            "specificity",
            "guidance",
            "challenge-point",
            "identical-elements",
            "transfer-appropriate-processing",
        ] {
            assert!(
                theories.theories.iter().any(|theory| theory.id == id),
                "{id}"
            );
        }
        for prediction in theories
            .theories
            .iter()
            .flat_map(|theory| &theory.predictions)
        {
            if let Some(test) = &prediction.test {
                assert!(test.shows.is_some(), "{}", prediction.id);
                assert!(!prediction.rivals.is_empty(), "{}", prediction.id);
            }
        }
    }

    /// No word of ours says that data prove a theory.
    #[test]
    fn nothing_is_ever_proved() {
        let text = SHIPPED_THEORIES.to_lowercase().replace("improve", "");
        for word in ["prove", "proof", "confirms"] {
            assert!(!text.contains(word), "{word}");
        }
    }

    #[test]
    fn every_fault_of_a_theory_is_found() {
        let text = r#"
[[theory]]
id = "t"
title = "T"
source = "s"
[[theory.contradicts]]
theory = "u"
because = "b"
[[theory.prediction]]
id = "p"
states = "x"
beyond_one_learner = true
when = "pre.n > 3"
design = "d"
because = "b"
source = "s"
[[theory.prediction]]
id = "p"
states = "x"
needs = "1 > 2"
when = "pre.nn > 3"
design = "d"
because = "b"
"#;
        let faults = Theories::read("theories.toml", text, &fixture::catalogue()).unwrap_err();
        let lines: Vec<usize> = faults.list.iter().map(|fault| fault.line).collect();
        // spellings missing; no such theory; when never used; source missing; id twice; needs; when.
        assert_eq!(lines, [2, 7, 13, 17, 18, 20, 21], "{faults}");
    }
}
