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
            if path.is_file() && !path.ends_with(".evenhand-kept") {
                written.insert(path.clone(), fs::read(path).unwrap());
            }
        }
        assert!(written.len() >= 7);
        written
    }

    /// Checks with what is kept, then without: the same must be written.
    fn same_as_fresh(&self, what: &str) {
        let with = self.checked();
        fs::remove_file(self.path(KEPT)).unwrap();
        let fresh = self.checked();
        let differ: Vec<_> = fresh
            .iter()
            .filter(|(path, bytes)| with.get(*path) != Some(*bytes))
            .map(|(path, _)| path)
            .collect();
        assert!(differ.is_empty(), "{what}: {differ:?}");
        assert_eq!(with.len(), fresh.len(), "{what}");
    }

    /// The names of the results that are kept: each record has 32 bytes of name, 4 of length, 32 of digest. The first is no result.
    fn kept(&self) -> Vec<Vec<u8>> {
        let bytes = fs::read(self.path(KEPT)).unwrap_or_default();
        let mut rest = bytes.as_slice();
        let mut names = Vec::new();
        while let Some((header, after)) = rest.split_at_checked(68) {
            names.push(header[..32].to_vec());
            let length = u32::from_le_bytes(header[32..36].try_into().unwrap());
            rest = &after[length as usize..];
        }
        assert!(rest.is_empty());
        names.split_off(names.len().min(1))
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
    let whole = fs::read(cohort.path(KEPT)).unwrap();
    // The record that all others need, one in the middle, the last one; a length that can't be; half a file, and none.
    let at = |share: usize| whole.len() * share / 100;
    let changed = |places: &[usize]| {
        let mut bytes = whole.clone();
        for place in places {
            bytes[*place] ^= 0x55;
        }
        bytes
    };
    for (what, bytes) in [
        ("the sample changed", changed(&[100])),
        ("the sample's name changed", changed(&[3])),
        ("a length changed", changed(&[32, 33, 34, 35])),
        ("results changed", changed(&[at(30), at(60), at(99)])),
        ("half a file", whole[..at(50)].to_vec()),
        ("an end cut off", whole[..whole.len() - 7].to_vec()),
        ("something else", b"text".to_vec()),
        ("nothing", Vec::new()),
    ] {
        fs::write(cohort.path(KEPT), bytes).unwrap();
        cohort.same_as_fresh(what);
    }
    assert_eq!(
        fs::read(cohort.path(KEPT)).unwrap(),
        whole,
        "the same hand-ins give the same file"
    );
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
    assert!(cohort.kept().iter().all(|name| !kept.contains(name)));
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
