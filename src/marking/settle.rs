//! What the ledger comes to for a pair: the mark of each criterion, and what the pair still lacks before it can be handed back.

use std::sync::Arc;

use crate::checks::{self, Weight};
use crate::cohort::Roster;
use crate::cohort::marking_settings::ModerationSettings;
use crate::examination::PairResult;
use crate::ledger::{
    Decision, OneMark, Open, PairState, SettledMark, Slot, StandsBy, State, Subject, decision_on,
    first_marker, markers_differ, one_mark,
};
use crate::number::readable;
use crate::rubric::{Criterion, Each, Rubric};

/// The criterion under which a shift of a marker's totals stands on the ledger.
pub const TOTAL: &str = "total";

/// What settling needs.
#[derive(Clone, Copy)]
pub struct Settling<'a> {
    /// The rubric.
    pub rubric: &'a Rubric,
    /// How one mark comes out of two.
    pub moderation: &'a ModerationSettings,
    /// The roster, where there is one.
    pub roster: Option<&'a Roster>,
    /// What is in force by the ledger.
    pub state: &'a State,
}

/// A pair's marks.
#[derive(Debug, Clone, PartialEq)]
pub struct SettledPair {
    /// The pair.
    pub pair: Arc<str>,
    /// Its criteria, in the rubric's order.
    pub criteria: Vec<SettledCriterion>,
    /// The constant by which its marker's totals are shifted; 0 for none.
    pub total_shift: f64,
    /// What it lacks before it can be handed back, in words; empty for a complete pair.
    pub lacks: Vec<String>,
}

/// The mark of one criterion.
#[derive(Debug, Clone, PartialEq)]
pub struct SettledCriterion {
    /// Its id.
    pub id: String,
    /// The marks out of which it is marked.
    pub out_of: f64,
    /// The pair's mark, or those of its students.
    pub marks: Vec<CriterionMark>,
}

/// A mark of a criterion, of the pair or of one of its students.
#[derive(Debug, Clone, PartialEq)]
pub struct CriterionMark {
    /// The student's id; none for a mark of the pair.
    pub student: Option<Arc<str>>,
    /// The mark as people entered it; none where there is none yet.
    pub raw: Option<f64>,
    /// What an accepted shift of its marker adds to it, within the criterion's range.
    pub shift: f64,
}

impl CriterionMark {
    /// The mark in force: as entered, and shifted.
    pub fn mark(&self) -> Option<f64> {
        self.raw.map(|raw| raw + self.shift)
    }
}

impl SettledCriterion {
    /// The mark of this criterion that a student gets: the student's own, else the pair's.
    pub fn of_student(&self, student: &str) -> Option<&CriterionMark> {
        self.marks
            .iter()
            .find(|mark| mark.student.as_deref().is_none_or(|id| id == student))
    }
}

impl SettledPair {
    /// Whether nothing is lacking.
    pub fn is_complete(&self) -> bool {
        self.lacks.is_empty()
    }
}

