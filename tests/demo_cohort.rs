//! The demo cohort, the whole way through the binary: its answer key against the findings, both ways; the same bytes on a second run.

#![allow(clippy::unwrap_used, clippy::panic)] // In a test, a panic is the report.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;

fn demo() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-cohort")
}

fn evenhand() -> Command {
    Command::cargo_bin("evenhand").unwrap()
}

/// Every file below a folder, by its path from there.
fn files(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                let within = path.strip_prefix(folder).unwrap().to_owned();
                found.push((within, fs::read(&path).unwrap()));
            }
        }
    }
    found.sort();
    found
}

/// A copy of the demo cohort's own files, without what the program wrote.
fn copy() -> tempfile::TempDir {
    let copy = tempfile::tempdir().unwrap();
    for (name, bytes) in files(&demo()) {
        if name.starts_with("out") || name.starts_with("returned") || name.starts_with("marking") {
            continue;
        }
        let path = copy.path().join(&name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, bytes).unwrap();
    }
    copy
}

/// Pair, check and first cell of each row.
fn rows(path: &Path, place: &str) -> BTreeSet<[String; 3]> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let header = reader.headers().unwrap().clone();
    let column = |name: &str| header.iter().position(|known| known == name).unwrap();
    let (pair, check, place) = (column("pair"), column("check"), column(place));
    reader
        .records()
        .map(|record| {
            let record = record.unwrap();
            let first = record[place].split("; ").next().unwrap();
            let first = first.split(':').next().unwrap();
            [
                record[pair].to_owned(),
                record[check].to_owned(),
                first.to_owned(),
            ]
        })
        .collect()
}

#[test]
fn the_findings_are_those_that_were_planted_and_no_others() {
    let cohort = copy();
    evenhand()
        .arg("check")
        .arg(cohort.path())
        .assert()
        .success();
    let expected = rows(&cohort.path().join("expected.csv"), "place");
    let found = rows(&cohort.path().join("out/findings.csv"), "evidence");
    let missed: Vec<_> = expected.difference(&found).collect();
    let beyond: Vec<_> = found.difference(&expected).collect();
    assert!(expected.len() >= 10, "{expected:?}");
    assert!(
        missed.is_empty() && beyond.is_empty(),
        "missed {missed:#?}\nbeyond {beyond:#?}"
    );
}

/// Every fault in every format and layout; by pair and check, since what else a fault brings about is told too.
#[test]
fn whatever_a_rehearsal_plants_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let cohort = folder.path().join("cohort");
    evenhand()
        .args(["rehearse", "--pairs", "60", "--seed", "91", "--mess", "1"])
        .arg(&cohort)
        .assert()
        .success();
    evenhand().arg("check").arg(&cohort).assert().success();
    let by_check = |path: &str, place: &str| {
        rows(&cohort.join(path), place)
            .into_iter()
            .map(|[pair, check, _]| [pair, check])
            .collect::<BTreeSet<_>>()
    };
    let expected = by_check("expected.csv", "place");
    let found = by_check("out/findings.csv", "evidence");
    let missed: Vec<_> = expected.difference(&found).collect();
    assert!(expected.len() >= 60, "{expected:?}");
    assert!(missed.is_empty(), "{missed:#?}");
}

#[test]
fn a_second_run_gives_the_same_bytes() {
    let cohort = copy();
    let out = cohort.path().join("out");
    evenhand()
        .arg("check")
        .arg(cohort.path())
        .assert()
        .success();
    let first = files(&out);
    assert!(
        first
            .iter()
            .any(|(name, _)| name.ends_with("moderation.xlsx"))
    );
    evenhand()
        .arg("check")
        .arg(cohort.path())
        .assert()
        .success();
    for ((name, before), (_, after)) in first.iter().zip(files(&out)) {
        assert!(
            *before == after,
            "{} differs on the second run",
            name.display()
        );
    }
}

#[test]
fn the_demo_cohort_can_be_made_again() {
    let folder = tempfile::tempdir().unwrap();
    let again = folder.path().join("again");
    evenhand()
        .args(["rehearse", "--pairs", "24", "--seed", "4", "--mess", "0.42"])
        .arg(&again)
        .assert()
        .success();
    let original = copy();
    let (made, kept) = (files(&again), files(original.path()));
    let names = |files: &[(PathBuf, Vec<u8>)]| {
        files
            .iter()
            .map(|(name, _)| name.clone())
            .collect::<Vec<_>>()
    };
    assert_eq!(names(&made), names(&kept));
    for ((name, made), (_, kept)) in made.iter().zip(&kept) {
        assert!(
            made == kept,
            "{} was made anew with other bytes",
            name.display()
        );
    }
}
