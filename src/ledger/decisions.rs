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

/// What is in force for a finding of a pair, the first there is of these:
///
/// 1. what somebody above the markers decided about this very finding, whenever that was;
/// 2. where its two markers differ, what somebody above them decided for all of its check, else for all of the slip that explains its claim
///    best: whether before they differed or since, for it is a ruling on every such finding, and where the markers cancel out nothing speaks
///    against it;
/// 3. the first marker's decision about it, else the second's: whoever looked at this finding goes before a ruling on all;
/// 4. what was decided for all.
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
    of_pair
        .filter(|held| differing(held, &own).is_some())
        .and_then(|_| ruled_for_all(state, result, finding))
        .or_else(|| of_pair.and_then(|held| held.standing(&own, "")))
        .or_else(|| held_for_all(state, result, finding, |_| true))
}

/// What was decided for all of a finding's check, else for all of the slip that explains its claim best, of the decisions that count.
fn held_for_all<'a>(
    state: &'a State,
    result: Option<&PairResult>,
    finding: &Finding,
    counts: impl Fn(&Held) -> bool,
) -> Option<&'a Held> {
    let for_all = |of: &str| {
        state
            .cohort
            .standing(&Subject::DecisionForAll(of.to_owned()), "")
            .filter(|held| counts(held))
    };
    let for_slip = || {
        let claim = result?.claims.get(finding.claim?)?;
        let first = claim.recomputed.explanations.first()?;
        first.slips.iter().find_map(|slip| for_all(slip.code))
    };
    for_all(finding.check).or_else(for_slip)
}

/// A decision for all that settles what markers differ about: by somebody above them, and in no other file's dispute.
pub fn ruled_for_all<'a>(
    state: &'a State,
    result: Option<&PairResult>,
    finding: &Finding,
) -> Option<&'a Held> {
    let above = |held: &Held| Slot::of(held.role) == Slot::Deciding;
    held_for_all(state, result, finding, above).filter(|held| held.conflicts.is_empty())
}

/// What the two markers of a pair decided about a finding, the first marker's first, where they differ and nobody above them has decided,
/// about this finding or for all.
pub fn markers_differ<'a>(
    state: &'a State,
    result: Option<&PairResult>,
    pair: &str,
    finding: &Finding,
) -> Option<(&'a Held, &'a Held)> {
    markers_differed(state, pair, finding)
        .filter(|_| ruled_for_all(state, result, finding).is_none())
}

/// As [`markers_differ`], whether or not a decision for all settles it.
pub fn markers_differed<'a>(
    state: &'a State,
    pair: &str,
    finding: &Finding,
) -> Option<(&'a Held, &'a Held)> {
    differing(state.pair(pair)?, &Subject::Decision(finding.id(pair)))
}

