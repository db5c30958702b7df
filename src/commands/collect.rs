//! `collect`: what people entered in the workbooks comes onto the ledger.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::load::{LEDGER, Loaded, load};
use super::one_run::OneRun;
use super::take_back::{TakenBack, now, take_back};
use super::{Exit, Output, Stop, named_workbooks, office_lock, same_marker};
use crate::checks;
use crate::cli::Collect;
use crate::emphasis::Emphasis;
use crate::ledger::{Entry, Ledger, PairState, Slot, Subject, markers_differ};
use crate::logbook::open::Kind;
use crate::marking::By;
use crate::natural_order;
use crate::report::history::subject_in_words;
use crate::report::workbook::record_of_moderation;
use crate::wording::counted;

/// The folders whose workbooks are taken back where none is named.
const FOLDERS: [&str; 2] = ["marking", "out"];

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Collect, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let (dir, named) = match arguments.arguments.split_first() {
        Some((first, rest)) if first.is_dir() => (first.clone(), rest),
        _ => (PathBuf::from("."), arguments.arguments.as_slice()),
    };
    if arguments.verify {
        return verify(&dir, output);
    }
    let named = named_workbooks::meant(&dir, named)?;
    let mut loaded = load(&dir)?;
    let _run = OneRun::begin(&dir)?;
    let by = arguments.by.as_deref();
    let (files, by) = if named.is_empty() {
        (workbooks(&dir)?, by.map_or(By::Unsaid, By::Decider))
    } else {
        (named, by.map_or(By::Unsaid, By::Of))
    };
    let mut taken = take_back(&loaded, &files, by, &now()?);
    let entries = std::mem::take(&mut taken.entries);
    let is_again =
        |entry: &Entry| entry.what.starts_with("proposal mark-again") && entry.new == "accept";
    taken.accepted_again = entries.iter().any(is_again);
    loaded.record(entries)?;
    report(&loaded, &taken, output)?;
    Ok(if taken.refusals.is_empty() && taken.not_read.is_empty() {
        Exit::Done
    } else {
        Exit::Partly
    })
}

/// The workbooks that the program wrote, or that somebody put beside them.
pub(super) fn workbooks(dir: &Path) -> Result<Vec<PathBuf>, Stop> {
    let mut files = Vec::new();
    for folder in FOLDERS {
        files.extend(workbooks_in(&dir.join(folder)));
    }
    if files.is_empty() {
        return Err(Stop::new(format!(
            "there is no workbook to take back in {} or {}; `evenhand check` and `evenhand share` write them",
            dir.join("out").display(),
            dir.join("marking").display()
        )));
    }
    Ok(files)
}

/// Those of one folder, in order; none where there is no such folder.
pub(super) fn workbooks_in(folder: &Path) -> Vec<PathBuf> {
    let listed = fs::read_dir(folder).into_iter().flatten();
    let paths = listed.filter_map(|entry| Some(entry.ok()?.path()));
    let mut files: Vec<PathBuf> = paths.filter(|path| to_fill_in(path)).collect();
    files.sort_by(|a, b| natural_order::compare(&a.to_string_lossy(), &b.to_string_lossy()));
    files
}

/// Whether a path is a workbook in which something may have been filled in: nothing is in the record.
pub(super) fn to_fill_in(path: &Path) -> bool {
    let is_record = path
        .file_name()
        .is_some_and(|name| name == record_of_moderation::FILE);
    is_workbook(path) && !is_record
}

fn is_workbook(path: &Path) -> bool {
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    let kinds = [Kind::Xlsx, Kind::Xlsb, Kind::Xls, Kind::Ods, Kind::FlatOds];
    path.is_file()
        && !office_lock::is_one(path)
        && kinds
            .iter()
            .any(|kind| kind.endings().contains(&ending.as_str()))
}

/// Says whether the ledger is as the program wrote it: reading it is the proof.
fn verify(dir: &Path, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let path = dir.join(LEDGER);
    let ledger = Ledger::read(&path)?;
    output.summary(&Verified {
        command: "collect",
        lines: ledger.lines(),
        head: ledger.head(),
    })?;
    output.text(&format!(
        "{}: {}, each chained to the one before; none was changed by hand.\nDigest of the last: {}\n",
        path.display(),
        counted(ledger.lines(), "line"),
        ledger.head()
    ))?;
    Ok(Exit::Done)
}

