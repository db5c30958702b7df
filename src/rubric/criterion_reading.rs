//! Reads the criteria of a rubric's file.

use std::collections::BTreeSet;

use super::criterion::{Criterion, Each, Evidence, Judged};
use super::levels;
use super::reading::TOTAL;
use crate::configuration::{Located, Table, nearest};
use crate::expression::{Catalogue, condition, needed_condition, sentence};

/// The criteria of a file.
pub(super) struct Criteria {
    /// Those that could be read.
    pub read: Vec<Criterion>,
    /// Whether that is all of them.
    pub is_complete: bool,
}

/// Reads every criterion.
pub(super) fn read(file: &Table<'_>, catalogue: &Catalogue) -> Criteria {
    let mut seen = BTreeSet::new();
    let mut criteria = Criteria {
        read: Vec::new(),
        is_complete: true,
    };
    for table in file.tables("criterion", "a criterion") {
        let criterion = criterion(&table, catalogue, &mut seen);
        table.finish();
        criteria.is_complete &= criterion.is_some();
        criteria.read.extend(criterion);
    }
    criteria
}

fn criterion(
    table: &Table<'_>,
    catalogue: &Catalogue,
    seen: &mut BTreeSet<String>,
) -> Option<Criterion> {
    let id = id(table, seen, "criterion");
    if let Some(total) = id.as_ref().filter(|id| id.value == TOTAL) {
        let message = "a criterion can't be called total: the marks' total is";
        table.fault(&total.span, message, None);
    }
    let title = table.needed_text("title");
    let marks = table.needed_number("marks");
    let each = each(table);
    let mut own = BTreeSet::new();
    let evidence: Vec<Option<Evidence>> = table
        .tables("evidence", "an evidence point")
        .iter()
        .map(|entry| evidence(entry, catalogue, &mut own))
        .collect();
    let judged: Vec<Option<Judged>> = table
        .tables("judged", "a judged point")
        .iter()
        .map(|entry| judged(entry, &mut own))
        .collect();
    let what = id.as_ref().map_or("this criterion", |id| id.value.as_str());
    let levels = levels::read(table, marks.as_ref().map(|marks| marks.value), what);
    // A point that couldn't be read is a fault already: the sum would be a second one for the same thing.
    let complete = evidence.iter().all(Option::is_some) && judged.iter().all(Option::is_some);
    let criterion = Criterion {
        id: id.as_ref().map(|id| id.value.clone()).unwrap_or_default(),
        title: title.map(|title| title.value).unwrap_or_default(),
        marks: marks.as_ref().map_or(0.0, |marks| marks.value),
        each,
        evidence: evidence.into_iter().flatten().collect(),
        judged: judged.into_iter().flatten().collect(),
        levels,
    };
    let marks = marks?;
    if marks.value <= 0.0 {
        table.fault(&marks.span, "`marks` must be more than 0", None);
    } else if complete {
        check_points(table, &criterion, &marks);
    }
    id.map(|_| criterion)
}

/// A criterion's points sum to its marks.
fn check_points(table: &Table<'_>, criterion: &Criterion, marks: &Located<f64>) {
    let (evidence, judged) = (criterion.evidence_points(), criterion.judged_points());
    if criterion.evidence.is_empty() && criterion.judged.is_empty() {
        let message = format!("{} has neither evidence nor judged points", criterion.id);
        let help = "add [[criterion.evidence]] or [[criterion.judged]]".to_owned();
        table.fault(&marks.span, message, Some(help));
    } else if (evidence + judged - marks.value).abs() > 1e-9 {
        table.fault(
            &marks.span,
            format!(
                "the points of {} sum to {}, not to its {} marks",
                criterion.id,
                evidence + judged,
                marks.value
            ),
            Some(format!("evidence {evidence} + judged {judged}")),
        );
    }
}

/// An id that files can carry, used once.
fn id(table: &Table<'_>, seen: &mut BTreeSet<String>, what: &str) -> Option<Located<String>> {
    let id = table.needed_text("id")?;
    let is_plain = |c: char| c.is_alphanumeric() || matches!(c, '-' | '_' | '.');
    if !id.value.chars().all(is_plain) {
        let message = format!(
            "`{}`: an id has only letters, digits, hyphens, points and underscores",
            id.value
        );
        table.fault(&id.span, message, None);
    } else if !seen.insert(id.value.clone()) {
        let message = format!("the id `{}` is used twice ({what})", id.value);
        table.fault(&id.span, message, None);
    }
    Some(id)
}

