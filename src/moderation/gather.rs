//! Every marker's marks of every pair, from the ledger, beside what the evidence gives.

use std::collections::BTreeMap;

use crate::cohort::Roster;
use crate::examination::{CohortResult, PairResult};
use crate::ledger::{Held, Key, PairState, Slot, State, Subject};
use crate::report::workbook::marker::MarkingAs;
use crate::rubric::{Criterion, Each, Rubric};

/// What is compared.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scale {
    /// The sum of all judged points: what no suggestion touched.
    Judged,
    /// The total.
    Total,
    /// One criterion's mark.
    Criterion(String),
}

/// One marker's marks of one pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Marking {
    /// Who.
    pub marker: String,
    /// As what.
    pub marking_as: MarkingAs,
    /// The marks by criterion; of a criterion that is marked for each student, their mean: totals and severities compare pairs.
    pub marks: BTreeMap<String, f64>,
    /// The marks of criteria that are marked for each student: criterion, then the student's id.
    pub of_students: BTreeMap<String, BTreeMap<String, f64>>,
    /// The sum of judged points; none where one is missing.
    pub judged: Option<f64>,
    /// The ledger's line of the last mark: the order of marking.
    pub order: usize,
}

/// What markers entered for one pair.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct MarkedPair {
    /// The pair.
    pub pair: String,
    /// Evidence points earned, over those that the data settle, in marks of the total; none where they settle nothing.
    pub evidence: Option<f64>,
    /// How well the learner did against before, 0–1: the share of comparisons that post-test trials win; none where not computed.
    pub gain: Option<f64>,
    /// Each marker's.
    pub markings: Vec<Marking>,
}

/// What two markers gave for the same thing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedTwice<'a> {
    /// The pair.
    pub pair: &'a MarkedPair,
    /// The student, for a criterion that is marked for each.
    pub student: Option<&'a str>,
    /// The first marker's.
    pub first: f64,
    /// The second marker's.
    pub second: f64,
}

impl MarkedTwice<'_> {
    /// First less second.
    pub fn difference(&self) -> f64 {
        self.first - self.second
    }
}

/// What markers entered for all pairs.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Gathered {
    /// The pairs, in their order.
    pub pairs: Vec<MarkedPair>,
    /// The criteria's ids and marks, in the rubric's order.
    pub criteria: Vec<(String, f64)>,
    /// Judged points of all criteria together.
    pub judged_out_of: f64,
    /// Marks of the total.
    pub out_of: f64,
}

impl Gathered {
    /// What a scale is out of.
    pub fn out_of(&self, scale: &Scale) -> f64 {
        match scale {
            Scale::Judged => self.judged_out_of,
            Scale::Total => self.out_of,
            Scale::Criterion(id) => {
                let criterion = self.criteria.iter().find(|(known, _)| known == id);
                criterion.map_or(0.0, |(_, marks)| *marks)
            }
        }
    }

    /// All scales: judged points, total, then each criterion.
    pub fn scales(&self) -> Vec<Scale> {
        let criteria = self.criteria.iter();
        let criteria = criteria.map(|(id, _)| Scale::Criterion(id.clone()));
        let judged = (self.judged_out_of > 0.0).then_some(Scale::Judged);
        judged
            .into_iter()
            .chain([Scale::Total])
            .chain(criteria)
            .collect()
    }

    /// A marking on a scale; none where it is not complete.
    pub fn value(&self, marking: &Marking, scale: &Scale) -> Option<f64> {
        match scale {
            Scale::Judged => marking.judged,
            Scale::Criterion(id) => marking.marks.get(id).copied(),
            Scale::Total => self
                .criteria
                .iter()
                .map(|(id, _)| marking.marks.get(id).copied())
                .sum(),
        }
    }

    /// First and second marks of the pairs that have both, on a scale. A criterion that is marked for each student is compared student by
    /// student, as its marks are settled: in the mean of the two, differences either way would cancel.
    pub fn twice(&self, scale: &Scale) -> Vec<MarkedTwice<'_>> {
        let mut all = Vec::new();
        for pair in &self.pairs {
            let of = |wanted| {
                let mut markings = pair.markings.iter();
                markings.find(|marking| marking.marking_as == wanted)
            };
            let (Some(first), Some(second)) = (of(MarkingAs::First), of(MarkingAs::Second)) else {
                continue;
            };
            let students = |marking: &'_ Marking| match scale {
                Scale::Criterion(id) => marking.of_students.get(id).cloned(),
                Scale::Judged | Scale::Total => None,
            };
            if let (Scale::Criterion(id), Some(others)) = (scale, students(second)) {
                let own = first.of_students.get(id).into_iter().flatten();
                all.extend(own.filter_map(|(student, mark)| {
                    Some(MarkedTwice {
                        pair,
                        student: Some(student),
                        first: *mark,
                        second: *others.get(student)?,
                    })
                }));
            } else if let (Some(a), Some(b)) = (self.value(first, scale), self.value(second, scale))
            {
                all.push(MarkedTwice {
                    pair,
                    student: None,
                    first: a,
                    second: b,
                });
            }
        }
        all
    }

    /// Whether somebody is the first marker of some reports marked twice and the second of others: first less second then says nothing of
    /// any marker, because their differences cancel.
    pub fn is_crossed(&self) -> bool {
        let twice = || self.pairs.iter().filter(|pair| pair.markings.len() > 1);
        let names = |wanted: MarkingAs| {
            twice()
                .flat_map(|pair| &pair.markings)
                .filter(move |marking| marking.marking_as == wanted)
                .map(|marking| marking.marker.as_str())
        };
        let seconds: Vec<&str> = names(MarkingAs::Second).collect();
        names(MarkingAs::First).any(|first| seconds.contains(&first))
    }

    /// How many pairs have every mark from somebody.
    pub fn marked(&self) -> usize {
        let complete = |pair: &&MarkedPair| {
            let mut markings = pair.markings.iter();
            markings.any(|marking| self.value(marking, &Scale::Total).is_some())
        };
        self.pairs.iter().filter(complete).count()
    }

    /// The markers, in order of their names.
    pub fn markers(&self) -> Vec<&str> {
        let markings = self.pairs.iter().flat_map(|pair| &pair.markings);
        let mut names: Vec<&str> = markings.map(|marking| marking.marker.as_str()).collect();
        names.sort_unstable();
        names.dedup();
        names
    }
}