#[derive(Serialize)]
struct Verified {
    command: &'static str,
    lines: usize,
    head: String,
}

#[derive(Serialize)]
struct JsonReport<'a> {
    command: &'static str,
    files: Vec<JsonFile<'a>>,
    refused: Vec<JsonRefusal>,
    not_read: &'a [String],
    ledger_lines: usize,
}

#[derive(Serialize)]
struct JsonFile<'a> {
    file: &'a str,
    entries: usize,
    conflicts: usize,
    refused: usize,
}

#[derive(Serialize)]
struct JsonRefusal {
    place: String,
    stands: String,
    why: String,
}

fn report(loaded: &Loaded, taken: &TakenBack, output: &mut Output<'_>) -> Result<(), Stop> {
    for warning in &taken.warnings {
        output.warning(warning);
    }
    for competing in same_marker::competing(&taken.files) {
        output.warning(&competing);
    }
    for not_read in &taken.not_read {
        output.trouble(not_read);
    }
    if output.quiet || output.json {
        for refusal in &taken.refusals {
            output.trouble(&format!("not taken: {refusal}"));
        }
    }
    output.summary(&JsonReport {
        command: "collect",
        files: taken
            .files
            .iter()
            .map(|file| JsonFile {
                file: &file.name,
                entries: file.entries,
                conflicts: file.conflicts,
                refused: file.refused,
            })
            .collect(),
        refused: taken
            .refusals
            .iter()
            .map(|refusal| JsonRefusal {
                place: refusal.place.to_string(),
                stands: refusal.stands.clone(),
                why: refusal.why.clone(),
            })
            .collect(),
        not_read: &taken.not_read,
        ledger_lines: loaded.ledger.lines(),
    })?;
    output.text(&text(loaded, taken))
}

fn text(loaded: &Loaded, taken: &TakenBack) -> String {
    let mut out = String::new();
    for file in &taken.files {
        let taken = match file.entries {
            0 => String::from("nothing new"),
            1 => String::from("1 entry"),
            n => format!("{n} entries"),
        };
        let _ = write!(out, "{}: {taken}", Emphasis::File.on(&file.name));
        if file.conflicts > 0 {
            let beside = format!("{} of them beside another value", file.conflicts);
            let _ = write!(out, ", {}", Emphasis::Query.on(&beside));
        }
        if file.refused > 0 {
            let not_taken = format!("{} not taken", counted(file.refused, "cell"));
            let _ = write!(out, ", {}", Emphasis::Concern.on(&not_taken));
        }
        out.push('\n');
    }
    if !taken.refusals.is_empty() {
        let _ = writeln!(out, "\n{}", Emphasis::Concern.on("Not taken:"));
        for refusal in &taken.refusals {
            let _ = writeln!(out, "  {refusal}");
        }
    }
    waiting(
        &mut out,
        "Waiting for the moderator, because files disagree:",
        &open_conflicts(loaded),
    );
    waiting(
        &mut out,
        "Waiting for the moderator, because two markers decided differently:",
        &differing_decisions(loaded),
    );
    let empty = left_empty(loaded);
    if !empty.is_empty() {
        let _ = writeln!(out, "\n{}", Emphasis::Query.on("Marked but for:"));
        listed(&mut out, &empty);
    }
    let _ = writeln!(
        out,
        "\nLedger: {}. {}",
        counted(loaded.ledger.lines(), "line"),
        next_step(loaded, taken)
    );
    out
}

/// Lists show so many lines and count the rest.
const LISTED: usize = 12;

fn listed(out: &mut String, lines: &[String]) {
    for line in lines.iter().take(LISTED) {
        let _ = writeln!(out, "  {line}");
    }
    if lines.len() > LISTED {
        let _ = writeln!(out, "  and {} more", lines.len() - LISTED);
    }
}

