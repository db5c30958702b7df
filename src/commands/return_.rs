//! `return`: marks and feedback for the pairs that are complete.

use std::fmt::Write as _;
use std::io::{self, Write as _};
use std::path::Path;
use std::sync::Arc;

use serde::Serialize;

use super::collect::workbooks;
use super::load::{Loaded, load};
use super::moderate::{comparing, shown};
use super::one_run::OneRun;
use super::own_workbook::OwnWorkbook;
use super::{Exit, Output, Stop, progress};
use crate::atomic;
use crate::checks::marks::second_differs;
use crate::cli::Return;
use crate::emphasis::Emphasis;
use crate::examination::CohortResult;
use crate::hand_back::changes::{Change, since_last};
use crate::hand_back::feedback::{self, Telling};
use crate::hand_back::marks_file::{self, Returned};
use crate::hand_back::{Finishing, cohort_feedback, one_roster};
use crate::ledger::Subject;
use crate::marking::settle::{SettledPair, Settling};
use crate::moderation::Compared;
use crate::moderation::record::{self, Recorded};
use crate::report::csv_rows::CsvRows;
use crate::report::page;
use crate::report::workbook::record_of_moderation;
use crate::report::workbook::style::Looks;
use crate::wording::counted;

/// The folder that everything is written to, in the cohort's folder.
const RETURNED: &str = "returned";

/// Runs the command.
///
/// # Errors
/// Why nothing was done: a pair is incomplete and `--complete-only` was not given, or no pair is complete.
pub fn run(arguments: &Return, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let mut loaded = load(&arguments.dir)?;
    let _run = OneRun::begin(&arguments.dir)?;
    hint_at_entries(&loaded, &arguments.dir, output);
    let bar = progress::bar(loaded.submissions.hand_ins.len(), output.quiet);
    let cohort = loaded.examine(&|| bar.inc(1));
    bar.finish_and_clear();
    let settled = settle(&loaded, &cohort);
    let (complete, waiting): (Vec<&SettledPair>, Vec<&SettledPair>) =
        settled.iter().partition(|pair| pair.is_complete());
    if !waiting.is_empty() && !arguments.complete_only {
        return Err(Stop::new(format!(
            "{} of {} not complete. Nothing was handed back.\n{}\n{}\n`evenhand return --complete-only` hands the others back.",
            waiting.len(),
            if waiting.len() == 1 {
                format!("{} pairs is", settled.len())
            } else {
                format!("{} pairs are", settled.len())
            },
            lacking(&waiting),
            where_to_settle(&waiting)
        )));
    }
    if complete.is_empty() {
        return Err(Stop::new(format!(
            "no pair is complete yet. Nothing was handed back.\n{}\n{}",
            lacking(&waiting),
            where_to_settle(&waiting)
        )));
    }
    let returned = marks_file::returned(&complete, loaded.roster.as_ref(), &finishing(&loaded));
    let who = arguments.by.as_deref().unwrap_or("instructor");
    let (lines, changes) = since_last(&returned, loaded.ledger.entries(), who);
    let folder = arguments.dir.join(RETURNED);
    let mut files = write(&loaded, &cohort, &complete, &waiting, &returned, &folder)?;
    let compared = comparing(&loaded, &cohort).compare();
    for run in &compared.again {
        let waiting: Vec<&str> = run.waiting().map(|pair| pair.pair.as_str()).collect();
        if !waiting.is_empty() {
            let title = loaded.course.rubric.criterion(&run.criterion);
            output.warning(&format!(
                "{} by {} was to be marked again by a proposal that you accepted. That holds nothing back: these pairs have the marks that stood: {}. To mark them again, run `evenhand moderate`, fill in the sheet Mark again of out/moderation-report.xlsx, collect, and return again",
                title.map_or(run.criterion.as_str(), |criterion| &criterion.title),
                run.marker,
                waiting.join(", ")
            ));
        }
    }
    let differ: Vec<String> = compared
        .found
        .found
        .iter()
        .filter(|placed| placed.finding.check == second_differs::CHECK.id)
        .filter_map(|placed| placed.pair.as_deref())
        .filter(|pair| complete.iter().any(|one| *one.pair == **pair))
        .map(str::to_owned)
        .collect();
    if !differ.is_empty() {
        output.warning(&format!(
            "two markers lie further apart than the tolerance on {}. Where nobody settled a criterion there, the first marker's mark was handed back. To settle one otherwise, enter its marks in out/moderation.xlsx, sheet Marks, collect, and return again",
            listed(&differ, ", ")
        ));
    }
    let bytes = record(&loaded, &cohort, &settled, &compared)?;
    put(&folder, record_of_moderation::FILE, &bytes)?;
    files.push(format!("{RETURNED}/{}", record_of_moderation::FILE));
    if !changes.is_empty() {
        put(&folder, "changes.csv", &changes_file(&changes).into_bytes())?;
        files.push(format!("{RETURNED}/changes.csv"));
    }
    let text = text(
        &complete,
        &waiting,
        &returned,
        &changes,
        loaded.roster.is_some(),
    );
    output.summary(&JsonReport {
        command: "return",
        returned: complete.iter().map(|pair| &*pair.pair).collect(),
        waiting: waiting
            .iter()
            .map(|pair| Waiting {
                pair: &pair.pair,
                lacks: &pair.lacks,
            })
            .collect(),
        changes: changes.len(),
        files: &files,
    })?;
    loaded.record(lines)?;
    output.text(&text)?;
    Ok(Exit::Done)
}

