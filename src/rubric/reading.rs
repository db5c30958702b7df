//! Reads a rubric's file: every fault at once.

use std::collections::BTreeMap;
use std::ops::Range;

use super::criterion_reading::{self, Criteria};
use super::{Rubric, levels};
use crate::checks::Weight;
use crate::configuration::{Faults, Located, Reading, Table, Value, nearest};
use crate::expression::Catalogue;
use crate::thresholds::Thresholds;

/// The names that a rubric may use.
#[derive(Debug, Clone, Copy)]
pub struct Known<'a> {
    /// Facts, and the ids of checks.
    pub catalogue: &'a Catalogue,
    /// The codes of slips.
    pub slips: &'a [&'a str],
}

/// What a course made of one check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Switch {
    /// The weight that its findings have at most; none where it is switched off.
    pub weight: Option<Weight>,
    /// Why, where the rubric says so in the entry itself.
    pub reason: Option<String>,
}

/// The criterion under which marks.csv writes the total.
pub(super) const TOTAL: &str = "total";

pub(super) fn read(
    name: &str,
    source: &str,
    known: &Known<'_>,
) -> Result<(Rubric, Faults), Faults> {
    Reading::with_remarks(name, source, |file| rubric(name, file, known))
}

fn rubric(name: &str, file: &Table<'_>, known: &Known<'_>) -> Rubric {
    let title = file.needed_text("title");
    let out_of = file.needed_number("out_of");
    let pass = file.number("pass");
    if let Some(out_of) = out_of.as_ref().filter(|out_of| out_of.value <= 0.0) {
        file.fault(&out_of.span, "`out_of` must be more than 0", None);
    }
    if let (Some(pass), Some(out_of)) = (&pass, &out_of)
        && !(0.0..=out_of.value).contains(&pass.value)
    {
        let message = format!(
            "the pass mark {} is outside 0 to {}",
            pass.value, out_of.value
        );
        file.fault(&pass.span, message, None);
    }
    let mut thresholds = Thresholds::default();
    if let Some(table) = file.table("thresholds", "[thresholds]") {
        thresholds.overlay(name, &table);
    }
    let levels = levels::read(file, out_of.as_ref().map(|most| most.value), "the total");
    let checks = switches(file, known);
    let accept = accepted(file, known);
    let criteria = criterion_reading::read(file, known.catalogue);
    check_sum(file, out_of.as_ref(), &criteria);
    Rubric {
        title: title.map(|title| title.value).unwrap_or_default(),
        out_of: out_of.map_or(0.0, |out_of| out_of.value),
        pass: pass.map(|pass| pass.value),
        levels,
        checks,
        thresholds,
        accept,
        criteria: criteria.read,
    }
}

/// The criteria's marks sum to the rubric's. Where one couldn't be read there is a fault already.
fn check_sum(file: &Table<'_>, out_of: Option<&Located<f64>>, criteria: &Criteria) {
    if criteria.read.is_empty() {
        if !file.has("criterion") {
            let help = "add at least one [[criterion]]".to_owned();
            file.fault(&(0..0), "this rubric has no criterion", Some(help));
        }
        return;
    }
    let sum: f64 = criteria.read.iter().map(|criterion| criterion.marks).sum();
    if let Some(out_of) = out_of
        && criteria.is_complete
        && (sum - out_of.value).abs() > 1e-9
    {
        let list: Vec<String> = criteria
            .read
            .iter()
            .map(|criterion| format!("{} {}", criterion.id, criterion.marks))
            .collect();
        file.fault(
            &out_of.span,
            format!("the criteria's marks sum to {sum}, not to {}", out_of.value),
            Some(list.join(" + ")),
        );
    }
}

fn switches(file: &Table<'_>, known: &Known<'_>) -> BTreeMap<String, Switch> {
    let mut switches = BTreeMap::new();
    let Some(table) = file.table("checks", "[checks]") else {
        return switches;
    };
    let reasoned: BTreeMap<String, Switch> = table
        .inner_tables("a check's entry")
        .into_iter()
        .filter_map(|(id, entry)| {
            let weight = entry.needed_text("weight");
            let reason = entry.text("reason").map(|reason| reason.value);
            entry.finish();
            let weight = weight.and_then(|word| weight_of(&entry, &word.value, &word.span))?;
            Some((id, Switch { weight, reason }))
        })
        .collect();
    for (id, value) in table.entries() {
        if !known.catalogue.checks().any(|check| check == id.value) {
            let near = nearest(&id.value, known.catalogue.checks());
            table.fault(
                &id.span,
                format!("there is no check `{}`", id.value),
                Some(near.map_or_else(
                    || "`evenhand explain` lists every check".to_owned(),
                    |near| format!("did you mean \"{near}\"?"),
                )),
            );
            continue;
        }
        let switch = match &value.value {
            Value::Text(word) => weight_of(&table, word, &value.span).map(|weight| Switch {
                weight,
                reason: None,
            }),
            Value::Other("a table") => reasoned.get(&id.value).cloned(),
            _ => {
                let message = format!(
                    "\"{}\" must be off, query, concern or error, in quotes",
                    id.value
                );
                table.fault(&value.span, message, None);
                None
            }
        };
        if let Some(switch) = switch {
            switches.insert(id.value, switch);
        }
    }
    switches
}

