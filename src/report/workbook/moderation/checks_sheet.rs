//! The sheet of checks: what was looked at, by which threshold, how often it was found; and one decision for all of a check or slip.

use std::collections::BTreeMap;

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::checks::{self, Check, Finding, NotChecked, Setting};
use crate::claims::slips;
use crate::examination::PairResult;
use crate::ledger::{DECISIONS, DecisionTally, State, Subject, decision_on};
use crate::number::readable;
use crate::report::workbook::sheet::{CellContent, Column, EntryRule, TableSheet};
use crate::report::workbook::style::Look;
use crate::thresholds;

/// The sheet's own name.
pub const NAME: &str = "Checks";

/// The ids of the sheet's rows: checks, then slips.
pub fn ids() -> impl Iterator<Item = &'static str> {
    let checks = checks::ALL.iter().map(|check| check.id);
    checks.chain(slips::ALL.iter().map(|slip| slip.code))
}

/// The columns.
pub fn columns() -> Vec<Column> {
    vec![
        Column::shown("check", "Check or slip", 30.0, Look::Text),
        Column::shown("title", "What it finds", 34.0, Look::Wrapped),
        Column::shown("setting", "Weight", 10.0, Look::Text),
        Column::shown("found", "Findings", 9.0, Look::Whole),
        Column::shown("pairs", "Pairs", 8.0, Look::Whole),
        Column::shown("unchecked", "Could not be checked", 11.0, Look::Whole),
        Column::entry(
            "decision-for-all",
            "Decision for all",
            14.0,
            EntryRule::Choice(DECISIONS),
        ),
        Column::shown("decided", "Decided so far", 24.0, Look::Wrapped),
        Column::shown("threshold", "Thresholds in force", 36.0, Look::Wrapped),
        Column::shown("looks", "What it looks at", 50.0, Look::Wrapped),
        Column::shown("matters", "Why it matters", 50.0, Look::Wrapped),
        Column::shown("source", "Source", 34.0, Look::Wrapped),
    ]
}

/// How often something was found.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    found: usize,
    pairs: usize,
    unchecked: usize,
    decided: DecisionTally,
}

/// How often each check and each slip was found, counted pair by pair.
#[derive(Debug, Default)]
pub(super) struct Tallies {
    checks: BTreeMap<&'static str, Tally>,
    /// How often each slip comes first among the explanations of a claim.
    slips: BTreeMap<&'static str, Tally>,
}

impl Tallies {
    /// Counts what was found in a pair.
    pub fn add(&mut self, result: &PairResult, state: &State) {
        self.add_findings(&result.findings, Some(result), state);
        for not in &result.not_checked {
            self.add_not_checked(not);
        }
        let mut seen: Vec<&'static str> = Vec::new();
        for claim in &result.claims {
            let first = claim.recomputed.explanations.first();
            for slip in first.into_iter().flat_map(|explanation| &explanation.slips) {
                let tally = self.slips.entry(slip.code).or_default();
                tally.found += 1;
                if !seen.contains(&slip.code) {
                    seen.push(slip.code);
                    tally.pairs += 1;
                }
            }
        }
    }

    /// Counts the findings of a pair, or all those of none.
    pub fn add_findings(
        &mut self,
        findings: &[Finding],
        result: Option<&PairResult>,
        state: &State,
    ) {
        let pair = result.map_or("", |result| &result.pair);
        let mut seen: Vec<&'static str> = Vec::new();
        for finding in findings {
            let tally = self.checks.entry(finding.check).or_default();
            tally.found += 1;
            tally.decided.add(decision_on(state, result, pair, finding));
            if !seen.contains(&finding.check) {
                seen.push(finding.check);
                tally.pairs += 1;
            }
        }
    }

    /// Counts what could not be checked.
    pub fn add_not_checked(&mut self, not: &NotChecked) {
        self.checks.entry(not.check).or_default().unchecked += 1;
    }

    /// How many findings there are of the checks of a family.
    pub fn of_family(&self, family: &str) -> usize {
        let checks = self.checks.iter();
        checks
            .filter(|(check, _)| check.split('.').next() == Some(family))
            .map(|(_, tally)| tally.found)
            .sum()
    }
}

/// Writes the sheet.
///
/// # Errors
/// What the writer of workbooks says.
pub(super) fn write(
    sheet: &mut Worksheet,
    book: &Moderation<'_>,
    tallies: &Tallies,
) -> Result<(), XlsxError> {
    let columns = columns();
    let hint = "A decision here stands for every finding of that check (or explained by that slip) that has none of its own, and settles those about which two markers differ. What is off was switched off in the rubric.";
    let mut table = TableSheet::begin(sheet, book.looks, NAME, "Checks", hint, &columns)?;
    for check in checks::ALL {
        let tally = tallies.checks.get(check.id).copied().unwrap_or_default();
        table.row(check_row(book, check, tally))?;
    }
    for slip in slips::ALL {
        let tally = tallies.slips.get(slip.code).copied().unwrap_or_default();
        let decision = book.held("", &Subject::DecisionForAll(slip.code.to_owned()), None);
        let setting = if book.rubric.accept.iter().any(|code| code == slip.code) {
            "accepted"
        } else {
            "slip"
        };
        table.row([
            slip.code.into(),
            slip.title.into(),
            setting.into(),
            tally.found.into(),
            tally.pairs.into(),
            CellContent::Empty,
            decision.map(|held| held.value.clone()).into(),
        ])?;
    }
    table.finish(1)?;
    Ok(())
}

fn check_row(book: &Moderation<'_>, check: &Check, tally: Tally) -> Vec<CellContent> {
    let decision = book.held("", &Subject::DecisionForAll(check.id.to_owned()), None);
    let setting = if book.policy.is_on(check.id) {
        book.policy
            .setting(check.id)
            .map_or(check.weight.name(), Setting::name)
    } else {
        "off"
    };
    vec![
        check.id.into(),
        check.title.into(),
        setting.into(),
        tally.found.into(),
        tally.pairs.into(),
        tally.unchecked.into(),
        decision.map(|held| held.value.clone()).into(),
        tally.decided.in_words().into(),
        thresholds_in_words(book, check).into(),
        check.explanation.looks_at.into(),
        check.explanation.matters.into(),
        check.explanation.source.into(),
    ]
}

fn thresholds_in_words(book: &Moderation<'_>, check: &Check) -> String {
    let lines: Vec<String> = check
        .thresholds
        .iter()
        .filter_map(|key| {
            let value = book.thresholds.get(key)?;
            let unit =
                thresholds::definition(key).map_or("", |definition| definition.unit.as_str());
            let origin = book
                .thresholds
                .origin(key)
                .map_or_else(String::new, |origin| {
                    format!(" ({} line {})", origin.file, origin.line)
                });
            Some(format!("{key} = {} {unit}{origin}", readable(value)))
        })
        .collect();
    lines.join("\n")
}
