//! Which files make one hand-in.
//!
//! A workbook is one by itself. Text files belong together by their folder; loose ones at the top by what their names begin with
//! (`P07_trials.csv` and `P07_claims.csv`).

use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::Arc;

use super::listing::FoundFile;
use super::names::{self, TableName};
use super::{HandIn, HandInFile, PassedOver, Why};
use crate::natural_order;

/// Sorts files into hand-ins, both in natural order.
pub(super) fn hand_ins(files: Vec<FoundFile>, passed_over: &mut Vec<PassedOver>) -> Vec<HandIn> {
    let mut hand_ins = Vec::new();
    let mut texts: BTreeMap<String, Vec<FoundFile>> = BTreeMap::new();
    let mut with_workbook: Vec<String> = Vec::new();
    for file in files {
        let folder = names::folder(&file.name).to_owned();
        if file.is_text {
            texts.entry(folder).or_default().push(file);
        } else {
            with_workbook.push(folder);
            hand_ins.push(HandIn {
                name: file.name.clone(),
                files: vec![hand_in_file(file)],
            });
        }
    }
    with_workbook.sort_unstable();
    for (folder, files) in texts {
        if folder.is_empty() {
            hand_ins.extend(loose(files));
            continue;
        }
        let beside = with_workbook.binary_search(&folder).is_ok();
        let named = |file: &FoundFile| names::table_name(names::stem(&file.name)).is_some();
        if beside && !files.iter().any(named) {
            passed_over.extend(files.into_iter().map(|file| PassedOver {
                name: file.name,
                why: Why::BesideWorkbook,
            }));
        } else if holds_several_pairs(&files) {
            hand_ins.extend(loose(files));
        } else {
            hand_ins.push(hand_in(Arc::from(folder), files));
        }
    }
    hand_ins.sort_by(|a, b| in_order(&a.name, &b.name));
    hand_ins
}

/// Natural order, folder by folder.
fn in_order(a: &str, b: &str) -> Ordering {
    let mut left = a.split('/');
    let mut right = b.split('/');
    loop {
        match (left.next(), right.next()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(l), Some(r)) => match natural_order::compare(l, r) {
                Ordering::Equal => {}
                different => return different,
            },
        }
    }
}

fn hand_in_file(file: FoundFile) -> HandInFile {
    HandInFile {
        name: file.name,
        place: file.at,
    }
}

fn hand_in(name: Arc<str>, mut files: Vec<FoundFile>) -> HandIn {
    files.sort_by(|a, b| in_order(&a.name, &b.name));
    HandIn {
        name,
        files: files.into_iter().map(hand_in_file).collect(),
    }
}

/// Text files of one folder, grouped by what their names say beside the table.
fn loose(files: Vec<FoundFile>) -> Vec<HandIn> {
    let mut groups: BTreeMap<String, (Option<String>, Vec<FoundFile>)> = BTreeMap::new();
    for file in files {
        let stem = names::stem(&file.name);
        // A file that names no table is a hand-in by itself.
        let (key, shown) = match names::table_name(stem) {
            Some(name) => {
                let of = whose(&name);
                (of.to_lowercase(), (!of.is_empty()).then(|| of.to_owned()))
            }
            None => (format!("\0{}", file.name), None),
        };
        let group = groups.entry(key).or_insert_with(|| (shown, Vec::new()));
        group.1.push(file);
    }
    groups
        .into_values()
        .map(|(shown, files)| {
            let first = files.first().map(|file| file.name.clone());
            let first = first.unwrap_or_else(|| Arc::from(""));
            let name = match (shown, names::folder(&first)) {
                (Some(shown), "") => Arc::from(shown),
                (Some(shown), folder) => Arc::from(format!("{folder}/{shown}")),
                (None, _) => first,
            };
            hand_in(name, files)
        })
        .collect()
}

/// Whose table it is, by the file's name: what stands before the table's name; else what stands after it, where that has a number. `tests` and
/// `practice` after it are parts of one table.
fn whose(name: &TableName) -> &str {
    if !name.before.is_empty() {
        &name.before
    } else if is_of_a_pair(&name.after) {
        &name.after
    } else {
        ""
    }
}