/// Gathers what markers entered.
pub fn gather(
    rubric: &Rubric,
    roster: Option<&Roster>,
    state: &State,
    cohort: &CohortResult,
) -> Gathered {
    let pairs = cohort
        .results()
        .map(|result| MarkedPair {
            pair: result.pair.to_string(),
            evidence: evidence(&result, rubric.out_of),
            gain: result.facts.number("change.post.nap"),
            markings: state
                .pair(&result.pair)
                .map(|state| markings(rubric, roster, &result, state))
                .unwrap_or_default(),
        })
        .collect();
    Gathered {
        pairs,
        criteria: rubric
            .criteria
            .iter()
            .map(|criterion| (criterion.id.clone(), criterion.marks))
            .collect(),
        judged_out_of: rubric.criteria.iter().map(Criterion::judged_points).sum(),
        out_of: rubric.out_of,
    }
}

fn evidence(result: &PairResult, out_of: f64) -> Option<f64> {
    let earned: f64 = result.suggestions.iter().map(|s| s.suggested).sum();
    let settled: f64 = result.suggestions.iter().map(|s| s.out_of).sum();
    (settled > 0.0).then(|| earned / settled * out_of)
}

fn markings(
    rubric: &Rubric,
    roster: Option<&Roster>,
    result: &PairResult,
    state: &PairState,
) -> Vec<Marking> {
    let mut who: Vec<(MarkingAs, String)> = Vec::new();
    for (key, held) in state.all() {
        let found = match (&key.subject, key.slot) {
            (Subject::Common(marker, _), _) => (MarkingAs::Common, marker.clone()),
            (Subject::Mark(_) | Subject::Judged(..), Slot::First) => (
                MarkingAs::First,
                assigned(state, &Subject::FirstMarker, held),
            ),
            (Subject::Mark(_) | Subject::Judged(..), Slot::Second) => (
                MarkingAs::Second,
                assigned(state, &Subject::SecondMarker, held),
            ),
            _ => continue,
        };
        // One first and one second marker a pair; any number who agree on a standard.
        let taken = found.0 != MarkingAs::Common
            && who.iter().any(|(marking_as, _)| *marking_as == found.0);
        if !taken && !who.contains(&found) {
            who.push(found);
        }
    }
    who.sort();
    who.into_iter()
        .map(|(marking_as, marker)| marking(rubric, roster, result, state, marking_as, marker))
        .collect()
}

/// Who marks by the sharing; whoever entered it where nothing was shared out.
fn assigned(state: &PairState, subject: &Subject, held: &Held) -> String {
    let assigned = state.standing(subject, "");
    assigned.map_or_else(|| held.who.clone(), |assigned| assigned.value.clone())
}

fn marking(
    rubric: &Rubric,
    roster: Option<&Roster>,
    result: &PairResult,
    state: &PairState,
    marking_as: MarkingAs,
    marker: String,
) -> Marking {
    let is_own = |key: &Key, subject: &Subject| match marking_as {
        MarkingAs::First => key.slot == Slot::First && key.subject == *subject,
        MarkingAs::Second => key.slot == Slot::Second && key.subject == *subject,
        MarkingAs::Common => {
            matches!(&key.subject, Subject::Common(who, of) if *who == marker && **of == *subject)
        }
    };
    let values = |subject: &Subject| -> Vec<(f64, usize, String)> {
        state
            .all()
            .filter(|(key, _)| is_own(key, subject))
            .filter_map(|(key, held)| {
                let mark = held.value.parse::<f64>().ok()?;
                Some((mark, held.line, key.student.to_string()))
            })
            .collect()
    };
    let students = roster.map_or(1, |roster| {
        let of_pair = roster.of_pair(&result.pair);
        of_pair
            .filter(|student| student.status.takes_part())
            .count()
    });
    let mut marks = BTreeMap::new();
    let mut of_students = BTreeMap::new();
    let mut order = 0;
    for criterion in &rubric.criteria {
        let entered = values(&Subject::Mark(criterion.id.clone()));
        let wanted = match criterion.each {
            Each::Pair => 1,
            Each::Student => students,
        };
        for (_, line, _) in &entered {
            order = order.max(*line);
        }
        if !entered.is_empty() && entered.len() >= wanted {
            let sum: f64 = entered.iter().map(|(mark, ..)| mark).sum();
            marks.insert(criterion.id.clone(), sum / entered.len() as f64);
        }
        if criterion.each == Each::Student {
            let own = entered
                .into_iter()
                .map(|(mark, _, student)| (student, mark));
            of_students.insert(criterion.id.clone(), own.collect());
        }
    }
    let judged = rubric
        .criteria
        .iter()
        .flat_map(|criterion| {
            let parts = criterion.judged.iter();
            parts.map(|part| Subject::Judged(criterion.id.clone(), part.id.clone()))
        })
        .map(|subject| Some(values(&subject).first()?.0))
        .sum();
    Marking {
        marker,
        marking_as,
        marks,
        of_students,
        judged,
        order,
    }
}
