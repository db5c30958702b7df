//! `forget`: names are replaced everywhere, once marks no longer need them. Hand-ins are never written to: they are named instead.

use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};

use serde::Serialize;

use super::load::{LEDGER, OUT, load};
use super::one_run::OneRun;
use super::{Exit, Output, Stop, office_lock};
use crate::atomic;
use crate::cli::InCohort;
use crate::examination::kept;
use crate::hand_back::forget::{
    Replacement, SHORTEST, in_markup, replaced, replacements, workbook,
};
use crate::ledger::{Entry, Role};
use crate::report::wording::counted;

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
pub fn run(arguments: &InCohort, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let dir = &arguments.dir;
    let mut loaded = load(dir)?;
    let _run = OneRun::begin(dir)?;
    let Some(roster) = &loaded.roster else {
        return Err(Stop::new(format!(
            "{}: there is no roster, so there are no names to replace",
            dir.display()
        )));
    };
    kept::forget(&dir.join(OUT)).map_err(|error| Stop::new(format!("{OUT}: {error}")))?;
    let names = replacements(roster, SHORTEST);
    let on_roster = replacements(roster, 1);
    let mut files: Vec<PathBuf> = Vec::new();
    for folder in FOLDERS {
        list(&dir.join(folder), &mut files);
    }
    for path in &files {
        office_lock::refuse(path)?;
    }
    let mut changed = Vec::new();
    let mut not_changed = Vec::new();
    let mut forget = |path: &Path, names: &[Replacement]| match in_file(path, names) {
        Ok(true) => changed.push(path.display().to_string()),
        Ok(false) => {}
        Err(why) => not_changed.push(format!("{}: {why}", path.display())),
    };
    for path in &files {
        forget(path, &names);
    }
    let said = Entry {
        time: last_time(loaded.ledger.entries()),
        who: arguments
            .by
            .clone()
            .unwrap_or_else(|| String::from("instructor")),
        role: Role::Program.name().into(),
        what: String::from("names-forgotten"),
        new: counted(on_roster.len(), "name"),
        ..Entry::default()
    };
    // The roster last: until then a second run finds the same names, should this one be cut short.
    let path = loaded.folder.path(LEDGER);
    let in_ledger = loaded
        .ledger
        .forget(&path, &|text| replaced(text, &names), said)?;
    let named = loaded.folder.settings.roster.as_ref();
    let name = named.map_or("roster.csv", |named| named.value.as_str());
    forget(&loaded.folder.path(name), &on_roster);
    if in_ledger {
        changed.push(path.display().to_string());
    }
    output.summary(&Report {
        command: "forget",
        names: on_roster.len(),
        files: &changed,
        not_changed: &not_changed,
    })?;
    let keep = &loaded.folder.settings.keep;
    let keep = if keep.is_empty() {
        String::new()
    } else {
        format!(" Your cohort.toml says how long they are kept: {keep}")
    };
    output.text(&format!(
        "Names and addresses replaced: {}, in {}; the ledger keeps pairs and student ids.\nHand-ins are never written to: {} may hold names still.{keep}\n",
        on_roster.len(),
        counted(changed.len(), "file"),
        loaded.source
    ))?;
    for why in &not_changed {
        output.trouble(why);
    }
    Ok(if not_changed.is_empty() {
        Exit::Done
    } else {
        Exit::Partly
    })
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
        if path.is_dir() {
            list(&path, files);
        } else if !office_lock::is_one(&path) {
            files.push(path);
        }
    }
}

/// Replaces names in one file; says whether there were any.
fn in_file(path: &Path, names: &[Replacement]) -> Result<bool, String> {
    let bytes = fs::read(path).map_err(|error| error.to_string())?;
    let new = if bytes.starts_with(b"PK") {
        workbook(&bytes, names).map_err(|error| error.to_string())?
    } else {
        let Ok(text) = std::str::from_utf8(&bytes) else {
            return Err(String::from(
                "it is no text in UTF-8 and no workbook; names in it, if there are any, were not replaced",
            ));
        };
        let is_page = path.extension().is_some_and(|ending| ending == "html");
        let new = if is_page {
            replaced(text, &in_markup(names))
        } else {
            replaced(text, names)
        };
        (new != text).then(|| new.into_bytes())
    };
    let Some(new) = new else {
        return Ok(false);
    };
    atomic::replace(path, |file| file.write_all(&new)).map_err(|error| error.to_string())?;
    Ok(true)
}
