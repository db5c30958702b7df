//! `forget`: names are replaced everywhere, once marks no longer need them. Hand-ins are never written to: they are named instead.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, IsTerminal as _, Write as _};
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::load::{LEDGER, OUT, load};
use super::one_run::OneRun;
use super::return_::file_name;
use super::{Exit, Output, Stop, office_lock};
use crate::atomic;
use crate::cli::Forget;
use crate::cohort::Roster;
use crate::cohort::roster::Student;
use crate::examination::kept;
use crate::hand_back::forget::{
    SHORTEST, in_markup, replaced, replaced_in_lines, replacements, workbook,
};
use crate::ledger::{Entry, Role};
use crate::wording::counted;

/// The folders that the program writes to.
const FOLDERS: [&str; 3] = ["out", "marking", "returned"];

#[derive(Serialize)]
struct Report<'a> {
    command: &'static str,
    names: usize,
    files: &'a [String],
    not_changed: &'a [String],
}

/// Runs the command.
///
/// # Errors
/// Why nothing was done.
pub fn run(arguments: &Forget, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let dir = &arguments.dir;
    let mut loaded = load(dir)?;
    let _run = OneRun::begin(dir)?;
    let Some(roster) = &loaded.roster else {
        return Err(Stop::new(format!(
            "{}: there is no roster, so there are no names to replace",
            dir.display()
        )));
    };
    let on_roster = names_on(roster);
    let mut files: Vec<PathBuf> = Vec::new();
    for folder in FOLDERS {
        list(&dir.join(folder), &mut files);
    }
    for path in &files {
        office_lock::refuse(path)?;
    }
    let settings = &loaded.folder.settings;
    let named = settings.roster.as_ref();
    let roster_file = loaded
        .folder
        .path(named.map_or("roster.csv", |named| named.value.as_str()));
    let asks = !arguments.yes && !output.quiet && !output.json && io::stdin().is_terminal();
    if arguments.dry_run || asks {
        let would = would_be_replaced(roster, &files, &roster_file);
        let plan = plan(roster, on_roster, &would, &loaded.source);
        if arguments.dry_run {
            output.summary(&Report {
                command: "forget",
                names: on_roster,
                files: &would.changed,
                not_changed: &would.not_changed,
            })?;
            output.text(&format!("{plan}Nothing was replaced.\n"))?;
            return Ok(Exit::Done);
        }
        if !agreed(&plan, output)? {
            return Err(Stop::new("nothing was replaced"));
        }
    }
    kept::forget(&dir.join(OUT)).map_err(|error| Stop::new(format!("{OUT}: {error}")))?;
    let mut done = Replaced::default();
    for path in &files {
        done.add(path, replace_in(path, roster, SHORTEST));
    }
    let said = Entry {
        time: last_time(loaded.ledger.entries()),
        who: arguments
            .by
            .clone()
            .unwrap_or_else(|| String::from("instructor")),
        role: Role::Program.name().into(),
        what: String::from("names-forgotten"),
        new: counted(on_roster, "name"),
        ..Entry::default()
    };
    // The roster last: until then a second run finds the same names, should this one be cut short.
    let path = loaded.folder.path(LEDGER);
    let names = replacements(roster, SHORTEST, &|_| true);
    let of_pair = |pair: &str, text: &str| {
        let new = replaced(text, &names);
        if new == text {
            return new;
        }
        let within = |student: &Student| *student.pair == *pair;
        replaced(text, &replacements(roster, SHORTEST, &within))
    };
    let in_ledger = loaded.ledger.forget(&path, &of_pair, said)?;
    done.add(&roster_file, replace_in(&roster_file, roster, 1));
    if in_ledger {
        done.changed.push(path.display().to_string());
    }
    output.summary(&Report {
        command: "forget",
        names: on_roster,
        files: &done.changed,
        not_changed: &done.not_changed,
    })?;
    let keep = &settings.keep;
    let keep = if keep.is_empty() {
        String::new()
    } else {
        format!(" Your cohort.toml says how long they are kept: {keep}")
    };
    output.text(&format!(
        "Names and addresses replaced: {on_roster}, in {}; the ledger keeps pairs, student ids and markers' names.\nHand-ins are never written to: {} may hold names still.{keep}\n",
        counted(done.changed.len(), "file"),
        loaded.source
    ))?;
    for why in &done.not_changed {
        output.trouble(why);
    }
    Ok(if done.not_changed.is_empty() {
        Exit::Done
    } else {
        Exit::Partly
    })
}

/// Says what would be done, and asks whether it is to be.
fn agreed(plan: &str, output: &mut Output<'_>) -> Result<bool, Stop> {
    output.text(&format!("{plan}Type yes to go on: "))?;
    output.out.flush()?;
    let mut answer = String::new();
    io::stdin().read_line(&mut answer)?;
    Ok(answer.trim().eq_ignore_ascii_case("yes"))
}

