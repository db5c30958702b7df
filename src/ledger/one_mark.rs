//! One mark out of what several people entered for the same thing: who stands above whom, and when nobody's stands yet.

use super::decisions::differing;
use super::entry::Subject;
use super::state::{Held, PairState, Slot};
use crate::cohort::marking_settings::{Agreed, ModerationSettings};

/// What the marks of one thing come to.
#[derive(Debug, Clone, PartialEq)]
pub enum OneMark {
    /// Nobody has entered one.
    Missing,
    /// Somebody has to decide first.
    Waiting(Open),
    /// This one stands.
    Settled(SettledMark),
}

/// Why no mark stands yet.
#[derive(Debug, Clone, PartialEq)]
pub enum Open {
    /// Files disagree about what one person entered: the values.
    Files(Vec<String>),
    /// Two marks are further apart than the tolerance, and every pair is marked twice.
    Adjudication {
        /// The first marker's.
        first: f64,
        /// The second marker's.
        second: f64,
    },
    /// Every pair is marked twice, and only one has been entered so far; whose is missing.
    OnlyOne {
        /// Whose is missing.
        missing: Slot,
    },
}

/// A mark that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct SettledMark {
    /// The mark, before any shift of its marker.
    pub value: f64,
    /// How it came to stand.
    pub by: StandsBy,
    /// Who entered it; for a mean, both.
    pub who: String,
}

/// How a mark came to stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StandsBy {
    /// The instructor or moderator decided.
    Decision,
    /// It is the first marker's: the only one, within tolerance, or in a sample.
    FirstMarker,
    /// It is the mean of two within tolerance.
    Mean,
}

/// The mark that stands for a subject out of those in force. `out_of` gives the tolerance its size.
pub fn one_mark(
    state: Option<&PairState>,
    subject: &Subject,
    student: &str,
    out_of: f64,
    rules: &ModerationSettings,
) -> OneMark {
    let Some(state) = state else {
        return OneMark::Missing;
    };
    let in_slot = |slot| state.in_slot(subject, student, slot);
    if let Some(decided) = in_slot(Slot::Deciding) {
        return alone(decided, StandsBy::Decision);
    }
    let (first, second) = (in_slot(Slot::First), in_slot(Slot::Second));
    if let Some(open) = [first, second]
        .into_iter()
        .flatten()
        .find(|held| !held.conflicts.is_empty())
    {
        return OneMark::Waiting(Open::Files(values(open)));
    }
    match (first, second) {
        (None, None) => OneMark::Missing,
        (None, Some(_)) => OneMark::Waiting(Open::OnlyOne {
            missing: Slot::First,
        }),
        (Some(_), None) if rules.all_marked_twice => OneMark::Waiting(Open::OnlyOne {
            missing: Slot::Second,
        }),
        (Some(first), None) => alone(first, StandsBy::FirstMarker),
        (Some(first), Some(second)) => of_two(first, second, out_of, rules),
    }
}

fn of_two(first: &Held, second: &Held, out_of: f64, rules: &ModerationSettings) -> OneMark {
    let (Some(a), Some(b)) = (number(first), number(second)) else {
        return alone(first, StandsBy::FirstMarker);
    };
    // A difference of exactly the tolerance is within it: sums of halves and thirds are not exact.
    let within = (a - b).abs() <= out_of * rules.tolerance_percent() / 100.0 + 1e-9;
    if within && rules.agreed == Agreed::Mean {
        return OneMark::Settled(SettledMark {
            value: f64::midpoint(a, b),
            by: StandsBy::Mean,
            who: format!("{} and {}", first.who, second.who),
        });
    }
    if !within && rules.all_marked_twice {
        return OneMark::Waiting(Open::Adjudication {
            first: a,
            second: b,
        });
    }
    alone(first, StandsBy::FirstMarker)
}

fn alone(held: &Held, by: StandsBy) -> OneMark {
    if !held.conflicts.is_empty() {
        return OneMark::Waiting(Open::Files(values(held)));
    }
    match number(held) {
        Some(value) => OneMark::Settled(SettledMark {
            value,
            by,
            who: held.who.clone(),
        }),
        // Only numbers come onto the ledger as marks; a line by another hand is no mark.
        None => OneMark::Missing,
    }
}