/// A folder of text files holds several pairs only where every name says so: each begins with something that has a number, and there is more
/// than one such beginning.
fn holds_several_pairs(files: &[FoundFile]) -> bool {
    let mut pairs: Vec<String> = Vec::new();
    for file in files {
        let name = names::table_name(names::stem(&file.name));
        match name.map(|name| name.before) {
            Some(before) if is_of_a_pair(&before) => pairs.push(before.to_lowercase()),
            _ => return false,
        }
    }
    pairs.sort_unstable();
    pairs.dedup();
    pairs.len() > 1
}

/// Has a number, and is not a part of a programme with its number (`week 2`).
fn is_of_a_pair(text: &str) -> bool {
    const PARTS: [&str; 9] = [
        "week", "day", "block", "test", "part", "phase", "lesson", "training", "practice",
    ];
    let letters: String = text
        .chars()
        .filter(|c| c.is_alphabetic())
        .flat_map(char::to_lowercase)
        .collect();
    text.contains(|c: char| c.is_ascii_digit()) && !PARTS.contains(&&*letters)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::open::OpenError;
    use crate::logbook::submissions::At;

    fn grouped(names: &[&str]) -> (Vec<(String, Vec<String>)>, Vec<String>) {
        let files = names.iter().map(|name| FoundFile {
            name: Arc::from(*name),
            is_text: [".csv", ".txt"].iter().any(|ending| name.ends_with(ending)),
            at: At::Refused(OpenError::Empty),
        });
        let mut passed_over = Vec::new();
        let hand_ins = hand_ins(files.collect(), &mut passed_over);
        let hand_ins = hand_ins.iter().map(|hand_in| {
            let files = hand_in.files.iter().map(|file| file.name.to_string());
            (hand_in.name.to_string(), files.collect())
        });
        let over = passed_over.iter().map(|file| file.name.to_string());
        (hand_ins.collect(), over.collect())
    }

    fn group(name: &str, files: &[&str]) -> (String, Vec<String>) {
        (
            name.to_owned(),
            files.iter().map(|file| (*file).to_owned()).collect(),
        )
    }

    #[test]
    fn workbooks_are_hand_ins_in_natural_order() {
        let (hand_ins, _) = grouped(&["P10.xlsx", "P2.xlsx", "P2/log v2.ods"]);
        assert_eq!(
            hand_ins,
            [
                group("P2/log v2.ods", &["P2/log v2.ods"]),
                group("P2.xlsx", &["P2.xlsx"]),
                group("P10.xlsx", &["P10.xlsx"]),
            ]
        );
    }

    #[test]
    fn loose_text_files_belong_together_by_what_they_begin_with() {
        let (hand_ins, _) = grouped(&[
            "P07_trials.csv",
            "p07_claims.csv",
            "P08-trials-tests.csv",
            "P08-trials-practice.csv",
            "trials_P09.csv",
            "P11.csv",
        ]);
        assert_eq!(
            hand_ins,
            [
                group("P07", &["p07_claims.csv", "P07_trials.csv"]),
                group("P08", &["P08-trials-practice.csv", "P08-trials-tests.csv"]),
                group("P09", &["trials_P09.csv"]),
                group("P11.csv", &["P11.csv"]),
            ]
        );
    }

    #[test]
    fn a_folder_of_text_files_is_one_hand_in() {
        let names = [
            "P07/trials-practice.csv",
            "P07/tests-trials.csv",
            "P07/about.csv",
        ];
        let (hand_ins, _) = grouped(&names);
        assert_eq!(
            hand_ins,
            [group(
                "P07",
                &[
                    "P07/about.csv",
                    "P07/tests-trials.csv",
                    "P07/trials-practice.csv"
                ]
            )]
        );
        // Parts of a programme are no pairs; pairs in one folder are.
        assert_eq!(
            grouped(&["A/week 1-trials.csv", "A/week 2-trials.csv"])
                .0
                .len(),
            1
        );
        assert_eq!(
            grouped(&["A/P07-trials.csv", "A/P08-trials.csv"]).0.len(),
            2
        );
        assert_eq!(
            grouped(&["P07/P07-trials.csv", "P07/P07-claims.csv"])
                .0
                .len(),
            1
        );
    }

    #[test]
    fn notes_beside_a_workbook_are_named_and_passed_over() {
        let (hand_ins, over) = grouped(&["P07/log.xlsx", "P07/notes.txt"]);
        assert_eq!(hand_ins.len(), 1);
        assert_eq!(over, ["P07/notes.txt"]);
        // Tables beside a workbook are a hand-in: two for one pair is for a person to settle.
        assert_eq!(grouped(&["P07/log.xlsx", "P07/trials.csv"]).0.len(), 2);
    }
}