/// `Some(None)` is off; `None` is a fault, already noted.
#[expect(
    clippy::option_option,
    reason = "off is a weight that a course can give; a fault is none"
)]
fn weight_of(table: &Table<'_>, word: &str, span: &Range<usize>) -> Option<Option<Weight>> {
    if word == "off" {
        return Some(None);
    }
    let weight = Weight::from_name(word);
    if weight.is_none() {
        let near = nearest(word, ["off", "query", "concern", "error"]);
        table.fault(
            span,
            format!("`{word}` is no weight: off, query, concern or error"),
            near.map(|near| format!("did you mean \"{near}\"?")),
        );
    }
    weight.map(Some)
}

fn accepted(file: &Table<'_>, known: &Known<'_>) -> Vec<String> {
    let Some(table) = file.table("numbers", "[numbers]") else {
        return Vec::new();
    };
    let mut accepted = Vec::new();
    for code in table.texts("accept") {
        if known.slips.contains(&code.value.as_str()) {
            accepted.push(code.value);
            continue;
        }
        let near = nearest(&code.value, known.slips.iter().copied());
        table.fault(
            &code.span,
            format!("there is no slip `{}`", code.value),
            Some(near.map_or_else(
                || "`evenhand explain` lists every slip".to_owned(),
                |near| format!("did you mean \"{near}\"?"),
            )),
        );
    }
    table.finish();
    accepted
}

#[cfg(test)]
mod tests {
    use crate::rubric::SHIPPED;
    use crate::rubric::tests_support::read;

    #[test]
    fn the_rubrics_that_ship_have_no_fault() {
        for (name, text) in SHIPPED {
            let rubric = read(text).unwrap_or_else(|faults| panic!("{name}:\n{faults}"));
            assert!(rubric.pass.is_some(), "{name}");
            assert!(rubric.level(0.0).is_some(), "{name}");
        }
    }

    const SOUND: &str = r#"
title = "T"
out_of = 10
pass = 4
[checks]
"testing.one-rater" = "off"
"testing.ceiling" = { weight = "query", reason = "short scale" }
[thresholds]
few_trials = 5
[numbers]
accept = ["best-trial"]
[[criterion]]
id = "a"
title = "A"
marks = 10
[[criterion.evidence]]
id = "e"
points = 6
when = "pre.n > 3"
[[criterion.judged]]
id = "j"
points = 4
asks = "q?"
"#;

    /// Line and message of every fault and remark.
    fn faults(source: &str) -> Vec<(usize, String)> {
        match read(source) {
            Ok(_) => Vec::new(),
            Err(faults) => faults
                .list
                .into_iter()
                .map(|fault| (fault.line, fault.message))
                .collect(),
        }
    }

    #[test]
    fn a_course_sets_checks_thresholds_and_conventions() {
        let rubric = read(SOUND).unwrap();
        assert_eq!(rubric.checks["testing.one-rater"].weight, None);
        let ceiling = &rubric.checks["testing.ceiling"];
        assert_eq!(ceiling.weight, Some(crate::checks::Weight::Query));
        assert_eq!(ceiling.reason.as_deref(), Some("short scale"));
        assert_eq!(rubric.thresholds.get("few_trials"), Some(5.0));
        assert_eq!(rubric.accept, ["best-trial"]);
    }