/// In which files names would be replaced.
fn would_be_replaced(roster: &Roster, files: &[PathBuf], roster_file: &Path) -> Replaced {
    let mut would = Replaced::default();
    for path in files {
        would.add(
            path,
            in_file(path, roster, SHORTEST).map(|new| new.is_some()),
        );
    }
    let on_it = in_file(roster_file, roster, 1).map(|new| new.is_some());
    would.add(roster_file, on_it);
    would
}

/// How many names and addresses the roster has.
fn names_on(roster: &Roster) -> usize {
    let students = roster.students.iter();
    students
        .map(|student| {
            let name = student.name.trim();
            let named = !name.is_empty() && !name.starts_with("student ");
            usize::from(named) + usize::from(student.email.trim().contains('@'))
        })
        .sum()
}

/// In which files names were, or would be, replaced.
#[derive(Default)]
struct Replaced {
    changed: Vec<String>,
    not_changed: Vec<String>,
}

impl Replaced {
    fn add(&mut self, path: &Path, went: Result<bool, String>) {
        match went {
            Ok(true) => self.changed.push(path.display().to_string()),
            Ok(false) => {}
            Err(why) => self.not_changed.push(format!("{}: {why}", path.display())),
        }
    }
}

/// So many files are listed, and the rest counted.
const LISTED: usize = 12;

/// What would be done, before it is.
fn plan(roster: &Roster, names: usize, would: &Replaced, source: &str) -> String {
    let mut text = format!(
        "{} of the roster would be replaced, in {} and the ledger:\n",
        match names {
            1 => String::from("1 name or address"),
            n => format!("{n} names or addresses"),
        },
        counted(would.changed.len(), "file")
    );
    for file in would.changed.iter().take(LISTED) {
        let _ = writeln!(text, "  {file}");
    }
    if would.changed.len() > LISTED {
        let _ = writeln!(text, "  and {} more", would.changed.len() - LISTED);
    }
    for why in &would.not_changed {
        let _ = writeln!(text, "  not {why}");
    }
    if let Some(first) = roster.students.first() {
        let _ = writeln!(
            text,
            "Each name becomes the student's id, as in “student {}”; addresses go. Pairs, ids, marks and markers' names stay.",
            first.id
        );
    }
    let _ = writeln!(
        text,
        "This can't be undone. Hand-ins are never written to: {source} may hold names still."
    );
    text
}

/// Only taking back reads the clock: this is dated by the last thing that is known.
fn last_time(entries: &[Entry]) -> String {
    entries
        .last()
        .map(|entry| entry.time.clone())
        .unwrap_or_default()
}

fn list(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(listed) = fs::read_dir(folder) else {
        return;
    };
    let mut paths: Vec<PathBuf> = listed
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| !path.is_symlink())
        .collect();
    paths.sort();
    for path in paths {
        if path.file_name().is_some_and(|name| name == kept::FILE) {
            // What is kept between checks goes altogether.
        } else if path.is_dir() {
            list(&path, files);
        } else if !office_lock::is_one(&path) {
            files.push(path);
        }
    }
}

/// Replaces names in one file; says whether there were any.
fn replace_in(path: &Path, roster: &Roster, shortest: usize) -> Result<bool, String> {
    let Some(new) = in_file(path, roster, shortest)? else {
        return Ok(false);
    };
    atomic::replace(path, |file| file.write_all(&new)).map_err(|error| error.to_string())?;
    Ok(true)
}

/// A file with the names in it replaced; none where it has none.
fn in_file(path: &Path, roster: &Roster, shortest: usize) -> Result<Option<Vec<u8>>, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    // A page or text that is a pair's own speaks of its two students.
    let of_pair = path.file_stem().map(|stem| stem.to_string_lossy());
    let own = roster
        .pairs
        .iter()
        .find(|pair| of_pair.as_deref() == Some(&file_name(pair)));
    let within = |student: &Student| own.is_none_or(|pair| student.pair == *pair);
    let names = || replacements(roster, shortest, &within);
    if bytes.starts_with(b"PK") {
        return workbook(&bytes, &names()).map_err(|error| error.to_string());
    }
    let Ok(text) = std::str::from_utf8(&bytes) else {
        return Err(String::from(
            "it is no text in UTF-8 and no workbook; names in it, if there are any, were not replaced",
        ));
    };
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    let new = match ending.as_deref() {
        Some("html") => replaced(text, &in_markup(&names())),
        Some("csv") => replaced_in_lines(text, roster, shortest),
        _ => replaced(text, &names()),
    };
    Ok((new != text).then(|| new.into_bytes()))
}