#[derive(Serialize)]
struct JsonReport<'a> {
    command: &'static str,
    returned: Vec<&'a str>,
    waiting: Vec<Waiting<'a>>,
    changes: usize,
    files: &'a [String],
}

#[derive(Serialize)]
struct Waiting<'a> {
    pair: &'a str,
    lacks: &'a [String],
}

/// The record for external moderators.
pub(super) fn record(
    loaded: &Loaded,
    cohort: &CohortResult,
    settled: &[SettledPair],
    compared: &Compared,
) -> Result<Vec<u8>, Stop> {
    let tables = record::record(&Recorded {
        shown: shown(loaded, cohort, compared),
        settings: &loaded.folder.settings,
        settled,
        ledger_head: &loaded.ledger.head(),
    });
    let mut workbook = record_of_moderation::make(&tables, &Looks::default())?;
    Ok(workbook.save_to_buffer()?)
}

/// Marks come from the ledger alone; whoever forgot to take a workbook back is told, and what `collect` would refuse.
fn hint_at_entries(loaded: &Loaded, dir: &Path, output: &mut Output<'_>) {
    for path in workbooks(dir).unwrap_or_default() {
        let name = path.strip_prefix(dir).unwrap_or(&path).display();
        let taken = match OwnWorkbook::find(path.clone(), true) {
            Ok(workbook) => workbook.untaken(loaded),
            Err(why) => {
                output.warning(&format!("{name} was not looked at: {why}"));
                continue;
            }
        };
        for why in &taken.not_read {
            output.warning(&format!(
                "what was entered there was not handed back: {why}"
            ));
        }
        let entries = match taken.entries.len() {
            0 => None,
            1 => Some(String::from("1 entry that is")),
            n => Some(format!("{n} entries that are")),
        };
        if let Some(entries) = entries {
            output.warning(&format!(
                "{name} holds {entries} not on the ledger, and not handed back; `evenhand collect` takes them back"
            ));
        }
        if !taken.refusals.is_empty() {
            let cells: Vec<String> = taken.refusals.iter().map(ToString::to_string).collect();
            output.warning(&format!(
                "{name} holds what can't be taken back until it is put right there:\n  {}",
                listed(&cells, "\n  ")
            ));
        }
    }
}

/// Lists name so many things and count the rest.
const NAMED: usize = 8;

fn listed(things: &[String], between: &str) -> String {
    let named: Vec<&str> = things.iter().take(NAMED).map(String::as_str).collect();
    match things.len().saturating_sub(NAMED) {
        0 => named.join(between),
        more => format!("{}{between}and {more} more", named.join(between)),
    }
}

