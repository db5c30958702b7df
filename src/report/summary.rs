//! What a run comes to: ten seconds' reading in the terminal, and the same for scripts.

use std::fmt::Write as _;

use serde::Serialize;

use super::to_settle;
use super::wording::{counted_of_verdict, counted_of_weight};
use crate::checks::Weight;
use crate::claims::Verdict;
use crate::emphasis::{Emphasis, plain};
use crate::examination::{CohortPair, CohortResult};
use crate::wording::counted;

/// The summary for scripts, as `--json` prints it.
#[derive(Debug, Clone, Serialize)]
pub struct JsonSummary<'a> {
    /// The command.
    pub command: &'a str,
    /// How many pairs there are.
    pub pairs: usize,
    /// How many hand-ins were read.
    pub read: usize,
    /// Files that were not read.
    pub not_read: Vec<&'a str>,
    /// Findings by weight.
    pub findings: FindingCounts,
    /// Claims by verdict.
    pub claims: ClaimCounts,
    /// Files that were written.
    pub files: &'a [String],
}

/// Findings by weight.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct FindingCounts {
    /// Errors.
    pub error: usize,
    /// Concerns.
    pub concern: usize,
    /// Queries.
    pub query: usize,
}

/// Claims by verdict.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct ClaimCounts {
    /// That agree.
    pub agrees: usize,
    /// That differ.
    pub differs: usize,
    /// That no scores can give.
    pub impossible: usize,
    /// That could not be recomputed.
    pub not_recomputable: usize,
}

/// The summary of a cohort for scripts.
pub fn json<'a>(
    command: &'a str,
    cohort: &'a CohortResult,
    files: &'a [String],
) -> JsonSummary<'a> {
    JsonSummary {
        command,
        pairs: cohort.pairs.len(),
        read: cohort.read(),
        not_read: cohort
            .not_read
            .iter()
            .map(|not_read| not_read.file.as_str())
            .collect(),
        findings: FindingCounts {
            error: cohort.count(Weight::Error),
            concern: cohort.count(Weight::Concern),
            query: cohort.count(Weight::Query),
        },
        claims: ClaimCounts {
            agrees: cohort.claims_with(Verdict::Agrees),
            differs: cohort.claims_with(Verdict::Differs),
            impossible: cohort.claims_with(Verdict::Impossible),
            not_recomputable: cohort.claims_with(Verdict::NotRecomputable),
        },
        files,
    }
}

/// Lines that list more than so many things say how many more there are.
const LISTED: usize = 8;

/// The summary for the terminal.
pub fn text(title: &str, cohort: &CohortResult, page: &str, workbook: &str) -> String {
    let mut out = String::new();
    let heading = if title.is_empty() { "Cohort" } else { title };
    let _ = writeln!(
        out,
        "{}: {}\n",
        Emphasis::Heading.on(heading),
        counted(cohort.pairs.len(), "pair")
    );
    let numbers = cohort.sum(|outline| outline.numbers);
    let cells = cohort.sum(|outline| outline.cells);
    line(
        &mut out,
        "read",
        &format!(
            "{}; {} recomputed from {}",
            counted(cohort.read(), "logbook"),
            counted(numbers, "number"),
            counted(cells, "cell")
        ),
    );
    for (index, not_read) in cohort.not_read.iter().enumerate().take(LISTED) {
        let label = if index == 0 { "not read" } else { "" };
        line(
            &mut out,
            label,
            &format!("{}: {}", Emphasis::File.on(&not_read.file), not_read.why),
        );
    }
    if cohort.not_read.len() > LISTED {
        line(
            &mut out,
            "",
            &format!(
                "and {} more, in the workbook",
                cohort.not_read.len() - LISTED
            ),
        );
    }
    for (index, text) in to_settle::of_no_pair(cohort).iter().enumerate() {
        line(&mut out, if index == 0 { "whose is it" } else { "" }, text);
    }
    for (index, text) in to_settle::columns(cohort).iter().enumerate() {
        line(&mut out, if index == 0 { "left out" } else { "" }, text);
    }
    line(&mut out, "findings", &findings_marked(cohort));
    line(&mut out, "claims", &claims_marked(cohort));
    line(&mut out, "not checked", &not_checked(cohort));
    for not in &cohort.not_checked {
        line(&mut out, "", &format!("{}: {}", not.check, not.why));
    }
    let worst = worst(cohort);
    if !worst.is_empty() {
        line(&mut out, "look first at", &worst);
    }
    let _ = writeln!(
        out,
        "\nLook in {}\nMark in {}",
        Emphasis::File.on(page),
        Emphasis::File.on(workbook)
    );
    out
}

fn line(out: &mut String, label: &str, text: &str) {
    let _ = writeln!(out, "  {label:<15}{text}");
}

/// Findings by weight, in words.
pub(super) fn findings(cohort: &CohortResult) -> String {
    plain(&findings_marked(cohort))
}

fn findings_marked(cohort: &CohortResult) -> String {
    let with_any = cohort
        .pairs
        .iter()
        .filter(|pair| pair.outline.findings() > 0)
        .count();
    let counts = [Weight::Error, Weight::Concern, Weight::Query]
        .map(|weight| counted_of_weight(cohort.count(weight), weight))
        .join(", ");
    format!(
        "{counts}, in {} of {}",
        with_any,
        counted(cohort.pairs.len(), "pair")
    )
}

/// Claims by verdict, in words.
pub(super) fn claims(cohort: &CohortResult) -> String {
    plain(&claims_marked(cohort))
}

fn claims_marked(cohort: &CohortResult) -> String {
    [
        (Verdict::Agrees, "agree"),
        (Verdict::Differs, "differ"),
        (Verdict::Impossible, "that no scores can give"),
        (Verdict::NotRecomputable, "not recomputable"),
    ]
    .map(|(verdict, words)| counted_of_verdict(cohort.claims_with(verdict), words, verdict))
    .join(", ")
}

fn not_checked(cohort: &CohortResult) -> String {
    let checks = cohort.sum(|outline| outline.not_checked);
    let pairs = cohort
        .pairs
        .iter()
        .filter(|pair| pair.outline.not_checked > 0)
        .count();
    if checks == 0 && !cohort.not_checked.is_empty() {
        return String::from("of the cohort as a whole");
    }
    if checks == 0 {
        return String::from("nothing: every check had what it looks at");
    }
    format!(
        "{} lacked what they look at, in {} (why: evenhand pair, sheet Checks)",
        counted(checks, "check"),
        counted(pairs, "pair")
    )
}

/// The pairs with most errors.
fn worst(cohort: &CohortResult) -> String {
    let mut pairs: Vec<(&CohortPair, usize)> = cohort
        .pairs
        .iter()
        .map(|pair| (pair, pair.outline.count(Weight::Error)))
        .filter(|(_, errors)| *errors > 0)
        .collect();
    // Stable: pairs with as many errors stay in their order.
    pairs.sort_by_key(|(_, errors)| std::cmp::Reverse(*errors));
    let shown: Vec<String> = pairs
        .iter()
        .take(LISTED)
        .map(|(pair, errors)| format!("{} ({})", pair.pair, counted(*errors, "error")))
        .collect();
    let more = pairs.len().saturating_sub(LISTED);
    if more == 0 {
        shown.join(", ")
    } else {
        format!("{} and {more} more", shown.join(", "))
    }
}