fn number(held: &Held) -> Option<f64> {
    held.value
        .parse()
        .ok()
        .filter(|value: &f64| value.is_finite())
}

/// The value held and those that disagree with it.
fn values(held: &Held) -> Vec<String> {
    let others = held
        .conflicts
        .iter()
        .map(|conflict| conflict.value.as_str());
    std::iter::once(held.value.as_str())
        .chain(others)
        .map(|value| if value.is_empty() { "none" } else { value })
        .map(str::to_owned)
        .collect()
}

/// What the cells of the instructor's or moderator's workbook show for a subject: what stands, or nothing where that is still open between
/// people or files, so that whatever is entered then is a decision. `out_of` is the marks of the criterion, for marks.
pub fn shown_value(
    state: &PairState,
    subject: &Subject,
    student: &str,
    out_of: f64,
    rules: &ModerationSettings,
) -> Option<Held> {
    // Two markers' decisions that differ leave the cell to whoever decides between them.
    if matches!(subject, Subject::Decision(_)) && differing(state, subject).is_some() {
        return None;
    }
    let standing = state.standing(subject, student);
    if !matches!(subject, Subject::Mark(_)) {
        return standing.filter(|held| held.conflicts.is_empty()).cloned();
    }
    match one_mark(Some(state), subject, student, out_of, rules) {
        OneMark::Settled(mark) => standing.map(|held| Held {
            value: crate::number::plain(mark.value),
            who: mark.who,
            ..held.clone()
        }),
        OneMark::Missing | OneMark::Waiting(_) => None,
    }
}

impl OneMark {
    /// The mark, where one stands.
    pub fn settled(&self) -> Option<f64> {
        match self {
            Self::Settled(mark) => Some(mark.value),
            Self::Missing | Self::Waiting(_) => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ledger::{Entry, Role, State};

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

    fn of(entries: &[Entry], rules: &ModerationSettings) -> OneMark {
        let state = State::from_entries(entries);
        let subject = Subject::Mark("testing".into());
        one_mark(state.pair("P07"), &subject, "", 10.0, rules)
    }

    fn marks(first: &str, second: &str) -> Vec<Entry> {
        vec![
            entry(Role::Marker, "mark testing", first),
            entry(Role::SecondMarker, "mark testing", second),
        ]
    }

    #[test]
    fn within_tolerance_the_course_says_which() {
        let mut rules = ModerationSettings {
            tolerance: Some(10.0),
            ..ModerationSettings::default()
        };
        assert_eq!(of(&marks("6", "7"), &rules).settled(), Some(6.0));
        rules.agreed = Agreed::Mean;
        assert_eq!(of(&marks("6", "7"), &rules).settled(), Some(6.5));
        // Beyond it, in a sample: the first mark stands.
        assert_eq!(of(&marks("6", "7.5"), &rules).settled(), Some(6.0));
        rules.all_marked_twice = true;
        assert_eq!(
            of(&marks("6", "7.5"), &rules),
            OneMark::Waiting(Open::Adjudication {
                first: 6.0,
                second: 7.5
            })
        );
        let mut decided = marks("6", "7.5");
        decided.push(entry(Role::Moderator, "mark testing", "7"));
        assert_eq!(of(&decided, &rules).settled(), Some(7.0));
    }

    #[test]
    fn where_all_are_marked_twice_one_mark_is_not_enough() {
        let one = [entry(Role::Marker, "mark testing", "6")];
        let mut rules = ModerationSettings::default();
        assert_eq!(of(&one, &rules).settled(), Some(6.0));
        rules.all_marked_twice = true;
        assert_eq!(
            of(&one, &rules),
            OneMark::Waiting(Open::OnlyOne {
                missing: Slot::Second
            })
        );
        assert_eq!(of(&[], &rules), OneMark::Missing);
    }

    #[test]
    fn files_that_disagree_wait_for_a_decision() {
        let rules = ModerationSettings::default();
        let mut entries = vec![
            entry(Role::Marker, "mark testing", "6"),
            entry(Role::Marker, "conflict mark testing", "9"),
        ];
        assert_eq!(
            of(&entries, &rules),
            OneMark::Waiting(Open::Files(vec!["6".into(), "9".into()]))
        );
        entries.push(entry(Role::Instructor, "mark testing", "6"));
        assert_eq!(of(&entries, &rules).settled(), Some(6.0));
    }
}
