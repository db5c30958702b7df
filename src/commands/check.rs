//! `check`: read, recompute, check, and write everything that the instructor looks at.

use std::path::Path;

use super::load::{Loaded, load};
use super::{Exit, Output, Stop, progress};
use crate::atomic;
use crate::checks::Weight;
use crate::cli::{Check, FailOn};
use crate::examination::CohortResult;
use crate::report::workbook::moderation::{Moderation, make};
use crate::report::workbook::style::Looks;
use crate::report::{out_files, summary};

/// The folder that everything is written to, in the cohort's folder.
const OUT: &str = "out";
/// The workbook to mark in.
const WORKBOOK: &str = "moderation.xlsx";

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Check, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let loaded = load(&arguments.dir)?;
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let out = arguments.dir.join(OUT);
    let files = write(&loaded, &cohort, &out)?;
    output.summary(&summary::json("check", &cohort, &files))?;
    let workbook = out.join(WORKBOOK).display().to_string();
    output.text(&summary::text(
        &loaded.folder.settings.title,
        &cohort,
        &workbook,
    ))?;
    if !cohort.not_read.is_empty() {
        if output.quiet || output.json {
            for not_read in &cohort.not_read {
                output.trouble(&format!("{}: {}", not_read.file, not_read.why));
            }
        }
        return Ok(Exit::Partly);
    }
    Ok(match arguments.fail_on {
        Some(weight) if stands(&cohort, weight) => Exit::Found,
        _ => Exit::Done,
    })
}

fn write(loaded: &Loaded, cohort: &CohortResult, out: &Path) -> Result<Vec<String>, Stop> {
    let looks = Looks::default();
    let course = &loaded.course;
    let book = Moderation {
        title: &loaded.folder.settings.title,
        source: &loaded.source,
        seed: course.facts.seed,
        cohort,
        rubric: &course.rubric,
        rubric_digest: &course.rubric_digest,
        policy: &course.policy,
        thresholds: &course.thresholds,
        roster: loaded.roster.as_ref(),
        entries: loaded.ledger.entries(),
        state: &loaded.state,
        looks: &looks,
    };
    let mut workbook = make(&book)?;
    out_files::write_all(out, cohort, &course.rubric, &loaded.state)?;
    let path = out.join(WORKBOOK);
    let written = atomic::replace(&path, |file| {
        workbook.save_to_writer(file).map_err(std::io::Error::other)
    });
    written.map_err(|error| Stop::new(format!("{}: {error}", path.display())))?;
    let names = [
        WORKBOOK,
        "findings.csv",
        "claims.csv",
        "blocks.csv",
        "facts.csv",
        "marks.csv",
    ];
    Ok(names.iter().map(|name| format!("{OUT}/{name}")).collect())
}

fn stands(cohort: &CohortResult, weight: FailOn) -> bool {
    let least = match weight {
        FailOn::Query => Weight::Query,
        FailOn::Concern => Weight::Concern,
        FailOn::Error => Weight::Error,
    };
    cohort
        .findings()
        .any(|(_, finding)| finding.weight >= least)
}