/// Where what holds pairs back is settled.
fn where_to_settle(waiting: &[&SettledPair]) -> String {
    let lacks = |text: &str| {
        let mut all = waiting.iter().flat_map(|pair| &pair.lacks);
        all.any(|lack| lack.contains(text))
    };
    let mut text = String::from(
        "Enter marks and decisions in a marker's workbook or in out/moderation.xlsx (`evenhand check` writes it anew): marks on the sheet Marks, decisions on the sheet Findings. What you enter in out/moderation.xlsx stands above the markers'. Then `evenhand collect`.",
    );
    if lacks("waits for the pair's answer") {
        text.push_str(
            "\n`evenhand questions` writes what the pairs are asked; with their answer, decide uphold or dismiss, and keep the answer in the note beside it.",
        );
    }
    text
}

/// What the course settles about final marks.
pub(super) fn finishing(loaded: &Loaded) -> Finishing<'_> {
    let settings = &loaded.folder.settings;
    Finishing {
        out_of: loaded.course.rubric.out_of,
        late: settings.late.as_ref(),
        round: settings.hand_back.round,
    }
}

/// Every pair of which somebody takes part, settled.
pub(super) fn settle(loaded: &Loaded, cohort: &CohortResult) -> Vec<SettledPair> {
    let settling = Settling {
        rubric: &loaded.course.rubric,
        moderation: &loaded.folder.settings.moderation,
        roster: loaded.roster.as_ref(),
        state: &loaded.state,
    };
    let pairs: Vec<Arc<str>> = match &loaded.roster {
        Some(roster) => roster
            .pairs
            .iter()
            .filter(|pair| roster.takes_part(pair))
            .cloned()
            .collect(),
        None => cohort
            .pairs
            .iter()
            .map(|result| result.pair.clone())
            .collect(),
    };
    pairs
        .iter()
        .map(|pair| settling.pair(pair, cohort.pair(pair).as_ref()))
        .collect()
}

fn lacking(waiting: &[&SettledPair]) -> String {
    let lines: Vec<String> = waiting
        .iter()
        .map(|pair| format!("  {}: {}", pair.pair, pair.lacks.join("; ")))
        .collect();
    lines.join("\n")
}

fn put(folder: &Path, name: &str, bytes: &[u8]) -> Result<(), Stop> {
    let path = folder.join(name);
    atomic::replace(&path, |file| file.write_all(bytes))
        .map_err(|error| Stop::new(format!("{}: {error}", path.display())))
}

/// Writes everything; pages of pairs that are not handed back now are taken away, or they would say what no longer holds.
fn write(
    loaded: &Loaded,
    cohort: &CohortResult,
    complete: &[&SettledPair],
    waiting: &[&SettledPair],
    returned: &[Returned<'_>],
    folder: &Path,
) -> Result<Vec<String>, Stop> {
    let course = &loaded.course;
    let title = &loaded.folder.settings.title;
    let telling = Telling {
        course: title,
        rubric: &course.rubric,
        roster: loaded.roster.as_ref(),
        state: &loaded.state,
        finishing: finishing(loaded),
    };
    let mut files = Vec::new();
    let mut add = |name: String, bytes: &[u8]| {
        put(folder, &name, bytes)?;
        files.push(format!("{RETURNED}/{name}"));
        Ok::<(), Stop>(())
    };
    let mut rows = CsvRows::with_header(&feedback::COLUMNS);
    for pair in complete {
        let told = telling.feedback(pair, cohort.pair(&pair.pair).as_ref());
        feedback::rows(&mut rows, &told);
        let page = page::feedback::render(&told);
        add(page_name(&pair.pair), page.as_bytes())?;
    }
    for pair in waiting {
        match std::fs::remove_file(folder.join(page_name(&pair.pair))) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => {
                return Err(Stop::new(format!("{}: {error}", page_name(&pair.pair))));
            }
            _ => {}
        }
    }
    add(String::from("feedback.csv"), &rows.into_bytes())?;
    let marks = marks_file::rows(returned, course.rubric.out_of);
    add(String::from("marks.csv"), &marks.into_bytes())?;
    let common = cohort_feedback::feedback(title, cohort, &course.rubric, &loaded.state);
    let page = page::cohort_feedback::render(&common);
    add(String::from("cohort-feedback.html"), page.as_bytes())?;
    if loaded.roster.is_some() {
        for (name, bytes) in one_roster_files(loaded, returned)? {
            add(name.to_owned(), &bytes)?;
        }
    }
    Ok(files)
}

