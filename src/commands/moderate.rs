//! `moderate`: compares the markers, and proposes what to settle.

use std::fs;

use serde::Serialize;

use super::load::{Loaded, load};
use super::one_run::OneRun;
use super::own_workbook::OwnWorkbook;
use super::{Exit, Output, Stop, progress};
use crate::checks::{MarksSeen, run_marks};
use crate::cli::InCohort;
use crate::examination::CohortResult;
use crate::moderation::entered::{boundaries, figures, follow_gain, pair_marks};
use crate::moderation::proposals::Grounds;
use crate::moderation::report::{Shown, report};
use crate::moderation::{Scale, agreement, gather, marker_reports, proposals, severities};
use crate::number::readable;
use crate::report::wording::counted;
use crate::report::workbook::moderation_report::{ModerationReport, make};
use crate::report::workbook::style::Looks;

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
    let taken = workbook.take_back(&mut loaded, None)?;
    for warning in &taken.warnings {
        output.trouble(warning);
    }
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let (report, summary) = compare(&loaded, &cohort);
    fs::create_dir_all(&out).map_err(|error| Stop::new(format!("{}: {error}", out.display())))?;
    workbook.replace(&loaded, &mut make(&report, &Looks::default())?)?;
    output.summary(&summary)?;
    output.text(&text(&summary, &out.join(WORKBOOK).display().to_string()))?;
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
    files: Vec<String>,
}

fn compare(loaded: &Loaded, cohort: &CohortResult) -> (ModerationReport, Summary) {
    let course = &loaded.course;
    let rubric = &course.rubric;
    let settings = &loaded.folder.settings;
    let roster = loaded.roster.as_ref();
    let moderation = &settings.moderation;
    let tolerance = moderation.tolerance_percent();
    let gathered = gather(rubric, roster, &loaded.state, cohort);
    let scales = gathered.scales();
    let agreements: Vec<_> = scales
        .iter()
        .map(|scale| {
            let levels = match scale {
                Scale::Judged => Vec::new(),
                Scale::Total => rubric.levels.iter().map(|level| level.from).collect(),
                Scale::Criterion(id) => {
                    let criterion = rubric.criterion(id);
                    let levels = criterion.into_iter().flat_map(|c| &c.levels);
                    levels.map(|level| level.from).collect()
                }
            };
            agreement(&gathered, scale.clone(), tolerance, &levels)
        })
        .collect();
    let severities: Vec<_> = scales
        .iter()
        .map(|scale| (scale.clone(), severities(&gathered, scale.clone())))
        .collect();
    let of_total = severities
        .iter()
        .find(|(scale, _)| *scale == Scale::Total)
        .and_then(|(_, severity)| severity.as_ref().ok());
    let markers = marker_reports(&gathered);
    let found = run_marks(
        &MarksSeen {
            thresholds: &course.thresholds,
            pairs: &pair_marks(
                rubric,
                roster,
                &loaded.state,
                loaded.ledger.entries(),
                cohort,
            ),
            boundaries: &boundaries(rubric),
            markers: &figures(&markers, of_total),
            follow_gain: follow_gain(&gathered),
        },
        &course.policy,
    );
    let proposals = proposals(&Grounds {
        gathered: &gathered,
        agreements: &agreements,
        severity: of_total,
        markers: &markers,
        tolerance,
        all_twice: moderation.all_marked_twice,
    });
    let total = agreements.iter().find(|found| found.scale == Scale::Total);
    let difference = total.and_then(|total| total.difference.as_ref().ok());
    let summary = Summary {
        command: "moderate",
        pairs: gathered.pairs.len(),
        twice: total.map_or(0, |total| total.n),
        mean_difference: difference.map(|difference| difference.mean),
        mean_difference_low: difference.map(|difference| difference.mean_interval.low),
        mean_difference_high: difference.map(|difference| difference.mean_interval.high),
        within_tolerance: total.map_or(0, |total| total.within),
        findings: found.found.len(),
        proposals: proposals.len(),
        files: vec![format!("{OUT}/{WORKBOOK}")],
    };
    let report = report(&Shown {
        title: &settings.title,
        rubric,
        rubric_digest: &course.rubric_digest,
        ledger_lines: loaded.ledger.entries().len(),
        state: &loaded.state,
        tolerance,
        gathered: &gathered,
        agreements: &agreements,
        severities: &severities,
        markers: &markers,
        found: &found,
        proposals: &proposals,
    });
    (report, summary)
}

fn text(summary: &Summary, workbook: &str) -> String {
    let mut text = format!(
        "{} of {} marked twice in full.\n",
        counted(summary.twice, "pair"),
        summary.pairs
    );
    if let (Some(mean), Some(low), Some(high)) = (
        summary.mean_difference,
        summary.mean_difference_low,
        summary.mean_difference_high,
    ) {
        text = format!(
            "{text}Mean difference of totals, first less second: {} (95 % interval from {} to {}); {} within tolerance.\n",
            readable(mean),
            readable(low),
            readable(high),
            summary.within_tolerance
        );
    } else {
        text.push_str("That is too few to compare totals.\n");
    }
    format!(
        "{text}{} from the checks of marks, {}.\n{workbook} has the rest. Accept or refuse there, then run evenhand collect.\n",
        counted(summary.findings, "finding"),
        counted(summary.proposals, "proposal")
    )
}
