//! Several workbooks of one marker side by side: nothing in them is lost, but entries made in two of them from now on would contradict each other.

use std::path::Path;

use super::take_back::TakenFile;
use crate::wording::listed;

/// Lists name so many files and count the rest.
const NAMED: usize = 6;

/// Of each marker more than one of whose workbooks gave something new: in which to go on.
pub fn competing(taken: &[TakenFile]) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    let mut markers: Vec<&str> = Vec::new();
    let gave = |file: &&TakenFile| file.entries > 0 && !file.marker.is_empty();
    for file in taken.iter().filter(gave) {
        let marker = file.marker.as_str();
        if markers.contains(&marker) {
            continue;
        }
        markers.push(marker);
        let own: Vec<&TakenFile> = taken
            .iter()
            .filter(gave)
            .filter(|other| other.marker == marker)
            .collect();
        if own.len() < 2 {
            continue;
        }
        let latest = own.iter().map(|file| file.ledger_lines).max();
        let newest: Vec<&TakenFile> = own
            .iter()
            .copied()
            .filter(|file| Some(file.ledger_lines) == latest)
            .collect();
        let go_on = match newest.as_slice() {
            [one] => format!(
                "Go on in {}, which was written last, and move the other away",
                one.name
            ),
            copies if copies.len() == own.len() => String::from(
                "They are copies of one workbook: go on in one, and move the other away",
            ),
            copies => format!(
                "{} were written last and are copies of one workbook: go on in one of them, and move the other away",
                named(copies)
            ),
        };
        let (all, go_on) = if own.len() > 2 {
            ("all", go_on.replace("the other ", "the others "))
        } else {
            ("both", go_on)
        };
        said.push(format!(
            "{} are {all} {marker}'s, and each held something new, which was taken. {go_on}; what they say differently is listed until somebody decides",
            named(&own)
        ));
    }
    said
}

/// Workbooks of markers that lie beside the ones just written for them, with what to do; none where there are none. `written` are the new
/// ones, and the files taken back are named as the ledger names them, from the cohort's folder.
pub fn left_beside(
    dir: &Path,
    taken: &[TakenFile],
    written: &[(String, String)],
) -> Option<String> {
    let is_new = |file: &TakenFile| {
        let whole = |name: &str| dir.join(name).canonicalize().ok();
        // Where capitals don't matter in names, a file may be listed under others than it was written.
        let same = |new: &String| whole(new).is_some_and(|new| Some(new) == whole(&file.name));
        written
            .iter()
            .any(|(_, new)| *new == file.name || same(new))
    };
    let of = |marker: &str| written.iter().find(|(known, _)| known == marker);
    let beside: Vec<&TakenFile> = taken
        .iter()
        .filter(|file| of(&file.marker).is_some() && !is_new(file))
        .collect();
    let (_, new) = of(&beside.first()?.marker)?;
    Some(match beside.as_slice() {
        [only] => format!(
            "{} is {}'s too, and older. All that was entered in it is on the ledger and in {new}. Move it away or delete it, and give {} the new one: entries made in both would contradict each other",
            only.name, only.marker, only.marker
        ),
        several => format!(
            "{} are markers' older workbooks. All that was entered in them is on the ledger and in the new ones. Move them away or delete them, and give their markers the new ones: entries made in both would contradict each other",
            named(several)
        ),
    })
}

fn named(files: &[&TakenFile]) -> String {
    let mut names: Vec<String> = files
        .iter()
        .take(NAMED)
        .map(|file| file.name.clone())
        .collect();
    if files.len() > NAMED {
        names.push(format!("{} more", files.len() - NAMED));
    }
    listed(&names)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(name: &str, marker: &str, entries: usize, ledger_lines: usize) -> TakenFile {
        TakenFile {
            name: name.into(),
            marker: marker.into(),
            ledger_lines,
            entries,
            conflicts: 0,
            refused: 0,
        }
    }

    #[test]
    fn the_workbook_written_last_is_the_one_to_go_on_in() {
        let files = [
            taken("marking/Ann old.xlsx", "Ann", 2, 10),
            taken("marking/Ann.xlsx", "Ann", 1, 30),
            taken("marking/Ben.xlsx", "Ben", 4, 30),
            taken("out/moderation.xlsx", "", 4, 30),
            taken("out/moderation 2.xlsx", "", 4, 30),
        ];
        let said = competing(&files);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(
            said[0].contains(
                "Go on in marking/Ann.xlsx, which was written last, and move the other away"
            ),
            "{said:?}"
        );
    }

    #[test]
    fn one_that_gave_nothing_competes_with_none() {
        let files = [
            taken("marking/Ann old.xlsx", "Ann", 0, 10),
            taken("marking/Ann.xlsx", "Ann", 1, 30),
        ];
        assert!(competing(&files).is_empty());
    }

    #[test]
    fn copies_of_one_are_told_as_copies() {
        let files = ["1", "2", "3"].map(|n| taken(&format!("marking/Ann {n}.xlsx"), "Ann", 1, 10));
        let said = competing(&files);
        assert!(
            said[0].contains("copies of one workbook: go on in one, and move the others away"),
            "{said:?}"
        );
    }

    #[test]
    fn two_copies_beside_an_older_one_are_told_apart_from_it() {
        let files = [
            taken("marking/Ann old.xlsx", "Ann", 1, 10),
            taken("marking/Ann 1.xlsx", "Ann", 1, 30),
            taken("marking/Ann 2.xlsx", "Ann", 1, 30),
        ];
        let said = competing(&files);
        assert!(
            said[0].contains(
                "marking/Ann 1.xlsx and marking/Ann 2.xlsx were written last and are copies of one workbook: go on in one of them, and move the others away"
            ),
            "{said:?}"
        );
    }

    #[test]
    fn older_workbooks_beside_new_ones_are_named() {
        let written = [
            (String::from("Ann"), String::from("marking/Ann.xlsx")),
            (String::from("Ben"), String::from("marking/Ben.xlsx")),
        ];
        let none = Path::new("no such folder");
        let new = taken("marking/Ann.xlsx", "Ann", 1, 10);
        let gone = taken("marking/Dan.xlsx", "Dan", 1, 10);
        assert_eq!(left_beside(none, &[new, gone], &written), None);
        let old = || taken("marking/Ann marked.xlsx", "Ann", 1, 10);
        let said = left_beside(none, &[old()], &written).unwrap_or_default();
        assert!(
            said.starts_with("marking/Ann marked.xlsx is Ann's too, and older")
                && said.contains("on the ledger and in marking/Ann.xlsx"),
            "{said}"
        );
        let other = taken("marking/ben.ods", "Ben", 0, 10);
        let said = left_beside(none, &[old(), other], &written).unwrap_or_default();
        assert!(
            said.starts_with("marking/Ann marked.xlsx and marking/ben.ods are markers' older"),
            "{said}"
        );
    }
}
