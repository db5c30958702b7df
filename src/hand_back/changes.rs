//! What changed since marks were handed back the last time, and why, from the ledger.

use std::collections::BTreeMap;

use super::marks_file::Returned;
use crate::ledger::{Entry, Role, Subject};
use crate::marking::settle::{CriterionMark, TOTAL};
use crate::number::plain;

/// What was handed back to one student, as the ledger keeps it: `total 31.5; testing 7.5; programme 6`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HandedBack(BTreeMap<String, String>);

/// One difference to what was handed back before.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// The pair.
    pub pair: String,
    /// The student; empty without a roster.
    pub student: String,
    /// The criterion, or `total`.
    pub criterion: String,
    /// What was handed back; empty where nothing was.
    pub before: String,
    /// What is handed back now.
    pub now: String,
    /// Why, from the ledger: who decided what, when.
    pub why: String,
}

impl HandedBack {
    /// What is handed back now.
    pub fn of(one: &Returned<'_>) -> Self {
        let id = one.student.map_or("", |student| &*student.id);
        let mut marks = BTreeMap::new();
        for criterion in &one.pair.criteria {
            if let Some(mark) = criterion.of_student(id).and_then(CriterionMark::mark) {
                marks.insert(criterion.id.clone(), plain(mark));
            }
        }
        marks.insert(TOTAL.to_owned(), plain(one.mark.result));
        Self(marks)
    }

    /// As one text: the total first.
    pub fn text(&self) -> String {
        let total = self.0.get(TOTAL).map(|mark| (TOTAL, mark));
        let rest = self
            .0
            .iter()
            .filter(|(key, _)| *key != TOTAL)
            .map(|(key, mark)| (key.as_str(), mark));
        total
            .into_iter()
            .chain(rest)
            .map(|(key, mark)| format!("{key} {mark}"))
            .collect::<Vec<_>>()
            .join("; ")
    }

    /// A text that [`HandedBack::text`] made.
    pub fn from_text(text: &str) -> Self {
        let marks = text.split("; ").filter_map(|part| {
            let (key, mark) = part.rsplit_once(' ')?;
            Some((key.to_owned(), mark.to_owned()))
        });
        Self(marks.collect())
    }

    fn differences(&self, before: &Self) -> Vec<(String, String, String)> {
        let keys: std::collections::BTreeSet<&String> =
            self.0.keys().chain(before.0.keys()).collect();
        let of = |marks: &BTreeMap<String, String>, key: &String| {
            marks.get(key).cloned().unwrap_or_default()
        };
        keys.into_iter()
            .map(|key| (key.clone(), of(&before.0, key), of(&self.0, key)))
            .filter(|(_, before, now)| before != now)
            .collect()
    }
}

