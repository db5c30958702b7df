//! What people decided about findings: each on its own, or all of a check or slip at once.

use std::collections::BTreeMap;

use super::entry::Subject;
use super::state::{Held, PairState, Slot, State};
use crate::checks::Finding;
use crate::examination::{CohortResult, PairResult};

/// What was decided about a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Decision {
    /// It stands.
    Uphold,
    /// It doesn't; it never reaches the pair.
    Dismiss,
    /// The pair is asked first.
    Ask,
}

/// The words of [`Decision`], as cells take them.
pub const DECISIONS: &[&str] = &["uphold", "dismiss", "ask the pair"];

impl Decision {
    /// The decision with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        match word {
            "uphold" => Some(Self::Uphold),
            "dismiss" => Some(Self::Dismiss),
            "ask the pair" => Some(Self::Ask),
            _ => None,
        }
    }
}

/// What is in force for a finding of a pair: its own decision, else that for all of its check, else that for all of the slip that explains
/// its claim best.
pub fn held_for<'a>(
    state: &'a State,
    result: Option<&PairResult>,
    pair: &str,
    finding: &Finding,
) -> Option<&'a Held> {
    let own = Subject::Decision(finding.id(pair));
    let of_pair = if pair.is_empty() {
        Some(&state.cohort)
    } else {
        state.pair(pair)
    };
    let for_all = |of: &str| {
        state
            .cohort
            .standing(&Subject::DecisionForAll(of.to_owned()), "")
    };
    let for_slip = || {
        let claim = result?.claims.get(finding.claim?)?;
        let first = claim.recomputed.explanations.first()?;
        first.slips.iter().find_map(|slip| for_all(slip.code))
    };
    of_pair
        .and_then(|held| held.standing(&own, ""))
        .or_else(|| for_all(finding.check))
        .or_else(for_slip)
}

/// What the two markers of a pair decided about a finding, the first marker's first, where they differ and nobody above them has decided.
pub fn markers_differ<'a>(
    state: &'a State,
    pair: &str,
    finding: &str,
) -> Option<(&'a Held, &'a Held)> {
    differing(state.pair(pair)?, &Subject::Decision(finding.to_owned()))
}

/// What the two markers entered for a subject, where it differs and nobody above them has decided.
pub(super) fn differing<'a>(
    state: &'a PairState,
    subject: &Subject,
) -> Option<(&'a Held, &'a Held)> {
    let in_slot = |slot| state.in_slot(subject, "", slot);
    if in_slot(Slot::Deciding).is_some() {
        return None;
    }
    let (first, second) = (in_slot(Slot::First)?, in_slot(Slot::Second)?);
    (first.value != second.value).then_some((first, second))
}

/// As [`held_for`], as a decision; none also where files disagree about it.
pub fn decision_on(
    state: &State,
    result: Option<&PairResult>,
    pair: &str,
    finding: &Finding,
) -> Option<Decision> {
    held_for(state, result, pair, finding)
        .filter(|held| held.conflicts.is_empty())
        .and_then(|held| Decision::from_word(&held.value))
}

/// What became of a check's findings.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct DecisionTally {
    /// Findings that stand.
    pub upheld: usize,
    /// Findings that don't.
    pub dismissed: usize,
    /// Findings about which the pair was asked, or nobody has decided.
    pub open: usize,
}

/// As many findings must there be before a check is said to be mostly dismissed.
const TELLING: usize = 10;

impl DecisionTally {
    /// Counts a finding by what was decided about it.
    pub fn add(&mut self, decision: Option<Decision>) {
        match decision {
            Some(Decision::Uphold) => self.upheld += 1,
            Some(Decision::Dismiss) => self.dismissed += 1,
            Some(Decision::Ask) | None => self.open += 1,
        }
    }

    /// Whether more than half of ten or more, of those decided or of all, were dismissed.
    pub fn is_mostly_dismissed(self) -> bool {
        let decided = self.upheld + self.dismissed;
        let over_half = |of: usize| of >= TELLING && 2 * self.dismissed > of;
        over_half(decided) || over_half(decided + self.open)
    }