/// What the two markers entered for a subject, where it differs and nobody above them has decided about that subject itself.
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
    use crate::claims::{self, ClaimSettings};
    use crate::examination::ExaminedClaim;
    use crate::facts::Record;
    use crate::ledger::Entry;
    use crate::logbook;
    use crate::logbook::grid::Grid;
    use crate::logbook::settings::ReadingSettings;

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

    fn entry(role: &str, pair: &str, what: &str, new: &str) -> Entry {
        Entry {
            role: role.into(),
            pair: pair.into(),
            what: what.into(),
            new: new.into(),
            ..Entry::default()
        }
    }

    /// Whether the two markers of P07 still differ about a finding, and what stands.
    fn seen(entries: &[Entry]) -> (bool, Option<Decision>) {
        let finding = Finding::new("testing.one-rater", Weight::Query, "m", "c");
        let entries: Vec<Entry> = entries
            .iter()
            .map(|entry| Entry {
                what: entry.what.replace("F-1", &finding.id("P07")),
                ..entry.clone()
            })
            .collect();
        let state = State::from_entries(&entries);
        (
            markers_differ(&state, None, "P07", &finding).is_some(),
            decision_on(&state, None, "P07", &finding),
        )
    }

    #[test]
    fn two_markers_decisions_that_differ_are_seen_until_somebody_decides() {
        let own = |role: &str, new: &str| entry(role, "P07", "decision F-1", new);
        let mut entries = vec![own("marker", "dismiss"), own("second marker", "uphold")];
        assert!(!seen(&entries[..1]).0);
        assert!(seen(&entries).0);
        entries.push(own("instructor", "uphold"));
        assert_eq!(seen(&entries), (false, Some(Decision::Uphold)));
        assert!(!seen(&[own("marker", "dismiss"), own("second marker", "dismiss")]).0);
    }

    #[test]
    fn a_moderators_decision_for_all_settles_what_markers_differ_about() {
        let own = |role: &str, new: &str| entry(role, "P07", "decision F-1", new);
        let for_all =
            |role: &str, new: &str| entry(role, "", "decision-for-all testing.one-rater", new);
        let differ = [own("marker", "dismiss"), own("second marker", "uphold")];
        // Made later or before, it is the same ruling.
        let later = [&differ[..], &[for_all("moderator", "uphold")]].concat();
        assert_eq!(seen(&later), (false, Some(Decision::Uphold)));
        let before = [&[for_all("moderator", "uphold")], &differ[..]].concat();
        assert_eq!(seen(&before), (false, Some(Decision::Uphold)));
        // What the moderator says of the one finding goes before what he says of all, in either order.
        let own_later = [&later[..], &[own("moderator", "dismiss")]].concat();
        assert_eq!(seen(&own_later), (false, Some(Decision::Dismiss)));
        let own_before = [
            &differ[..],
            &[own("moderator", "dismiss"), for_all("moderator", "uphold")],
        ]
        .concat();
        assert_eq!(seen(&own_before), (false, Some(Decision::Dismiss)));
        // Withdrawn, it leaves them differing.
        let withdrawn = [&later[..], &[for_all("moderator", "")]].concat();
        assert_eq!(seen(&withdrawn), (true, Some(Decision::Dismiss)));
        // So does one about which two files disagree.
        let disputed = [
            &later[..],
            &[entry(
                "moderator",
                "",
                "conflict decision-for-all testing.one-rater",
                "dismiss",
            )],
        ]
        .concat();
        assert!(seen(&disputed).0);
    }

    /// A pair whose one claim is explained by a slip first of all, and that slip's code.
    fn with_slip() -> (PairResult, &'static str) {
        let grids = [
            Grid::from_rows(
                "Trials",
                &[
                    "phase|trial|score",
                    "post|1|1",
                    "post|2|2",
                    "post|3|3",
                    "post|4|4",
                ],
            ),
            // Of 1, 2, 3, 4 divided by n; by n - 1 it would be 1.291.
            Grid::from_rows("Claims", &["statistic|phase|value", "sd|post|1.118"]),
        ];
        let logbook = logbook::read("P07.xlsx", &grids, &ReadingSettings::default());
        let record = Record::new(&logbook);
        let recomputed = claims::recompute(&logbook, &record, &ClaimSettings::default());
        let slip = recomputed[0].explanations[0].slips[0].code;
        let claims = logbook.claims.into_iter().zip(recomputed);
        let result = PairResult {
            claims: claims
                .map(|(claim, recomputed)| ExaminedClaim { claim, recomputed })
                .collect(),
            ..PairResult::default()
        };
        (result, slip)
    }

    #[test]
    fn a_ruling_on_a_slip_goes_before_a_markers_word_for_all_of_the_check() {
        let (result, slip) = with_slip();
        let finding = Finding {
            claim: Some(0),
            ..Finding::new("numbers.differs", Weight::Error, "m", "c")
        };
        let own = format!("decision {}", finding.id("P07"));
        let mut entries = vec![
            entry("marker", "P07", &own, "dismiss"),
            entry("second marker", "P07", &own, "uphold"),
            entry("marker", "", "decision-for-all numbers.differs", "dismiss"),
        ];
        let settled = |entries: &[Entry]| {
            let state = State::from_entries(entries);
            ruled_for_all(&state, Some(&result), &finding).map(|held| held.value.clone())
        };
        assert_eq!(settled(&entries), None);
        let for_slip = format!("decision-for-all {slip}");
        entries.push(entry("moderator", "", &for_slip, "uphold"));
        assert_eq!(settled(&entries).as_deref(), Some("uphold"));
        let state = State::from_entries(&entries);
        assert_eq!(
            decision_on(&state, Some(&result), "P07", &finding),
            Some(Decision::Uphold)
        );
    }

    #[test]
    fn markers_who_agree_about_a_finding_go_before_a_decision_for_all() {
        let own = |role: &str| entry(role, "P07", "decision F-1", "uphold");
        let for_all = entry(
            "moderator",
            "",
            "decision-for-all testing.one-rater",
            "dismiss",
        );
        let agreed = [own("marker"), own("second marker"), for_all];
        assert_eq!(seen(&agreed), (false, Some(Decision::Uphold)));
    }

    #[test]
    fn every_word_is_a_decision() {
        for word in DECISIONS {
            assert!(Decision::from_word(word).is_some(), "{word}");
        }
    }
}
