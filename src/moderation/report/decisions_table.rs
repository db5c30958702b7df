//! What people made of the findings of each check.

use std::collections::{BTreeMap, BTreeSet};

use super::Shown;
use crate::checks::{self, Finding, Setting, Weight};
use crate::ledger::decision_tallies;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// The weights of the findings of each check: a finding's weight is its own, the check's only the highest that there may be.
fn weights(shown: &Shown<'_>) -> BTreeMap<&'static str, BTreeSet<Weight>> {
    let mut weights: BTreeMap<&'static str, BTreeSet<Weight>> = BTreeMap::new();
    let mut add = |findings: &[Finding]| {
        for finding in findings {
            weights
                .entry(finding.check)
                .or_default()
                .insert(finding.weight);
        }
    };
    for result in shown.cohort.results() {
        add(&result.findings);
    }
    add(&shown.cohort.without_pair);
    weights
}

/// The heaviest first: `error, query`.
fn weights_in_words(weights: &BTreeSet<Weight>) -> String {
    let names: Vec<&str> = weights.iter().rev().map(|weight| weight.name()).collect();
    names.join(", ")
}

/// Checks with findings, and those that are off.
pub fn decisions_table(shown: &Shown<'_>) -> ReportTable {
    let tallies = decision_tallies(shown.state, shown.cohort);
    let weights = weights(shown);
    let rows = checks::ALL.iter().filter_map(|check| {
        let tally = tallies.get(check.id).copied();
        let is_on = shown.policy.is_on(check.id);
        if tally.is_none() && is_on {
            return None;
        }
        let tally = tally.unwrap_or_default();
        let setting = shown.policy.setting(check.id);
        let weight = weights.get(check.id).map_or_else(
            || {
                setting
                    .map_or(check.weight.name(), Setting::name)
                    .to_owned()
            },
            weights_in_words,
        );
        let says = if !is_on {
            "off by the rubric: not looked at"
        } else if tally.is_mostly_dismissed() {
            "mostly dismissed: it may not suit this course"
        } else {
            ""
        };
        Some(vec![
            check.title.into(),
            weight.into(),
            (tally.upheld + tally.dismissed + tally.open).into(),
            tally.upheld.into(),
            tally.dismissed.into(),
            tally.open.into(),
            CellContent::from(says),
            check.id.into(),
        ])
    });
    ReportTable::plain(
        "Decisions",
        "Decisions on findings, by check",
        "A check of whose findings more than half of ten or more were dismissed may not suit this course: [checks] in the rubric sets its weight, or switches it off. Open: not decided, or the pair was asked.",
        vec![
            Column::shown("title", "What it finds", 44.0, Look::Wrapped),
            Column::shown("setting", "Weight", 10.0, Look::Text),
            Column::shown("found", "Findings", 10.0, Look::Whole),
            Column::shown("upheld", "Upheld", 10.0, Look::Whole),
            Column::shown("dismissed", "Dismissed", 10.0, Look::Whole),
            Column::shown("open", "Open", 10.0, Look::Whole),
            Column::shown("says", "What that says", 44.0, Look::Wrapped),
            Column::shown("id", "Check", 30.0, Look::Text),
        ],
        rows.collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn weights_are_those_of_the_findings_the_heaviest_first() {
        assert_eq!(weights_in_words(&[Weight::Query].into()), "query");
        let both = [Weight::Query, Weight::Error].into();
        assert_eq!(weights_in_words(&both), "error, query");
    }
}