fn each(table: &Table<'_>) -> Each {
    match table.text("each") {
        Some(word) if word.value == "student" => Each::Student,
        Some(word) if word.value != "pair" => {
            let message = format!("`each` is \"student\" or \"pair\", not \"{}\"", word.value);
            table.fault(&word.span, message, None);
            Each::Pair
        }
        _ => Each::Pair,
    }
}

fn points(table: &Table<'_>) -> Option<f64> {
    let points = table.needed_number("points")?;
    if points.value <= 0.0 {
        table.fault(&points.span, "`points` must be more than 0", None);
        return None;
    }
    Some(points.value)
}

fn evidence(
    table: &Table<'_>,
    catalogue: &Catalogue,
    seen: &mut BTreeSet<String>,
) -> Option<Evidence> {
    let id = id(table, seen, "evidence");
    let title = table.text("title").map(|title| title.value);
    let points = points(table);
    let findings = findings(table, catalogue);
    let when = needed_condition(table, "when", catalogue);
    let partly = condition(table, "partly", catalogue);
    let testable = condition(table, "testable", catalogue);
    let read = |key| sentence(table, key, catalogue).map(|located| located.value);
    let (met, partly_met) = (read("met"), read("partly_met"));
    let (unmet, unsure) = (read("unmet"), read("unsure"));
    table.finish();
    if let Some(when) = &when {
        let unreachable = "nobody can earn these points: `when` is never true";
        let given = "everybody earns these points: `when` is always true";
        match when.value.constant() {
            Some(false) => table.fault(&when.span, unreachable, None),
            Some(true) => table.remark(&when.span, given, None),
            None => {}
        }
    }
    if let Some(testable) = testable
        .as_ref()
        .filter(|it| it.value.constant() == Some(false))
    {
        let message = "nobody can earn these points: `testable` is never true";
        table.fault(&testable.span, message, None);
    }
    if let (Some(partly), Some(when)) = (&partly, &when) {
        if partly.value.constant() == Some(false) {
            table.fault(&partly.span, "`partly` is never true", None);
        } else if when.value.constant().is_none() && partly.value.has_all_parts_of(&when.value) {
            table.fault(
                &partly.span,
                "`partly` can never count: wherever it holds, `when` holds too",
                Some("`partly` asks for less than `when`, and is read only where `when` doesn't hold".to_owned()),
            );
        }
    }
    if partly_met.is_some() && partly.is_none() && !table.has("partly") {
        let message = "`partly_met` is never shown: there is no `partly`";
        table.fault(&table.key_span("partly_met"), message, None);
    }
    Some(Evidence {
        id: id?.value,
        title,
        points: points?,
        findings,
        when: when?.value,
        partly: partly.map(|located| located.value),
        testable: testable.map(|located| located.value),
        met,
        partly_met,
        unmet,
        unsure,
    })
}

/// The checks that an evidence point lists; one that doesn't exist is a fault.
fn findings(table: &Table<'_>, catalogue: &Catalogue) -> Vec<String> {
    let mut listed = Vec::new();
    for check in table.texts("findings") {
        if catalogue.checks().any(|known| known == check.value) {
            listed.push(check.value);
            continue;
        }
        let near = nearest(&check.value, catalogue.checks());
        table.fault(
            &check.span,
            format!("there is no check `{}`", check.value),
            Some(near.map_or_else(
                || "`evenhand explain` lists every check".to_owned(),
                |near| format!("did you mean \"{near}\"?"),
            )),
        );
    }
    listed
}

fn judged(table: &Table<'_>, seen: &mut BTreeSet<String>) -> Option<Judged> {
    let id = id(table, seen, "judged point");
    let points = points(table);
    let asks = table.needed_text("asks");
    table.finish();
    Some(Judged {
        id: id?.value,
        points: points?,
        asks: asks?.value,
    })
}
