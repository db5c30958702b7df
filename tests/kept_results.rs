//! A check that uses the results of an earlier one writes byte for byte what a fresh one writes, whatever has changed in between.

#![allow(clippy::unwrap_used)] // In a test, a panic is the report.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;

const KEPT: &str = "out/.evenhand-kept";

struct Cohort {
    folder: tempfile::TempDir,
}

impl Cohort {
    /// Twelve invented pairs in all formats, most with a fault.
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let plan = ["--pairs", "12", "--seed", "9", "--mess", "0.8"];
        let cohort = Self { folder };
        cohort.run("rehearse", &plan);
        cohort
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, command: &str, rest: &[&str]) {
        let mut evenhand = Command::new(env!("CARGO_BIN_EXE_evenhand"));
        evenhand.arg(command).arg(self.folder.path()).args(rest);
        evenhand.arg("--quiet").assert().success();
    }

    /// What `check` writes.
    fn checked(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        self.run("check", &[]);
        let mut written = BTreeMap::new();
        for file in fs::read_dir(self.path("out")).unwrap() {
            let path = file.unwrap().path();
            if path.is_file() {
                written.insert(path.clone(), fs::read(path).unwrap());
            }
        }
        assert!(written.len() >= 7);
        written
    }

    /// Checks with what is kept, then without: the same must be written.
    fn same_as_fresh(&self, what: &str) {
        let with = self.checked();
        fs::remove_dir_all(self.path(KEPT)).unwrap();
        let fresh = self.checked();
        let differ: Vec<_> = fresh
            .iter()
            .filter(|(path, bytes)| with.get(*path) != Some(*bytes))
            .map(|(path, _)| path)
            .collect();
        assert!(differ.is_empty(), "{what}: {differ:?}");
        assert_eq!(with.len(), fresh.len(), "{what}");
    }

    /// The names of the results that are kept.
    fn kept(&self) -> Vec<PathBuf> {
        let Ok(files) = fs::read_dir(self.path(KEPT)) else {
            return Vec::new();
        };
        let mut names: Vec<PathBuf> = files.map(|file| file.unwrap().path()).collect();
        names.sort();
        names
    }
}

/// A hand-in that is one workbook.
fn a_workbook(submissions: &Path) -> PathBuf {
    let mut found: Vec<PathBuf> = fs::read_dir(submissions)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "xlsx"))
        .collect();
    found.sort();
    found.swap_remove(0)
}

#[test]
fn what_is_kept_changes_nothing_that_is_written() {
    let cohort = Cohort::new();
    let first = cohort.checked();
    let kept = cohort.kept();
    assert!(kept.len() >= 10);
    assert_eq!(cohort.checked(), first);
    assert_eq!(cohort.kept(), kept);

    // One hand-in handed in anew: its result alone is another.
    let submissions = cohort.path("submissions");
    let workbook = a_workbook(&submissions);
    let mut grown = fs::read(&workbook).unwrap();
    // A comment at the end of a zip leaves what is in it as it is: only the digest tells.
    let end = grown.len() - 2;
    grown.splice(end.., *b"\x05\x00again");
    fs::write(&workbook, grown).unwrap();
    cohort.checked();
    let after = cohort.kept();
    assert_eq!(after.len(), kept.len());
    let new = after.iter().filter(|name| !kept.contains(name)).count();
    assert_eq!(new, 1);
    cohort.same_as_fresh("a hand-in changed");

    // One that is another pair's logbook now.
    let other = submissions.join("elsewhere.xlsx");
    fs::copy(&workbook, &other).unwrap();
    cohort.same_as_fresh("a hand-in was added");
    fs::remove_file(other).unwrap();
    cohort.same_as_fresh("a hand-in was taken away");
}

#[test]
fn a_result_that_is_not_whole_is_computed_again() {
    let cohort = Cohort::new();
    cohort.checked();
    for (index, path) in cohort.kept().into_iter().enumerate() {
        let mut bytes = fs::read(&path).unwrap();
        let middle = bytes.len() / 2;
        match index % 4 {
            0 => bytes.truncate(middle),
            1 => bytes.truncate(7),
            2 => bytes.clear(),
            _ => bytes[middle] ^= 1,
        }
        fs::write(path, bytes).unwrap();
    }
    cohort.same_as_fresh("results that are not whole");
    fs::write(cohort.path(KEPT).join("something else"), "text").unwrap();
    cohort.same_as_fresh("a strange file among the results");
    assert!(!cohort.path(KEPT).join("something else").exists());
}

#[test]
fn what_the_course_settles_is_never_out_of_date() {
    let cohort = Cohort::new();
    let before = cohort.checked();
    let kept = cohort.kept();
    let settings = fs::read_to_string(cohort.path("cohort.toml")).unwrap();
    let another = settings.replace("\nseed = 1\n", "\nseed = 5\n");
    assert!(another != settings);
    fs::write(cohort.path("cohort.toml"), another).unwrap();
    let with_another_seed = cohort.checked();
    assert!(with_another_seed != before);
    // What results are packed against is no result.
    let results = cohort
        .kept()
        .into_iter()
        .filter(|path| !path.ends_with("sample"));
    assert!(results.into_iter().all(|path| !kept.contains(&path)));
    cohort.same_as_fresh("another seed");
    let rubric = fs::read_to_string(cohort.path("rubric.toml")).unwrap();
    let stricter = rubric.replace("pre.n >= thresholds.few_trials", "pre.n >= 40");
    assert!(stricter != rubric);
    fs::write(cohort.path("rubric.toml"), stricter).unwrap();
    cohort.same_as_fresh("another rubric");
    let roster = fs::read_to_string(cohort.path("roster.csv")).unwrap();
    let shorter: Vec<&str> = roster.lines().take(9).collect();
    fs::write(cohort.path("roster.csv"), shorter.join("\n")).unwrap();
    cohort.same_as_fresh("a shorter roster");
}

#[test]
fn forgetting_names_forgets_results_too() {
    let cohort = Cohort::new();
    cohort.checked();
    assert!(!cohort.kept().is_empty());
    cohort.run("forget", &[]);
    assert!(cohort.kept().is_empty());
    assert!(!cohort.path(KEPT).exists());
}