/// The lines that handing back adds to the ledger, and what changed for those who had something handed back before. Who gets the same as
/// the last time gets no further line.
pub fn since_last(all: &[Returned<'_>], entries: &[Entry], who: &str) -> (Vec<Entry>, Vec<Change>) {
    let what = Subject::HandedBack.to_string();
    let mut lines = Vec::new();
    let mut changes = Vec::new();
    // Only taking back reads the clock: handing back is dated by the last thing that is known.
    let time = entries
        .last()
        .map(|entry| entry.time.clone())
        .unwrap_or_default();
    let mut last: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    for (index, entry) in entries.iter().enumerate() {
        if entry.what == what {
            last.insert((&entry.pair, &entry.student), index);
        }
    }
    for one in all {
        let pair: &str = &one.pair.pair;
        let student = one.student.map_or("", |student| &*student.id);
        let now = HandedBack::of(one);
        let text = now.text();
        let before = last.get(&(pair, student)).and_then(|index| {
            let entry = entries.get(*index)?;
            Some((*index, entry))
        });
        if before.is_some_and(|(_, entry)| entry.new == text) {
            continue;
        }
        if let Some((index, entry)) = before {
            for (criterion, before, now) in now.differences(&HandedBack::from_text(&entry.new)) {
                changes.push(Change {
                    pair: pair.to_owned(),
                    student: student.to_owned(),
                    why: why(
                        &criterion,
                        pair,
                        student,
                        entries.get(index + 1..).unwrap_or_default(),
                    ),
                    criterion,
                    before,
                    now,
                });
            }
        }
        lines.push(Entry {
            time: time.clone(),
            who: who.to_owned(),
            role: Role::Program.name().into(),
            pair: pair.to_owned(),
            student: student.to_owned(),
            what: what.clone(),
            old: before
                .map(|(_, entry)| entry.new.clone())
                .unwrap_or_default(),
            new: text,
            ..Entry::default()
        });
    }
    (lines, changes)
}

/// The decisions since then that bear on a criterion, or on the total.
fn why(criterion: &str, pair: &str, student: &str, since: &[Entry]) -> String {
    let bears = |entry: &&Entry| {
        let of_student = entry.student.is_empty() || entry.student == student;
        match Subject::from(entry.what.as_str()) {
            Subject::Mark(of) => {
                entry.pair == pair && of_student && (of == criterion || criterion == TOTAL)
            }
            Subject::Shift(_, of) => of == criterion || criterion == TOTAL,
            _ => false,
        }
    };
    let reasons: Vec<String> = since
        .iter()
        .filter(bears)
        .map(|entry| {
            let mut text = format!(
                "{} {}: {} became {} ({}, {})",
                entry.time.get(..10).unwrap_or(&entry.time),
                entry.what,
                shown(&entry.old),
                shown(&entry.new),
                entry.who,
                entry.role
            );
            if !entry.why.is_empty() {
                text.push_str(": ");
                text.push_str(&entry.why);
            }
            text
        })
        .collect();
    if reasons.is_empty() {
        String::from(
            "no decision on the ledger: the roster (adjustment, dates), the rubric or the settings changed",
        )
    } else {
        reasons.join("; ")
    }
}

fn shown(value: &str) -> &str {
    if value.is_empty() { "nothing" } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hand_back::final_mark::Finishing;
    use crate::marking::settle::{SettledCriterion, SettledPair};

    fn pair(mark: f64) -> SettledPair {
        SettledPair {
            pair: "P1".into(),
            criteria: vec![SettledCriterion {
                id: "testing".into(),
                out_of: 10.0,
                marks: vec![CriterionMark {
                    student: None,
                    raw: Some(mark),
                    shift: 0.0,
                }],
            }],
            total_shift: 0.0,
            lacks: Vec::new(),
        }
    }

    fn returned(pair: &SettledPair) -> Returned<'_> {
        let finishing = Finishing {
            out_of: 10.0,
            late: None,
            round: None,
        };
        Returned {
            student: None,
            pair,
            mark: finishing.final_mark(pair, None).unwrap(),
        }
    }

    #[test]
    fn a_second_hand_back_says_what_changed_and_who_changed_it() {
        let first = pair(6.0);
        let (mut ledger, changes) = since_last(&[returned(&first)], &[], "Noor");
        assert!(changes.is_empty());
        assert_eq!(ledger[0].new, "total 6; testing 6");
        let (again, changes) = since_last(&[returned(&first)], &ledger, "Noor");
        assert!(again.is_empty() && changes.is_empty());
        ledger.push(Entry {
            time: "2026-05-02T10:00:00Z".into(),
            who: "Ines".into(),
            role: "moderator".into(),
            pair: "P1".into(),
            what: "mark testing".into(),
            old: "6".into(),
            new: "7".into(),
            ..Entry::default()
        });
        let second = pair(7.0);
        let (lines, changes) = since_last(&[returned(&second)], &ledger, "Noor");
        assert_eq!(lines.len(), 1);
        assert_eq!(changes.len(), 2);
        assert!(
            changes
                .iter()
                .all(|change| change.why.contains("Ines, moderator"))
        );
        assert_eq!(lines[0].time, "2026-05-02T10:00:00Z");
    }

    #[test]
    fn what_was_handed_back_reads_back() {
        let text = "total 31.5; programme 6; testing 7.5";
        assert_eq!(HandedBack::from_text(text).text(), text);
    }
}
