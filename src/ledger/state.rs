//! What is in force now, computed from the ledger's lines alone.
//!
//! Values are held by *slot*: the first marker's, the second marker's, and what the instructor or moderator decides. Two files that disagree put a
//! conflict beside the value; it stays open until somebody decides.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::entry::{Entry, Role, Subject};

/// Whose value it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Slot {
    /// The first marker's.
    First,
    /// The second marker's.
    Second,
    /// The instructor's or moderator's: it stands above both.
    Deciding,
}

impl Slot {
    /// The slot into which a role enters its values.
    pub fn of(role: Role) -> Self {
        match role {
            Role::Marker => Self::First,
            Role::SecondMarker => Self::Second,
            Role::Instructor | Role::Moderator | Role::Program => Self::Deciding,
        }
    }
}

/// What a value is of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Key {
    /// What was decided.
    pub subject: Subject,
    /// For which student; empty for both.
    pub student: Arc<str>,
    /// By whom.
    pub slot: Slot,
}

/// A value in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// The value.
    pub value: String,
    /// Who entered it.
    pub who: String,
    /// In which role.
    pub role: Role,
    /// The reason given.
    pub why: String,
    /// Its line on the ledger, counted from 0 without the header.
    pub line: usize,
    /// Other values of the same thing from other files, not yet decided between.
    pub conflicts: Vec<Conflict>,
}

/// A value that disagrees with the one held.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Conflict {
    /// The other value.
    pub value: String,
    /// Who entered it.
    pub who: String,
    /// From which file and cell.
    pub place: String,
}

/// Everything in force for one pair.
#[derive(Debug, Clone, Default)]
pub struct PairState {
    held: BTreeMap<Key, Held>,
    /// The ledger's lines about this pair, counted from 0 without the header.
    pub lines: Vec<usize>,
}

/// Everything in force.
#[derive(Debug, Clone, Default)]
pub struct State {
    pairs: BTreeMap<Arc<str>, PairState>,
    /// What is in force for the whole cohort: decisions for all findings of a check or slip, the sample, proposals.
    pub cohort: PairState,
}

impl State {
    /// Folds the ledger's lines, oldest first.
    pub fn from_entries(entries: &[Entry]) -> Self {
        let mut state = Self::default();
        for (line, entry) in entries.iter().enumerate() {
            let of = if entry.pair.is_empty() {
                &mut state.cohort
            } else {
                state.pairs.entry(entry.pair.as_str().into()).or_default()
            };
            of.take(line, entry);
        }
        state
    }

    /// What is in force for a pair; none where nothing was ever entered.
    pub fn pair(&self, pair: &str) -> Option<&PairState> {
        self.pairs.get(pair)
    }

    /// The pairs about which the ledger says anything.
    pub fn pairs(&self) -> impl Iterator<Item = (&Arc<str>, &PairState)> {
        self.pairs.iter()
    }
}

impl PairState {
    fn take(&mut self, line: usize, entry: &Entry) {
        self.lines.push(line);
        // A role that a later version writes is kept on the ledger and changes nothing here.
        let Some(role) = Role::from_name(&entry.role) else {
            return;
        };
        let subject = Subject::from(entry.what.as_str());
        let (subject, conflicting) = match subject {
            Subject::Conflict(of) => (*of, true),
            subject => (subject, false),
        };
        let key = Key {
            subject,
            student: entry.student.as_str().into(),
            slot: Slot::of(role),
        };
        if conflicting && let Some(held) = self.held.get_mut(&key) {
            held.conflicts.push(Conflict {
                value: entry.new.clone(),
                who: entry.who.clone(),
                place: format!("{} {}", entry.file, entry.cell).trim().to_owned(),
            });
            return;
        }
        // Whatever the instructor or moderator decides settles what was open between files below it.
        if key.slot == Slot::Deciding {
            for slot in [Slot::First, Slot::Second] {
                let below = Key {
                    slot,
                    ..key.clone()
                };
                if let Some(held) = self.held.get_mut(&below) {
                    held.conflicts.clear();
                }
            }
        }
        if entry.new.is_empty() {
            self.held.remove(&key);
        } else {
            self.held.insert(
                key,
                Held {
                    value: entry.new.clone(),
                    who: entry.who.clone(),
                    role,
                    why: entry.why.clone(),
                    line,
                    conflicts: Vec::new(),
                },
            );
        }
    }

    /// The value in a slot.
    pub fn in_slot(&self, subject: &Subject, student: &str, slot: Slot) -> Option<&Held> {
        self.held.get(&Key {
            subject: subject.clone(),
            student: student.into(),
            slot,
        })
    }

    /// The value that stands: the instructor's or moderator's, else the first marker's, else the second's.
    pub fn standing(&self, subject: &Subject, student: &str) -> Option<&Held> {
        [Slot::Deciding, Slot::First, Slot::Second]
            .into_iter()
            .find_map(|slot| self.in_slot(subject, student, slot))
    }

    /// Everything in force, in order of subject, student and slot.
    pub fn all(&self) -> impl Iterator<Item = (&Key, &Held)> {
        self.held.iter()
    }

    /// What different files disagree about and nobody has decided yet.
    pub fn open_conflicts(&self) -> impl Iterator<Item = (&Key, &Held)> {
        self.held
            .iter()
            .filter(|(_, held)| !held.conflicts.is_empty())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(role: Role, what: &str, new: &str) -> Entry {
        Entry {
            who: role.name().into(),
            role: role.name().into(),
            pair: "P07".into(),
            what: what.into(),
            new: new.into(),
            ..Entry::default()
        }
    }

    fn standing(entries: &[Entry]) -> Option<String> {
        let state = State::from_entries(entries);
        let mark = Subject::Mark("testing".into());
        let held = state.pair("P07")?.standing(&mark, "")?;
        Some(held.value.clone())
    }

    #[test]
    fn the_deciding_value_stands_above_the_markers() {
        let marks = [
            entry(Role::Marker, "mark testing", "6"),
            entry(Role::SecondMarker, "mark testing", "8"),
        ];
        assert_eq!(standing(&marks).as_deref(), Some("6"));
        let decided = [&marks[..], &[entry(Role::Moderator, "mark testing", "7")]].concat();
        assert_eq!(standing(&decided).as_deref(), Some("7"));
        let withdrawn = [&decided[..], &[entry(Role::Moderator, "mark testing", "")]].concat();
        assert_eq!(standing(&withdrawn).as_deref(), Some("6"));
    }

    #[test]
    fn a_conflict_stays_open_until_somebody_decides() {
        let open = [
            entry(Role::Marker, "mark testing", "6"),
            entry(Role::Marker, "conflict mark testing", "9"),
        ];
        let state = State::from_entries(&open);
        let pair = state.pair("P07").unwrap();
        assert_eq!(pair.open_conflicts().count(), 1);
        assert_eq!(standing(&open).as_deref(), Some("6"));
        let decided = [&open[..], &[entry(Role::Moderator, "mark testing", "9")]].concat();
        let state = State::from_entries(&decided);
        assert_eq!(state.pair("P07").unwrap().open_conflicts().count(), 0);
        assert_eq!(standing(&decided).as_deref(), Some("9"));
    }
}