fn waiting(out: &mut String, why: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{}", Emphasis::Query.on(why));
    listed(out, lines);
    out.push_str(
        "  To settle them, run `evenhand check` and enter what is to stand in out/moderation.xlsx (sheet Marks, or Findings).\n",
    );
}

/// What a person does next.
fn next_step(loaded: &Loaded, taken: &TakenBack) -> &'static str {
    if taken.accepted_again {
        return "Next: `evenhand moderate` writes the sheet Mark again for what is to be marked again.";
    }
    let shared = |(_, state): (_, &PairState)| state.standing(&Subject::FirstMarker, "").is_some();
    if loaded.state.pairs().any(shared) {
        "Next: `evenhand moderate` compares the markers; `evenhand check` shows the entries in a fresh workbook."
    } else {
        "`evenhand check` shows the entries in a fresh workbook."
    }
}

/// Pairs of which some criteria have a mark and others none, with those.
fn left_empty(loaded: &Loaded) -> Vec<String> {
    let criteria = &loaded.course.rubric.criteria;
    let marked = |state: &PairState, criterion: &str| {
        let mut all = state.all();
        all.any(|(key, _)| key.subject == Subject::Mark(criterion.to_owned()))
    };
    let mut lines = Vec::new();
    for (pair, state) in loaded.state.pairs() {
        let empty: Vec<String> = criteria
            .iter()
            .filter(|criterion| !marked(state, &criterion.id))
            .map(|criterion| criterion.title.clone())
            .collect();
        if !empty.is_empty() && empty.len() < criteria.len() {
            lines.push(format!("{pair}: {}", empty.join(", ")));
        }
    }
    lines
}

/// What different files disagree about, a line each.
fn open_conflicts(loaded: &Loaded) -> Vec<String> {
    let mut lines = Vec::new();
    let pairs = loaded.state.pairs().map(|(pair, state)| (&**pair, state));
    for (pair, state) in pairs.chain(std::iter::once(("", &loaded.state.cohort))) {
        for (key, held) in state.open_conflicts() {
            let entry = loaded.ledger.entries().get(held.line);
            let from = entry.map_or_else(String::new, |entry| {
                format!(" ({} {})", entry.file, entry.cell)
            });
            let others = held
                .conflicts
                .iter()
                .map(|other| format!("{} ({})", shown(&other.value), other.place));
            let all: Vec<String> = std::iter::once(format!("{}{from}", shown(&held.value)))
                .chain(others)
                .collect();
            let of = if pair.is_empty() { "the cohort" } else { pair };
            let student = if key.student.is_empty() {
                String::new()
            } else {
                format!(" of {}", key.student)
            };
            let subject = subject_in_words(&key.subject, &loaded.course.rubric, None);
            lines.push(format!("{of}, {subject}{student}: {}", all.join(" or ")));
        }
    }
    lines
}

/// Findings about which a pair's two markers decided differently, and nobody above them, a line each. Which findings there are, and which of
/// them a decision for all settles, only an examination tells: it is made where two markers' decisions differ at all.
fn differing_decisions(loaded: &Loaded) -> Vec<String> {
    let differing = |state: &PairState| {
        state.all().any(|(key, held)| {
            let second = || state.in_slot(&key.subject, &key.student, Slot::Second);
            key.slot == Slot::First
                && matches!(key.subject, Subject::Decision(_))
                && second().is_some_and(|second| second.value != held.value)
        })
    };
    if !loaded.state.pairs().any(|(_, state)| differing(state)) {
        return Vec::new();
    }
    let mut lines = Vec::new();
    for result in loaded.examine(&|| ()).results() {
        let pair = &result.pair;
        for finding in &result.findings {
            if let Some((first, second)) =
                markers_differ(&loaded.state, Some(&result), pair, finding)
            {
                let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
                lines.push(format!(
                    "{pair}, {title} ({}): {} by {}, {} by {}",
                    finding.id(pair),
                    first.value,
                    first.who,
                    second.value,
                    second.who
                ));
            }
        }
    }
    lines
}

fn shown(value: &str) -> &str {
    if value.is_empty() { "nothing" } else { value }
}
