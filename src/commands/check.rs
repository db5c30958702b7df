//! `check`: read, recompute, check, and write everything that the instructor looks at.

use std::path::Path;

use rayon::prelude::*;

use super::load::{Loaded, OUT, load};
use super::one_run::OneRun;
use super::own_workbook::OwnWorkbook;
use super::{Exit, Output, Stop, against, progress};
use crate::atomic::Replacement;
use crate::checks::Weight;
use crate::cli::{Check, FailOn};
use crate::examination::CohortResult;
use crate::report::out_files::OutFiles;
use crate::report::page::cohort::{Cards, CohortPage};
use crate::report::summary;
use crate::report::workbook::moderation::{Moderation, Sheets};
use crate::report::workbook::style::Looks;

/// The workbook to mark in.
const WORKBOOK: &str = "moderation.xlsx";
/// The page to look at.
const PAGE: &str = "cohort.html";

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Check, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let mut loaded = load(&arguments.dir)?;
    let _run = OneRun::begin(&arguments.dir)?;
    let out = arguments.dir.join(OUT);
    // What somebody entered in the workbook comes first: it may change what is examined, and it must not be lost.
    let workbook = OwnWorkbook::find(out.join(WORKBOOK), arguments.ignore_locks)?;
    let taken = workbook.take_back(&mut loaded, arguments.by.as_deref())?;
    for warning in &taken.warnings {
        output.warning(warning);
    }
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine_and_keep(&|| bar.inc(1));
    bar.finish_and_clear();
    if let Some(marks) = &arguments.against {
        return against::run(&loaded, &cohort, marks, output);
    }
    let files = write(&loaded, &cohort, &out, &workbook)?;
    output.summary(&summary::json("check", &cohort, &files))?;
    let workbook = out.join(WORKBOOK).display().to_string();
    output.text(&summary::text(
        &loaded.folder.settings.title,
        &cohort,
        &out.join(PAGE).display().to_string(),
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

fn write(
    loaded: &Loaded,
    cohort: &CohortResult,
    out: &Path,
    place: &OwnWorkbook,
) -> Result<Vec<String>, Stop> {
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
        moderation: &loaded.folder.settings.moderation,
        looks: &looks,
    };
    let page = CohortPage {
        title: &loaded.folder.settings.title,
        cohort,
        rubric: &course.rubric,
        roster: loaded.roster.as_ref(),
        state: &loaded.state,
    };
    let page_path = out.join(PAGE);
    let mut sheets = Sheets::begin(&book)?;
    let mut files = OutFiles::begin(out, &course.rubric, &loaded.state)?;
    let mut cards = Cards::begin(&page, &page_path)?;
    cohort.in_parts(|some| {
        let (sheets, (files, cards)) = rayon::join(
            || sheets.add(some).map_err(Stop::from),
            || rayon::join(|| files.add(some), || cards.add(some)),
        );
        sheets.and(files.and(cards).map_err(Stop::from))
    })?;
    let mut workbook = sheets.finish()?;
    let mut others: Vec<Replacement> = files.complete(&cohort.without_pair)?.into();
    others.push(cards.complete()?);
    // Packing the workbook keeps a core busy while the disk takes the rest.
    let (replaced, settled) = rayon::join(
        || place.replace(loaded, &mut workbook),
        || others.par_iter_mut().try_for_each(Replacement::settle),
    );
    // The workbook first: the findings that it shows are then those that taking back looks up, or newer ones.
    replaced?;
    settled?;
    others.into_iter().try_for_each(Replacement::finish)?;
    let names = [
        WORKBOOK,
        PAGE,
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
    let heavy = [Weight::Query, Weight::Concern, Weight::Error];
    let mut heavy = heavy.into_iter().filter(|weight| *weight >= least);
    heavy.any(|weight| cohort.count(weight) > 0)
}
