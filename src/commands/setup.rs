//! `setup`: the files with which a cohort begins. What is there already stays.

use std::fmt::Write as _;
use std::fs;
use std::io::{self, Write as _};
use std::path::Path;

use serde::Serialize;

use super::{Exit, Output, Stop};
use crate::atomic;
use crate::cli::{Setup, ShippedRubric};
use crate::cohort::settings;
use crate::report::workbook::blank_logbook;
use crate::rubric::shipped_text;

/// A roster with its header and two rows that say what they are: a csv can't hold comments.
const ROSTER: &str = "student_id,name,pair,role,email,marker,due,submitted,adjust,status\r\n\
s1001,Replace these rows,P01,coach,,,2026-12-11 17:00,,,\r\n\
s1002,with your students,P01,learner,,,2026-12-11 17:00,,,\r\n";

const SUBMISSIONS: &str = "submissions";

/// Runs the command.
///
/// # Errors
/// A file can't be written.
pub fn run(arguments: &Setup, output: &mut Output<'_>) -> Result<Exit, Stop> {
    let dir = &arguments.dir;
    let failed = |path: &Path, error: &io::Error| Stop::new(format!("{}: {error}", path.display()));
    fs::create_dir_all(dir).map_err(|error| failed(dir, &error))?;
    let rubric = match arguments.rubric {
        ShippedRubric::Full => "full",
        ShippedRubric::Short => "short",
    };
    let rubric = shipped_text(rubric).unwrap_or_default();
    let logbook = blank_logbook::make()?.save_to_buffer()?;
    let files: [(&str, &[u8], &str); 4] = [
        (
            settings::FILE,
            settings::TEMPLATE.as_bytes(),
            "settings, every key explained",
        ),
        (
            "roster.csv",
            ROSTER.as_bytes(),
            "replace its two rows with your students",
        ),
        (
            "rubric.toml",
            rubric.as_bytes(),
            "criteria, evidence, levels; `evenhand rubric` reads it back",
        ),
        ("blank-logbook.xlsx", &logbook, "hand it to the pairs"),
    ];
    let mut report = Report {
        command: "setup",
        written: Vec::new(),
        kept: Vec::new(),
    };
    let mut lines = String::new();
    for (name, content, what) in files {
        let path = dir.join(name);
        if path.exists() {
            report.kept.push(name);
            let _ = writeln!(lines, "  {name:<20} is there already and stays as it is");
            continue;
        }
        atomic::replace(&path, |file| file.write_all(content))
            .map_err(|error| failed(&path, &error))?;
        report.written.push(name);
        let _ = writeln!(lines, "  {name:<20} {what}");
    }
    let submissions = dir.join(SUBMISSIONS);
    fs::create_dir_all(&submissions).map_err(|error| failed(&submissions, &error))?;
    let _ = writeln!(
        lines,
        "  {:<20} put what the pairs hand in here",
        "submissions/"
    );
    output.summary(&report)?;
    output.text(&format!(
        "{}\n{lines}\nThen: evenhand check {}\n",
        dir.display(),
        dir.display()
    ))?;
    Ok(Exit::Done)
}

#[derive(Serialize)]
struct Report {
    command: &'static str,
    written: Vec<&'static str>,
    kept: Vec<&'static str>,
}
