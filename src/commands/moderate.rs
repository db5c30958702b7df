//! `moderate`: compares the markers, and proposes what to settle.

use std::fs;
use std::io::Write as _;

use serde::Serialize;

use super::load::{Loaded, load};
use super::one_run::OneRun;
use super::own_workbook::OwnWorkbook;
use super::return_::{record, settle};
use super::{Exit, Output, Stop, progress};
use crate::atomic;
use crate::cli::InCohort;
use crate::emphasis::Emphasis;
use crate::examination::CohortResult;
use crate::moderation::report::{OPPOSED, Shown, decided_differently, report};
use crate::moderation::{Compared, Comparing, FEW, Scale, Severity};
use crate::number::readable;
use crate::report::workbook::moderation_report::make;
use crate::report::workbook::record_of_moderation;
use crate::report::workbook::style::Looks;
use crate::wording::counted;

/// The folder that everything is written to, in the cohort's folder.
const OUT: &str = "out";
/// The workbook.
const WORKBOOK: &str = "moderation-report.xlsx";

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &InCohort, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let mut loaded = load(&arguments.dir)?;
    let _run = OneRun::begin(&arguments.dir)?;
    let out = arguments.dir.join(OUT);
    // What the moderator decided in the last report comes first: it must not be lost.
    let workbook = OwnWorkbook::find(out.join(WORKBOOK), false)?;
    let taken = workbook.take_back(&mut loaded, arguments.by.as_deref())?;
    for warning in &taken.warnings {
        output.warning(warning);
    }
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let compared = comparing(&loaded, &cohort).compare();
    let line = compared.figures.line(loaded.ledger.entries());
    loaded.record(line.into_iter().collect())?;
    let shown = shown(&loaded, &cohort, &compared);
    let summary = summary(&compared, decided_differently(&shown));
    let report = report(&shown);
    fs::create_dir_all(&out).map_err(|error| Stop::new(format!("{}: {error}", out.display())))?;
    workbook.replace(&loaded, &mut make(&report, &Looks::default())?)?;
    let settled = settle(&loaded, &cohort);
    let bytes = record(&loaded, &cohort, &settled, &compared)?;
    let path = out.join(record_of_moderation::FILE);
    atomic::replace(&path, |file| file.write_all(&bytes))
        .map_err(|error| Stop::new(format!("{}: {error}", path.display())))?;
    output.summary(&summary)?;
    let severity = compared.severity(&Scale::Total);
    let workbook = out.join(WORKBOOK).display().to_string();
    output.text(&text(
        &summary,
        severity,
        compared.gathered.is_crossed(),
        &workbook,
    ))?;
    Ok(Exit::Done)
}

#[derive(Serialize)]
struct Summary {
    command: &'static str,
    pairs: usize,
    twice: usize,
    mean_difference: Option<f64>,
    mean_difference_low: Option<f64>,
    mean_difference_high: Option<f64>,
    within_tolerance: usize,
    findings: usize,
    proposals: usize,
    to_mark_again: usize,
    decided_differently: usize,
    files: Vec<String>,
}

/// What is compared.
pub(super) fn comparing<'a>(loaded: &'a Loaded, cohort: &'a CohortResult) -> Comparing<'a> {
    Comparing {
        course: &loaded.course,
        moderation: &loaded.folder.settings.moderation,
        roster: loaded.roster.as_ref(),
        entries: loaded.ledger.entries(),
        state: &loaded.state,
        cohort,
    }
}

/// What reports show of a comparison.
pub(super) fn shown<'a>(
    loaded: &'a Loaded,
    cohort: &'a CohortResult,
    compared: &'a Compared,
) -> Shown<'a> {
    Shown {
        title: &loaded.folder.settings.title,
        rubric: &loaded.course.rubric,
        rubric_digest: &loaded.course.rubric_digest,
        entries: loaded.ledger.entries(),
        state: &loaded.state,
        tolerance: loaded.folder.settings.moderation.tolerance_percent(),
        compared,
        cohort,
        policy: &loaded.course.policy,
    }
}

fn summary(compared: &Compared, decided_differently: usize) -> Summary {
    let total = compared.agreement(&Scale::Total);
    let difference = total.and_then(|total| total.difference.as_ref().ok());
    Summary {
        command: "moderate",
        pairs: compared.gathered.pairs.len(),
        twice: total.map_or(0, |total| total.n),
        mean_difference: difference.map(|difference| difference.mean),
        mean_difference_low: difference.map(|difference| difference.mean_interval.low),
        mean_difference_high: difference.map(|difference| difference.mean_interval.high),
        within_tolerance: total.map_or(0, |total| total.within),
        findings: compared.found.found.len(),
        proposals: compared.proposals.len(),
        to_mark_again: compared.again.iter().map(|run| run.waiting().count()).sum(),
        decided_differently,
        files: vec![
            format!("{OUT}/{WORKBOOK}"),
            format!("{OUT}/{}", record_of_moderation::FILE),
        ],
    }
}

/// `crossed`: markers are first and second in turns, so that the mean of first less second says nothing of them.
fn text(summary: &Summary, severity: Option<&Severity>, crossed: bool, workbook: &str) -> String {
    let mut text = format!(
        "{}: {} of {} marked twice in full.\n",
        Emphasis::Heading.on("Markers compared"),
        counted(summary.twice, "pair"),
        summary.pairs
    );
    let enough = summary.twice >= FEW;
    let headline = match severity {
        Some(severity) if enough => severity.headline(),
        _ => Vec::new(),
    };
    for sentence in &headline {
        text = format!("{text}{sentence}\n");
    }
    if crossed && severity.is_some() {
        if !enough {
            text.push_str("That is too few to say who gives more or less.\n");
        } else if headline.is_empty() {
            text.push_str(
                "No marker surely gives more or less than the others on the same reports.\n",
            );
        }
        text = format!(
            "{text}Totals of {} of {} lie within the tolerance.\n",
            summary.within_tolerance,
            counted(summary.twice, "pair")
        );
    } else if let (Some(mean), Some(low), Some(high)) = (
        summary.mean_difference,
        summary.mean_difference_low,
        summary.mean_difference_high,
    ) {
        text = format!(
            "{text}Mean difference of totals, first less second: {} (95 % interval from {} to {}); totals of {} lie within the tolerance.\n",
            readable(mean),
            readable(low),
            readable(high),
            counted(summary.within_tolerance, "pair")
        );
    } else {
        text.push_str("That is too few to compare totals.\n");
    }
    if summary.to_mark_again > 0 {
        text = format!(
            "{text}{} to be marked again by accepted proposals: sheet Mark again.\n",
            counted(summary.to_mark_again, "mark")
        );
    }
    if summary.decided_differently > 0 {
        text = format!(
            "{text}{} decided differently by two markers: sheet {OPPOSED}.\n",
            counted(summary.decided_differently, "finding")
        );
    }
    format!(
        "{text}{} from the checks of marks, {}.\n{} has the rest. Accept or refuse there, then run evenhand collect.\n",
        counted(summary.findings, "finding"),
        counted(summary.proposals, "proposal"),
        Emphasis::File.on(workbook)
    )
}