    /// In words; empty where nobody has decided anything.
    pub fn in_words(self) -> String {
        if self.upheld + self.dismissed == 0 {
            return String::new();
        }
        let counts = format!(
            "{} upheld, {} dismissed, {} open",
            self.upheld, self.dismissed, self.open
        );
        if self.is_mostly_dismissed() {
            format!("{counts}: mostly dismissed, it may not suit this course")
        } else {
            counts
        }
    }
}

/// What became of the findings of each check.
pub fn decision_tallies(
    state: &State,
    cohort: &CohortResult,
) -> BTreeMap<&'static str, DecisionTally> {
    let mut tallies: BTreeMap<&'static str, DecisionTally> = BTreeMap::new();
    let mut add = |result: Option<&PairResult>, pair: &str, findings: &[Finding]| {
        for finding in findings {
            let decision = decision_on(state, result, pair, finding);
            tallies.entry(finding.check).or_default().add(decision);
        }
    };
    for result in cohort.results() {
        add(Some(&result), &result.pair, &result.findings);
    }
    add(None, "", &cohort.without_pair);
    tallies
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn over_half_of_ten_or_more_dismissed_is_said() {
        let tally = |upheld, dismissed, open| DecisionTally {
            upheld,
            dismissed,
            open,
        };
        assert!(tally(4, 6, 0).is_mostly_dismissed());
        assert!(!tally(5, 5, 0).is_mostly_dismissed());
        assert!(!tally(0, 9, 0).is_mostly_dismissed());
        assert!(tally(0, 9, 1).is_mostly_dismissed());
        assert!(tally(0, 11, 40).is_mostly_dismissed());
        assert!(!tally(0, 9, 40).is_mostly_dismissed());
        assert_eq!(tally(0, 0, 3).in_words(), "");
        assert_eq!(tally(2, 1, 3).in_words(), "2 upheld, 1 dismissed, 3 open");
        assert!(tally(1, 9, 0).in_words().contains("may not suit"));
    }
    use crate::checks::Weight;
    use crate::ledger::Entry;

    #[test]
    fn a_findings_own_decision_goes_before_that_for_all() {
        let finding = Finding::new("testing.one-rater", Weight::Query, "m", "c");
        let entry = |pair: &str, what: String, new: &str| Entry {
            role: "instructor".into(),
            pair: pair.into(),
            what,
            new: new.into(),
            ..Entry::default()
        };
        let for_all = entry(
            "",
            String::from("decision-for-all testing.one-rater"),
            "dismiss",
        );
        let own = entry("P07", format!("decision {}", finding.id("P07")), "uphold");
        let state = State::from_entries(&[for_all, own]);
        assert_eq!(
            decision_on(&state, None, "P07", &finding),
            Some(Decision::Uphold)
        );
        assert_eq!(
            decision_on(&state, None, "P08", &finding),
            Some(Decision::Dismiss)
        );
    }

    #[test]
    fn two_markers_decisions_that_differ_are_seen_until_somebody_decides() {
        let entry = |role: &str, new: &str| Entry {
            role: role.into(),
            pair: "P07".into(),
            what: String::from("decision F-1"),
            new: new.into(),
            ..Entry::default()
        };
        let seen = |entries: &[Entry]| {
            let state = State::from_entries(entries);
            markers_differ(&state, "P07", "F-1").is_some()
        };
        let mut entries = vec![entry("marker", "dismiss"), entry("second marker", "uphold")];
        assert!(!seen(&entries[..1]));
        assert!(seen(&entries));
        entries.push(entry("instructor", "uphold"));
        assert!(!seen(&entries));
        assert!(!seen(&[
            entry("marker", "dismiss"),
            entry("second marker", "dismiss")
        ]));
    }

    #[test]
    fn every_word_is_a_decision() {
        for word in DECISIONS {
            assert!(Decision::from_word(word).is_some(), "{word}");
        }
    }
}