impl Settling<'_> {
    /// Settles a pair; `result` is what its hand-in gave, where there is one.
    pub fn pair(&self, pair: &Arc<str>, result: Option<&PairResult>) -> SettledPair {
        let state = self.state.pair(pair);
        let mut lacks = Lacks::default();
        let criteria = self
            .rubric
            .criteria
            .iter()
            .map(|criterion| self.criterion(pair, state, criterion, &mut lacks))
            .collect();
        let mut lacks = lacks.in_words();
        lacks.extend(self.undecided(pair, result));
        let handed_in = result.is_some_and(|result| result.hand_in.is_some());
        if !lacks.is_empty() && !handed_in {
            lacks.insert(0, String::from("nothing that could be read was handed in"));
        }
        SettledPair {
            pair: pair.clone(),
            criteria,
            total_shift: self.shift(pair, TOTAL),
            lacks,
        }
    }

    fn criterion(
        &self,
        pair: &Arc<str>,
        state: Option<&PairState>,
        criterion: &Criterion,
        lacks: &mut Lacks,
    ) -> SettledCriterion {
        let marks = match criterion.each {
            Each::Pair => vec![self.mark(pair, state, criterion, None, lacks)],
            Each::Student => {
                let students: Vec<Arc<str>> = self
                    .roster
                    .into_iter()
                    .flat_map(|roster| roster.of_pair(pair))
                    .filter(|student| student.status.takes_part())
                    .map(|student| student.id.clone())
                    .collect();
                if students.is_empty() {
                    lacks.other.push(format!(
                        "{} is marked for each student, and the roster names none",
                        criterion.title
                    ));
                }
                students
                    .into_iter()
                    .map(|student| self.mark(pair, state, criterion, Some(student), lacks))
                    .collect()
            }
        };
        SettledCriterion {
            id: criterion.id.clone(),
            out_of: criterion.marks,
            marks,
        }
    }

    fn mark(
        &self,
        pair: &str,
        state: Option<&PairState>,
        criterion: &Criterion,
        student: Option<Arc<str>>,
        lacks: &mut Lacks,
    ) -> CriterionMark {
        let subject = Subject::Mark(criterion.id.clone());
        let id = student.as_deref().unwrap_or("");
        let outcome = one_mark(state, &subject, id, criterion.marks, self.moderation);
        let named = match &student {
            None => criterion.title.clone(),
            Some(id) => format!("{} of {id}", criterion.title),
        };
        let shift = match &outcome {
            OneMark::Settled(mark) => self.shift_of(pair, criterion, mark),
            OneMark::Missing => {
                lacks.marks.push(named);
                0.0
            }
            OneMark::Waiting(open) => {
                lacks.waiting(&named, open);
                0.0
            }
        };
        CriterionMark {
            raw: outcome.settled(),
            shift,
            student,
        }
    }

    /// What an accepted shift adds to a mark; a mark that the moderator decided is not shifted, and none leaves the criterion's range.
    fn shift_of(&self, pair: &str, criterion: &Criterion, mark: &SettledMark) -> f64 {
        if mark.by != StandsBy::FirstMarker {
            return 0.0;
        }
        let shifted = mark.value + self.shift(pair, &criterion.id);
        shifted.max(0.0).min(criterion.marks) - mark.value
    }

    /// The accepted shift of the pair's first marker on a criterion, or on the total.
    fn shift(&self, pair: &str, criterion: &str) -> f64 {
        let Some(marker) = first_marker(self.state, self.roster, pair) else {
            return 0.0;
        };
        let subject = Subject::Shift(marker.to_owned(), criterion.to_owned());
        self.state
            .cohort
            .standing(&subject, "")
            .and_then(|held| held.value.parse::<f64>().ok())
            .filter(|shift| shift.is_finite())
            .unwrap_or(0.0)
    }

    /// The errors about which nobody has decided, in words.
    fn undecided(&self, pair: &str, result: Option<&PairResult>) -> Vec<String> {
        let Some(result) = result else {
            return Vec::new();
        };
        let mut open = Vec::new();
        let mut asked = Vec::new();
        let mut differ = Vec::new();
        for finding in &result.findings {
            if finding.weight != Weight::Error {
                continue;
            }
            let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
            let id = finding.id(pair);
            let named = format!("{id} ({title})");
            if let Some((first, second)) = markers_differ(self.state, Some(result), pair, finding) {
                differ.push(format!(
                    "{named}: {} by {}, {} by {}",
                    first.value, first.who, second.value, second.who
                ));
                continue;
            }
            match decision_on(self.state, Some(result), pair, finding) {
                Some(Decision::Uphold | Decision::Dismiss) => {}
                Some(Decision::Ask) => asked.push(named),
                None => open.push(named),
            }
        }
        let mut lacks = Vec::new();
        if !open.is_empty() {
            lacks.push(format!("undecided: {}", listed(&open)));
        }
        if !differ.is_empty() {
            lacks.push(format!(
                "two markers decided differently about {}",
                listed(&differ)
            ));
        }
        if !asked.is_empty() {
            lacks.push(format!(
                "waits for the pair's answer about {}",
                listed(&asked)
            ));
        }
        lacks
    }
}

/// Lists name so many things and count the rest.
const NAMED: usize = 4;

fn listed(things: &[String]) -> String {
    let named: Vec<&str> = things.iter().take(NAMED).map(String::as_str).collect();
    let more = things.len().saturating_sub(NAMED);
    if more == 0 {
        named.join(", ")
    } else {
        format!("{} and {more} more", named.join(", "))
    }
}

#[derive(Default)]
struct Lacks {
    marks: Vec<String>,
    other: Vec<String>,
}

impl Lacks {
    fn waiting(&mut self, named: &str, open: &Open) {
        self.other.push(match open {
            Open::Files(values) => {
                format!("{named}: files disagree ({})", values.join(" or "))
            }
            Open::Adjudication { first, second } => format!(
                "{named}: {} and {} wait for the moderator",
                readable(*first),
                readable(*second)
            ),
            Open::OnlyOne { missing } => {
                let which = if *missing == Slot::First {
                    "first"
                } else {
                    "second"
                };
                format!("{named}: the {which} marker's mark is missing")
            }
        });
    }

