//! Data flows one way: no module uses a later one. The order is that of the crate's documentation.

#![allow(clippy::unwrap_used, clippy::panic)] // In a test, a panic is the report.

use std::fs;
use std::path::{Path, PathBuf};

/// The modules in the order in which data flows. Those of one line may use each other.
const ORDER: &[&[&str]] = &[
    &[
        "atomic",
        "configuration",
        "emphasis",
        "natural_order",
        "number",
        "phase",
        "place",
        "spreadsheet_text",
        "statistic",
        "thresholds",
        "wording",
    ],
    &["stats"],
    &["logbook"],
    &["cohort"],
    &["facts"],
    &["claims"],
    &["expression"],
    &["judgement"],
    &["checks"],
    &["rubric"],
    &["examination"],
    &["ledger"],
    &["report"],
    &["marking"],
    &["moderation"],
    &["hand_back"],
    &["rehearsal"],
    &["cli"],
    &["commands"],
];

fn rank(module: &str) -> Option<usize> {
    ORDER.iter().position(|modules| modules.contains(&module))
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The modules of the crate that a line of code names.
fn used(line: &str) -> impl Iterator<Item = String> + '_ {
    // Documentation may point anywhere.
    let code = if line.trim_start().starts_with("//") {
        ""
    } else {
        line
    };
    code.split("crate::").skip(1).map(|rest| {
        rest.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    })
}

#[test]
fn no_module_uses_a_later_one() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 50, "only {} files were found", files.len());
    let mut upwards = Vec::new();
    for file in files {
        let within = file.strip_prefix(&src).unwrap();
        let module = within.components().next().unwrap().as_os_str();
        let module = module.to_str().unwrap().trim_end_matches(".rs");
        if matches!(module, "lib" | "main") {
            continue;
        }
        let own = rank(module).unwrap_or_else(|| panic!("{module} has no place in the order"));
        for (number, line) in fs::read_to_string(&file).unwrap().lines().enumerate() {
            if used(line).any(|used| rank(&used).is_some_and(|used| used > own)) {
                upwards.push(format!(
                    "{}:{}: {}",
                    within.display(),
                    number + 1,
                    line.trim()
                ));
            }
        }
    }
    assert!(upwards.is_empty(), "{}", upwards.join("\n"));
}

#[test]
fn statistics_know_nothing_of_logbooks() {
    let mut files = Vec::new();
    sources(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src/stats"),
        &mut files,
    );
    for file in files {
        for line in fs::read_to_string(&file).unwrap().lines() {
            for used in used(line) {
                assert_eq!(used, "stats", "{}: {line}", file.display());
            }
        }
    }
}
