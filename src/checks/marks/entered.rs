//! What markers entered, as the checks of this family see it: plain numbers, gathered by whoever knows ledger and rubric.

use crate::place::Place;
use crate::thresholds::Thresholds;

/// What markers entered, and the figures of moderation that checks judge.
pub struct MarksSeen<'a> {
    /// The thresholds in force.
    pub thresholds: &'a Thresholds,
    /// The pairs that are to be marked, in their order.
    pub pairs: &'a [PairMarks],
    /// The levels of the total and the pass mark, from low to high.
    pub boundaries: &'a [Boundary],
    /// The figures of each marker; empty where too few reports link the markers.
    pub markers: &'a [MarkerFigures],
    /// How marks follow the learners' gain, what was shown being equal; none where it could not be computed.
    pub follow_gain: Option<Figure>,
}

/// The marks of one pair.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PairMarks {
    /// The pair's id.
    pub pair: String,
    /// Its criteria in the rubric's order; one that is marked for each student stands once a student.
    pub criteria: Vec<CriterionMarks>,
}

/// The marks of one criterion.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CriterionMarks {
    /// The criterion's id.
    pub criterion: String,
    /// The student, where each is marked.
    pub student: Option<String>,
    /// Marks out of which it is marked.
    pub out_of: f64,
    /// The smallest step between two marks, where there is one.
    pub step: Option<f64>,
    /// Points that the evidence could earn.
    pub evidence_points: f64,
    /// Points that it earned; none where it is undecided.
    pub suggested: Option<f64>,
    /// Points left to a person.
    pub judged_out_of: f64,
    /// Those that a person gave; none where nobody entered them.
    pub judged: Option<f64>,
    /// What was entered, in the order of time: the latest of each role counts.
    pub entries: Vec<MarkEntry>,
}

/// One mark.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkEntry {
    /// Who marked.
    pub marker: String,
    /// As what.
    pub role: Role,
    /// The mark.
    pub mark: f64,
    /// Why it differs from the suggestion, where the marker said so.
    pub reason: Option<String>,
    /// Where it was entered, where that is known.
    pub place: Option<Place>,
}

/// As what somebody marked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Role {
    /// The first marker.
    First,
    /// A second marker.
    Second,
    /// The moderator, who settles.
    Moderator,
}

/// From where on a level of the total holds.
#[derive(Debug, Clone, PartialEq)]
pub struct Boundary {
    /// The level, or `pass`.
    pub title: String,
    /// Its lowest total.
    pub from: f64,
}

/// A figure with its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Figure {
    /// The estimate.
    pub value: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Reports that it rests on.
    pub n: usize,
}

/// The figures of one marker.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkerFigures {
    /// Who.
    pub marker: String,
    /// Marks of the total above (lenient) or below (severe) those of the other marker, where there are two, else of the markers together, on
    /// the same reports.
    pub severity: Option<Figure>,
    /// The other marker, where there are two.
    pub than: Option<String>,
    /// The spread of the marker's marks over that of the others: 1 where they are alike.
    pub spread: Option<Figure>,
}

impl CriterionMarks {
    /// The latest entry of a role.
    pub fn entry(&self, role: Role) -> Option<&MarkEntry> {
        self.entries.iter().rev().find(|entry| entry.role == role)
    }

    /// The mark that stands: the moderator's, else the first marker's.
    pub fn standing(&self) -> Option<&MarkEntry> {
        self.entry(Role::Moderator)
            .or_else(|| self.entry(Role::First))
    }

    /// The criterion in a sentence: `testing`, `evaluation (s12)`.
    pub fn title(&self) -> String {
        match &self.student {
            Some(student) => format!("{} ({student})", self.criterion),
            None => self.criterion.clone(),
        }
    }

    /// The cells of its entries that are known.
    pub(super) fn places(&self) -> Vec<Place> {
        self.entries
            .iter()
            .filter_map(|entry| entry.place.clone())
            .collect()
    }
}

impl PairMarks {
    /// The total of each student, or of the pair where students are not marked apart; none where a mark is missing. Each with the student.
    pub fn totals(
        &self,
        mark: impl Fn(&CriterionMarks) -> Option<f64>,
    ) -> Vec<(Option<&str>, Option<f64>)> {
        let mut students: Vec<Option<&str>> = Vec::new();
        for student in self
            .criteria
            .iter()
            .filter_map(|criterion| criterion.student.as_deref())
        {
            if !students.contains(&Some(student)) {
                students.push(Some(student));
            }
        }
        if students.is_empty() {
            students.push(None);
        }
        let total = |student: Option<&str>| {
            self.criteria
                .iter()
                .filter(|criterion| {
                    criterion.student.is_none() || criterion.student.as_deref() == student
                })
                .map(&mark)
                .sum()
        };
        students
            .into_iter()
            .map(|student| (student, total(student)))
            .collect()
    }
}