    fn in_words(self) -> Vec<String> {
        let mut lacks = Vec::new();
        if !self.marks.is_empty() {
            lacks.push(format!("no mark for {}", self.marks.join(", ")));
        }
        lacks.extend(self.other);
        lacks
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::Finding;
    use crate::expression::Catalogue;
    use crate::ledger::{Entry, Role};
    use crate::rubric::Known;

    const RUBRIC: &str = r#"
title = "T"
out_of = 20
[[criterion]]
id = "testing"
title = "Testing"
marks = 10
[[criterion.judged]]
id = "a"
points = 10
asks = "?"
[[criterion]]
id = "claims"
title = "Claims"
marks = 10
[[criterion.judged]]
id = "b"
points = 10
asks = "?"
"#;

    fn rubric() -> Rubric {
        let catalogue = Catalogue::new(checks::ALL.iter().map(|check| check.id));
        let known = Known {
            catalogue: &catalogue,
            slips: &[],
        };
        Rubric::read("r.toml", RUBRIC, &known).unwrap_or_else(|faults| panic!("{faults}"))
    }

    fn entry(role: Role, pair: &str, what: &str, new: &str) -> Entry {
        Entry {
            who: "Noor".into(),
            role: role.name().into(),
            pair: pair.into(),
            what: what.into(),
            new: new.into(),
            ..Entry::default()
        }
    }

    fn settled(entries: &[Entry], result: Option<&PairResult>) -> SettledPair {
        let state = State::from_entries(entries);
        let settling = Settling {
            rubric: &rubric(),
            moderation: &ModerationSettings::default(),
            roster: None,
            state: &state,
        };
        settling.pair(&"P1".into(), result)
    }

    fn handed_in(findings: Vec<Finding>) -> PairResult {
        PairResult {
            pair: "P1".into(),
            hand_in: Some(crate::examination::HandIn {
                name: "P1.xlsx".into(),
                digest: String::new(),
                link_base: None,
            }),
            findings,
            ..PairResult::default()
        }
    }

    #[test]
    fn a_pair_lacks_marks_and_decisions_on_errors_alone() {
        let marks = [
            entry(Role::Instructor, "P1", "mark testing", "7"),
            entry(Role::Instructor, "P1", "mark claims", "0"),
        ];
        let error = Finding::new("data.out-of-scale", Weight::Error, "m", "c");
        let query = Finding::new("testing.one-rater", Weight::Query, "m", "c");
        let result = handed_in(vec![error.clone(), query]);
        assert_eq!(
            settled(&marks[..1], Some(&handed_in(vec![]))).lacks,
            ["no mark for Claims"]
        );
        let open = settled(&marks, Some(&result)).lacks;
        assert!(
            open.len() == 1 && open[0].starts_with("undecided: F-"),
            "{open:?}"
        );
        let what = format!("decision {}", error.id("P1"));
        let mut decided = marks.to_vec();
        decided.push(entry(Role::Instructor, "P1", &what, "dismiss"));
        assert!(settled(&decided, Some(&result)).is_complete());
        let mut asked = marks.to_vec();
        asked.push(entry(Role::Instructor, "P1", &what, "ask the pair"));
        assert!(!settled(&asked, Some(&result)).is_complete());
        let mut for_all = marks.to_vec();
        for_all.push(entry(
            Role::Instructor,
            "",
            "decision-for-all data.out-of-scale",
            "uphold",
        ));
        assert!(settled(&for_all, Some(&result)).is_complete());
        let by = |role, new: &str| entry(role, "P1", &what, new);
        let mut differ = marks.to_vec();
        differ.extend([
            by(Role::Marker, "dismiss"),
            by(Role::SecondMarker, "uphold"),
        ]);
        let lacks = settled(&differ, Some(&result)).lacks;
        assert!(
            lacks.len() == 1 && lacks[0].ends_with("dismiss by Noor, uphold by Noor"),
            "{lacks:?}"
        );
        differ.push(by(Role::Moderator, "uphold"));
        assert!(settled(&differ, Some(&result)).is_complete());
        // A pair that handed nothing in can be marked all the same.
        assert!(settled(&marks, None).is_complete());
        assert_eq!(settled(&marks[..1], None).lacks.len(), 2);
    }

    #[test]
    fn an_accepted_shift_moves_the_first_markers_marks_within_the_range() {
        let entries = [
            entry(Role::Program, "P1", "first-marker", "Noor"),
            entry(Role::Marker, "P1", "mark testing", "9.5"),
            entry(Role::Marker, "P1", "mark claims", "4"),
            entry(Role::Moderator, "P1", "mark claims", "5"),
            entry(Role::Moderator, "", "shift testing/Noor", "1"),
            entry(Role::Moderator, "", "shift claims/Noor", "1"),
        ];
        let pair = settled(&entries, None);
        let marks: Vec<Option<f64>> = pair
            .criteria
            .iter()
            .flat_map(|criterion| &criterion.marks)
            .map(CriterionMark::mark)
            .collect();
        // 9.5 + 1 stays within 10; what the moderator decided is not shifted.
        assert_eq!(marks, [Some(10.0), Some(5.0)]);
    }
}
