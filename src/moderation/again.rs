//! Runs of a marker's marks that are to be marked again by an accepted proposal: which pairs are done, and which are waiting.

use super::gather::Gathered;
use crate::ledger::{Entry, PairState, Slot, State, Subject};
use crate::report::workbook::marker::MarkingAs;

/// What begins the id of a proposal to have a run marked again: followed by criterion and marker.
const MARK_AGAIN: &str = "mark-again ";
/// What begins the id under which a mark of such a run is said to stand as it is: followed by criterion and pair.
const STANDS: &str = "stands ";
/// The word that accepts.
const ACCEPT: &str = "accept";

/// A marker's criterion that is to be marked again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunAgain {
    /// The criterion's id.
    pub criterion: String,
    /// Whose marks.
    pub marker: String,
    /// When it was accepted.
    pub since: String,
    /// The pairs of the run.
    pub pairs: Vec<PairAgain>,
}

/// One pair of such a run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PairAgain {
    /// The pair.
    pub pair: String,
    /// The marker's mark when the proposal was accepted; of students, one after the other.
    pub before: String,
    /// What stands now.
    pub now: String,
    /// Who marked it again or let it stand; none as long as it is waiting.
    pub by: Option<String>,
    /// The id under which the mark is said to stand as it is.
    pub stands: String,
    /// It was said to.
    pub stands_as_it_is: bool,
}

impl RunAgain {
    /// The pairs that nobody has looked at again.
    pub fn waiting(&self) -> impl Iterator<Item = &PairAgain> {
        self.pairs.iter().filter(|pair| pair.by.is_none())
    }
}

/// The id of the proposal to have a marker's criterion marked again.
pub fn proposal_id(criterion: &str, marker: &str) -> String {
    format!("{MARK_AGAIN}{criterion}/{marker}")
}

/// Whether an id says of one pair of such a run that its mark stands.
pub fn is_about_one_pair(id: &str) -> bool {
    id.starts_with(STANDS)
}

/// The runs that are to be marked again.
pub fn runs_again(state: &State, entries: &[Entry], gathered: &Gathered) -> Vec<RunAgain> {
    let accepted = state.cohort.all().filter_map(|(key, held)| {
        let Subject::Proposal(id) = &key.subject else {
            return None;
        };
        let (criterion, marker) = id.strip_prefix(MARK_AGAIN)?.split_once('/')?;
        (held.value == ACCEPT).then_some((criterion, marker, held.line))
    });
    accepted
        .map(|(criterion, marker, line)| RunAgain {
            criterion: criterion.to_owned(),
            marker: marker.to_owned(),
            since: entries
                .get(line)
                .map(|entry| entry.time.clone())
                .unwrap_or_default(),
            pairs: gathered
                .pairs
                .iter()
                .filter(|pair| {
                    pair.markings.iter().any(|marking| {
                        marking.marking_as == MarkingAs::First
                            && marking.marker == marker
                            && marking.marks.contains_key(criterion)
                    })
                })
                .map(|pair| pair_again(state, entries, criterion, &pair.pair, line))
                .collect(),
        })
        .collect()
}

fn pair_again(
    state: &State,
    entries: &[Entry],
    criterion: &str,
    pair: &str,
    accepted: usize,
) -> PairAgain {
    let stands = format!("{STANDS}{criterion}/{pair}");
    let as_it_is = state
        .cohort
        .standing(&Subject::Proposal(stands.clone()), "")
        .filter(|held| held.value == ACCEPT && held.line > accepted);
    let about = |entry: &&Entry| {
        entry.pair == pair
            && match Subject::from(entry.what.as_str()) {
                Subject::Mark(of) | Subject::Judged(of, _) => of == criterion,
                _ => false,
            }
    };
    let since = entries.get(accepted + 1..).unwrap_or_default();
    let marked = since.iter().rfind(about).map(|entry| entry.who.clone());
    let mark = Subject::Mark(criterion.to_owned());
    let until = entries.get(..=accepted).unwrap_or(entries);
    let of_pair: Vec<Entry> = until.iter().filter(|e| e.pair == pair).cloned().collect();
    let then = State::from_entries(&of_pair);
    PairAgain {
        pair: pair.to_owned(),
        before: marks(then.pair(pair), &mark, Some(Slot::First)),
        now: marks(state.pair(pair), &mark, None),
        by: marked.or_else(|| as_it_is.map(|held| held.who.clone())),
        stands_as_it_is: as_it_is.is_some(),
        stands,
    }
}

/// The marks in a slot (or those that stand), of students one after the other.
fn marks(state: Option<&PairState>, mark: &Subject, slot: Option<Slot>) -> String {
    let Some(state) = state else {
        return String::new();
    };
    let mut students: Vec<&str> = state
        .all()
        .filter(|(key, _)| key.subject == *mark)
        .map(|(key, _)| &*key.student)
        .collect();
    students.sort_unstable();
    students.dedup();
    let held = students.into_iter().filter_map(|student| match slot {
        Some(slot) => state.in_slot(mark, student, slot),
        None => state.standing(mark, student),
    });
    held.map(|held| held.value.as_str())
        .collect::<Vec<_>>()
        .join("; ")
}

#[cfg(test)]
mod tests {
    use super::super::gather::{MarkedPair, Marking};
    use super::*;

    fn entry(role: &str, pair: &str, what: &str, new: &str) -> Entry {
        Entry {
            who: role.into(),
            role: role.into(),
            pair: pair.into(),
            what: what.into(),
            new: new.into(),
            ..Entry::default()
        }
    }

    #[test]
    fn a_pair_waits_until_it_is_marked_again_or_said_to_stand() {
        let pair = |id: &str, marker: &str| MarkedPair {
            pair: id.into(),
            markings: vec![Marking {
                marker: marker.into(),
                marking_as: MarkingAs::First,
                marks: [(String::from("testing"), 5.0)].into(),
                of_students: std::collections::BTreeMap::new(),
                judged: None,
                order: 0,
            }],
            ..MarkedPair::default()
        };
        let gathered = Gathered {
            pairs: vec![
                pair("P1", "Ann"),
                pair("P2", "Ann"),
                pair("P3", "Ben"),
                pair("P4", "Ann"),
            ],
            ..Gathered::default()
        };
        let mut ledger: Vec<Entry> = ["P1", "P2", "P3", "P4"]
            .map(|pair| entry("marker", pair, "mark testing", "5"))
            .into();
        let id = proposal_id("testing", "Ann");
        assert!(runs_again(&State::from_entries(&ledger), &ledger, &gathered).is_empty());
        ledger.push(entry("moderator", "", &format!("proposal {id}"), "accept"));
        ledger.push(entry("moderator", "P2", "mark testing", "7"));
        ledger.push(entry(
            "moderator",
            "",
            "proposal stands testing/P4",
            "accept",
        ));
        ledger.push(entry("marker", "P1", "comment testing", "seen"));
        let runs = runs_again(&State::from_entries(&ledger), &ledger, &gathered);
        assert_eq!(runs.len(), 1);
        let waiting: Vec<&str> = runs[0].waiting().map(|pair| pair.pair.as_str()).collect();
        assert_eq!(waiting, ["P1"]);
        let second = &runs[0].pairs[1];
        assert_eq!((second.before.as_str(), second.now.as_str()), ("5", "7"));
        assert_eq!(second.by.as_deref(), Some("moderator"));
        assert!(runs[0].pairs[2].stands_as_it_is);
        ledger.push(entry("moderator", "", &format!("proposal {id}"), "refuse"));
        assert!(runs_again(&State::from_entries(&ledger), &ledger, &gathered).is_empty());
    }
}