fn one_roster_files(
    loaded: &Loaded,
    returned: &[Returned<'_>],
) -> Result<Vec<(&'static str, Vec<u8>)>, Stop> {
    let settings = &loaded.folder.settings;
    let last = loaded.ledger.entries().last();
    let day = last.and_then(|entry| entry.time.get(..10)).unwrap_or("");
    let due = returned
        .iter()
        .filter_map(|one| one.student?.due)
        .max()
        .map_or_else(|| day.to_owned(), |due| due.date().to_string());
    let comment = |pair: &str| {
        loaded
            .state
            .pair(pair)
            .and_then(|state| state.standing(&Subject::Comment(String::from("overall")), ""))
            .map(|held| held.value.clone())
            .unwrap_or_default()
    };
    let about = one_roster::About {
        title: &settings.title,
        rubric: &loaded.course.rubric,
        ids: &settings.hand_back.one_roster,
        day,
        due,
    };
    Ok(one_roster::files(returned, &comment, &about)?)
}

/// The page of a pair, in the folder.
fn page_name(pair: &str) -> String {
    format!("feedback/{}.html", file_name(pair))
}

/// A pair's id as the name of a file: whatever it holds, the name is one that every system takes, and the pair's own.
pub(super) fn file_name(pair: &str) -> String {
    let plain: String = pair
        .chars()
        .map(|c| {
            if c.is_alphanumeric() || matches!(c, '-' | '_' | '.' | ' ') {
                c
            } else {
                '_'
            }
        })
        .collect();
    if plain == pair && !plain.starts_with('.') {
        return plain;
    }
    let digest = blake3::hash(pair.as_bytes()).to_hex();
    format!(
        "{}-{}",
        plain.trim_start_matches('.'),
        digest.get(..8).unwrap_or_default()
    )
}

fn changes_file(changes: &[Change]) -> CsvRows {
    let mut rows =
        CsvRows::with_header(&["pair", "student_id", "criterion", "before", "now", "why"]);
    for change in changes {
        rows.row([
            change.pair.as_str().into(),
            change.student.as_str().into(),
            change.criterion.as_str().into(),
            change.before.as_str().into(),
            change.now.as_str().into(),
            change.why.as_str().into(),
        ]);
    }
    rows
}

fn text(
    complete: &[&SettledPair],
    waiting: &[&SettledPair],
    returned: &[Returned<'_>],
    changes: &[Change],
    has_roster: bool,
) -> String {
    let mut out = format!(
        "{} {}, {}\n  {RETURNED}/marks.csv, {RETURNED}/feedback.csv, {RETURNED}/feedback/, {RETURNED}/cohort-feedback.html\n",
        Emphasis::Heading.on("Handed back:"),
        counted(complete.len(), "pair"),
        if has_roster {
            counted(returned.len(), "student")
        } else {
            String::from("without a roster, so by pair")
        }
    );
    if has_roster {
        let _ = writeln!(
            out,
            "  for your own system: {RETURNED}/lineItems.csv, {RETURNED}/results.csv, {RETURNED}/manifest.csv (OneRoster 1.2)"
        );
    }
    if !waiting.is_empty() {
        let _ = writeln!(
            out,
            "\n{} {}\n{}\n{}",
            Emphasis::Query.on("Held back:"),
            counted(waiting.len(), "pair"),
            lacking(waiting),
            where_to_settle(waiting)
        );
    }
    if !changes.is_empty() {
        let _ = writeln!(
            out,
            "\n{}",
            Emphasis::Heading.on("Changed since the last time:")
        );
        for change in changes {
            let of = if change.student.is_empty() {
                change.pair.clone()
            } else {
                format!("{} {}", change.pair, change.student)
            };
            let _ = writeln!(
                out,
                "  {of} {}: {} became {}\n    {}",
                change.criterion, change.before, change.now, change.why
            );
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_pair_has_a_page_of_its_own_within_the_folder() {
        assert_eq!(page_name("P07"), "feedback/P07.html");
        let odd = ["../x", ".. x", "a/b", "a_b", "a\\b"].map(page_name);
        for (index, name) in odd.iter().enumerate() {
            assert!(
                !name.contains("..") && name.matches('/').count() == 1,
                "{name}"
            );
            assert!(!odd[..index].contains(name), "{name}");
        }
    }
}