    #[test]
    fn a_rubric_with_ten_faults_lists_ten() {
        let text = r#"
title = "T"
out_of = 12
passs = 4
[checks]
"testing.one_rater" = "loud"
[thresholds]
few_trails = 5
[numbers]
accept = ["best-trail"]
[[level]]
title = "High"
from = 13
[[level]]
title = "Low"
from = 0
[[criterion]]
id = "a"
title = "A"
marks = 10
[[criterion.evidence]]
id = "e"
points = 6
when = "pre.nn > 3"
[[criterion.evidence]]
id = "e"
points = 4
when = "pre.n > 10 && pre.n < 5"
unmet = "only {pre.maen}"
"#;
        let found = faults(text);
        let lines: Vec<usize> = found.iter().map(|fault| fault.0).collect();
        assert_eq!(lines, [3, 4, 6, 8, 10, 13, 24, 26, 28, 29], "{found:#?}");
    }

    #[test]
    fn each_law_of_a_rubric_is_kept() {
        let cases = [
            ("marks = 10", "marks = 9", "sum to"),
            ("out_of = 10", "out_of = 11", "sum to 10, not to 11"),
            ("pass = 4", "pass = 14", "outside 0 to 10"),
            ("id = \"j\"", "id = \"e\"", "used twice"),
            ("id = \"a\"", "id = \"total\"", "total"),
            ("id = \"a\"", "id = \"a b\"", "letters, digits"),
            ("title = \"A\"", "title = \"\"", "is empty"),
            ("points = 6", "points = -6", "more than 0"),
            ("asks = \"q?\"", "ask = \"q?\"", "no key `ask`"),
            ("pre.n > 3", "1 > 3", "never true"),
            (
                "pre.n > 3\"",
                "pre.n > 3\"\ntestable = \"false\"",
                "`testable` is never true",
            ),
            (
                "pre.n > 3\"",
                "pre.n > 3\"\npartly = \"pre.n > 3 && pre.n > 4\"",
                "can never count",
            ),
            (
                "pre.n > 3\"",
                "pre.n > 3\"\npartly_met = \"x\"",
                "never shown",
            ),
            ("pre.n > 3\"", "about.skill > 3\"", "compared with"),
            (
                "marks = 10",
                "marks = 10\neach = \"team\"",
                "\"student\" or \"pair\"",
            ),
            ("marks = 10", "marks = \"10\"", "must be a number"),
        ];
        for (from, to, wanted) in cases {
            let text = SOUND.replacen(from, to, 1);
            assert_ne!(text, SOUND, "{from}");
            let found = faults(&text);
            assert!(
                found.iter().any(|fault| fault.1.contains(wanted)),
                "{to}: {found:#?}"
            );
        }
    }

    #[test]
    fn levels_that_overlap_or_stand_out_of_order_are_faults_and_a_gap_is_a_remark() {
        let with = |levels: &str| format!("{SOUND}{levels}");
        let level = |title: &str, from: f64| {
            format!("[[criterion.level]]\ntitle = \"{title}\"\nfrom = {from}\n")
        };
        assert_eq!(
            faults(&with(
                &(level("A", 8.0) + &level("B", 4.0) + &level("C", 0.0))
            )),
            []
        );
        assert_eq!(faults(&with(&(level("A", 0.0) + &level("B", 4.0)))), []);
        let same = faults(&with(
            &(level("A", 4.0) + &level("B", 4.0) + &level("C", 0.0)),
        ));
        assert!(
            same.iter().any(|fault| fault.1.contains("overlaps")),
            "{same:?}"
        );
        let mixed = faults(&with(
            &(level("A", 8.0) + &level("B", 2.0) + &level("C", 4.0) + &level("D", 0.0)),
        ));
        assert!(
            mixed.iter().any(|fault| fault.1.contains("falling order")),
            "{mixed:?}"
        );
        let above = faults(&with(&(level("A", 11.0) + &level("B", 0.0))));
        assert!(
            above
                .iter()
                .any(|fault| fault.1.contains("nobody can reach")),
            "{above:?}"
        );
        let gap = with(&level("A", 4.0));
        assert_eq!(faults(&gap), []);
        let catalogue = crate::expression::fixture::catalogue();
        let known = crate::rubric::Known {
            catalogue: &catalogue,
            slips: &["best-trial"],
        };
        let (_, remarks) =
            crate::rubric::Rubric::read_with_remarks("r.toml", &gap, &known).unwrap();
        assert_eq!(remarks.list.len(), 1);
        assert!(remarks.list[0].message.contains("below 4 have no level"));
    }

    #[test]
    fn a_file_that_is_no_rubric_says_so() {
        assert!(
            faults("")
                .iter()
                .any(|fault| fault.1.contains("no criterion"))
        );
        assert!(!faults("criterion = 3").is_empty());
        assert!(!faults("[[criterion]]").is_empty());
    }
}
