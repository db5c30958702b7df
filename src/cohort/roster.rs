//! The roster: which students make up which pair, who marks them, and what is special about them.

use std::collections::HashMap;
use std::fmt;
use std::sync::Arc;

use jiff::civil::DateTime;

use crate::configuration::nearest;
use crate::logbook::grid::{Grid, Value};
use crate::number::plain;
use crate::place::Place;

/// A cohort's students and pairs.
#[derive(Debug, Clone, Default)]
pub struct Roster {
    /// The students, in the order of the roster.
    pub students: Vec<Student>,
    /// The pairs' ids, in the order in which the roster first names them.
    pub pairs: Vec<Arc<str>>,
    /// The students of each pair (indices into `students`), by the pair's id as compared.
    members: HashMap<String, Vec<usize>>,
}

/// One student of a pair.
#[derive(Debug, Clone, PartialEq)]
pub struct Student {
    /// The student's id.
    pub id: Arc<str>,
    /// The name; empty where the roster has none.
    pub name: Arc<str>,
    /// The pair's id.
    pub pair: Arc<str>,
    /// The role in the pair, as typed (`coach`, `learner`).
    pub role: Arc<str>,
    /// An address; empty where the roster has none.
    pub email: Arc<str>,
    /// The pair's first marker, where the roster names one.
    pub marker: Option<Arc<str>>,
    /// When the report was due.
    pub due: Option<DateTime>,
    /// When it was handed in.
    pub submitted: Option<DateTime>,
    /// Marks added to (or, negative, taken from) this student's total.
    pub adjust: Option<f64>,
    /// What is special about this student.
    pub status: Status,
    /// Where the student's row stands.
    pub place: Place,
}

/// What is special about a student.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum Status {
    /// Nothing.
    #[default]
    Regular,
    /// Excused from this work.
    Excused,
    /// No longer on the course.
    Withdrawn,
    /// Hands in again later.
    Resubmits,
}

impl Status {
    const ALL: [Self; 4] = [
        Self::Regular,
        Self::Excused,
        Self::Withdrawn,
        Self::Resubmits,
    ];

    /// The word on the roster; empty for a regular student.
    pub fn name(self) -> &'static str {
        match self {
            Self::Regular => "",
            Self::Excused => "excused",
            Self::Withdrawn => "withdrawn",
            Self::Resubmits => "resubmits",
        }
    }

    /// Whether this student is handed back a mark.
    pub fn takes_part(self) -> bool {
        self == Self::Regular
    }
}

/// Everything that is wrong with a roster; nothing is done until it is put right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RosterFaults(pub Vec<String>);

impl fmt::Display for RosterFaults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0.join("\n"))
    }
}

impl std::error::Error for RosterFaults {}

const COLUMNS: [&str; 10] = [
    "student_id",
    "name",
    "pair",
    "role",
    "email",
    "marker",
    "due",
    "submitted",
    "adjust",
    "status",
];
const NEEDED: [&str; 2] = ["student_id", "pair"];

impl Roster {
    /// Reads the roster from its grid. Its first row names the columns; `student_id` and `pair` must be there.
    ///
    /// # Errors
    /// Every fault at once, each with its cell.
    pub fn from_grid(grid: &Grid) -> Result<Self, RosterFaults> {
        let mut faults = Vec::new();
        let columns = read_header(grid, &mut faults);
        let mut roster = Self::default();
        let mut seen: HashMap<String, Place> = HashMap::new();
        for row in 1..grid.rows() {
            if grid.row(row).is_empty() {
                continue;
            }
            let reader = Line {
                grid,
                row,
                columns: &columns,
            };
            let Some(student) = reader.student(&mut faults) else {
                continue;
            };
            let place = reader.place("student_id");
            if let Some(first) = seen.insert(compared(&student.id), place.clone()) {
                faults.push(format!(
                    "{place}: student {} stands on the roster twice (first in {first})",
                    student.id
                ));
            }
            roster.add(student);
        }
        if roster.students.is_empty() && faults.is_empty() {
            faults.push(format!("{}: there is no student on this roster", grid.file));
        }
        if faults.is_empty() {
            Ok(roster)
        } else {
            Err(RosterFaults(faults))
        }
    }

    fn add(&mut self, student: Student) {
        let members = self.members.entry(compared(&student.pair)).or_default();
        if members.is_empty() {
            self.pairs.push(student.pair.clone());
        }
        members.push(self.students.len());
        self.students.push(student);
    }

    /// The students of a pair.
    pub fn of_pair(&self, pair: &str) -> impl Iterator<Item = &Student> {
        self.members
            .get(&compared(pair))
            .into_iter()
            .flatten()
            .filter_map(|index| self.students.get(*index))
    }

    /// The pair's id as the roster first writes it.
    pub fn pair(&self, id: &str) -> Option<&Arc<str>> {
        self.of_pair(id).next().map(|student| &student.pair)
    }

    /// Whether any student of the pair is still to be marked.
    pub fn takes_part(&self, pair: &str) -> bool {
        self.of_pair(pair)
            .any(|student| student.status.takes_part())
    }

    /// The first marker that the roster names for a pair.
    pub fn marker(&self, pair: &str) -> Option<&Arc<str>> {
        self.of_pair(pair)
            .find_map(|student| student.marker.as_ref())
    }
}

/// An id as it is compared: whole, without case and without spaces around.
pub fn compared(id: &str) -> String {
    id.trim().to_lowercase()
}

fn read_header(grid: &Grid, faults: &mut Vec<String>) -> HashMap<&'static str, u32> {
    let mut columns = HashMap::new();
    for cell in grid.row(0) {
        let text = text_of(&cell.value);
        let plain = text.trim().to_lowercase().replace([' ', '-'], "_");
        if let Some(name) = COLUMNS.iter().find(|name| **name == plain) {
            columns.entry(*name).or_insert(cell.column);
        } else if let Some(near) = nearest(&plain, COLUMNS) {
            faults.push(format!(
                "{}: there is no roster column `{text}`; did you mean `{near}`?",
                grid.place(0, cell.column)
            ));
        }
        // Any other column is the course's own: a roster is often an export with more in it.
    }
    for name in NEEDED {
        if !columns.contains_key(name) {
            faults.push(format!(
                "{}: the roster needs a column `{name}` in its first row (it may have: {})",
                grid.file,
                COLUMNS.join(", ")
            ));
        }
    }
    columns
}

struct Line<'a> {
    grid: &'a Grid,
    row: u32,
    columns: &'a HashMap<&'static str, u32>,
}

impl Line<'_> {
    fn place(&self, column: &str) -> Place {
        let column = self.columns.get(column).copied().unwrap_or(0);
        self.grid.place(self.row, column)
    }

    fn value(&self, column: &str) -> Option<&Value> {
        let column = self.columns.get(column)?;
        self.grid.get(self.row, *column).map(|cell| &cell.value)
    }

    fn text(&self, column: &str) -> Arc<str> {
        self.value(column)
            .map(text_of)
            .unwrap_or_default()
            .trim()
            .into()
    }

    fn student(&self, faults: &mut Vec<String>) -> Option<Student> {
        let id = self.text("student_id");
        let pair = self.text("pair");
        for (column, value) in [("student_id", &id), ("pair", &pair)] {
            if value.is_empty() && self.columns.contains_key(column) {
                faults.push(format!("{}: `{column}` is empty", self.place(column)));
            }
        }
        let status = self.text("status");
        let status = Status::ALL
            .into_iter()
            .find(|known| known.name() == status.to_lowercase())
            .unwrap_or_else(|| {
                faults.push(format!(
                    "{}: `{status}` is no status: leave it empty, or write excused, withdrawn or resubmits",
                    self.place("status")
                ));
                Status::Regular
            });
        let adjust = self.text("adjust");
        let adjust = match adjust.replace('−', "-").replace(',', ".").parse::<f64>() {
            _ if adjust.is_empty() => None,
            Ok(number) if number.is_finite() => Some(number),
            _ => {
                faults.push(format!(
                    "{}: `{adjust}` is no number of marks",
                    self.place("adjust")
                ));
                None
            }
        };
        let due = self.moment("due", faults);
        let submitted = self.moment("submitted", faults);
        let marker = self.text("marker");
        (!id.is_empty() && !pair.is_empty()).then(|| Student {
            id,
            name: self.text("name"),
            pair,
            role: self.text("role"),
            email: self.text("email"),
            marker: (!marker.is_empty()).then_some(marker),
            due,
            submitted,
            adjust,
            status,
            place: self.place("student_id"),
        })
    }

    /// A day with or without a time; a day alone is its first moment, but a day on which something is due lasts to its end.
    fn moment(&self, column: &str, faults: &mut Vec<String>) -> Option<DateTime> {
        let end_of_day = column == "due";
        let whole_day = |date: jiff::civil::Date| {
            if end_of_day {
                date.at(23, 59, 59, 0)
            } else {
                date.at(0, 0, 0, 0)
            }
        };
        if let Some(Value::Date(moment)) = self.value(column) {
            let midnight = moment.time() == jiff::civil::Time::midnight();
            return Some(if midnight {
                whole_day(moment.date())
            } else {
                *moment
            });
        }
        let text = self.text(column);
        if text.is_empty() {
            return None;
        }
        if let Ok(date) = text.parse::<jiff::civil::Date>()
            && !text.contains([':', 'T'])
        {
            return Some(whole_day(date));
        }
        let read = text.trim_end_matches('Z').parse::<DateTime>().ok();
        if read.is_none() {
            faults.push(format!(
                "{}: `{text}` is no date that can be read: write 2026-03-09, or 2026-03-09 17:00",
                self.place(column)
            ));
        }
        read
    }
}

fn text_of(value: &Value) -> String {
    match value {
        Value::Text(text) | Value::Error(text) => text.to_string(),
        Value::Number(number) => plain(*number),
        Value::Truth(truth) => truth.to_string(),
        Value::Date(moment) => moment.to_string(),
        Value::Duration(days) => plain(*days),
        Value::Time(time) => time.to_string(),
        Value::NotCalculated => String::new(),
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    fn grid(rows: &[&[&str]]) -> Grid {
        let lines: Vec<String> = rows.iter().map(|cells| cells.join("|")).collect();
        Grid::from_text("roster.csv", &lines)
    }

    /// A roster from rows of text.
    pub(in crate::cohort) fn roster(rows: &[&[&str]]) -> Roster {
        Roster::from_grid(&grid(rows)).unwrap()
    }

    #[test]
    fn pairs_stand_in_the_order_of_the_roster() {
        let roster = Roster::from_grid(&grid(&[
            &[
                "Student ID",
                "name",
                "pair",
                "role",
                "due",
                "adjust",
                "status",
            ],
            &["s2", "Ines Pardo", "P10", "coach", "2026-03-09", "-1,5", ""],
            &[
                "s1",
                "Tam Okoro",
                "P2",
                "learner",
                "2026-03-09 17:00",
                "",
                "excused",
            ],
            &["s3", "Lu Brandt", "p10", "learner", "", "", ""],
        ]))
        .unwrap();
        assert_eq!(roster.pairs, ["P10".into(), "P2".into()] as [Arc<str>; 2]);
        assert_eq!(roster.of_pair("P10").count(), 2);
        let first = roster.students.first().unwrap();
        assert_eq!(first.adjust, Some(-1.5));
        assert_eq!(first.due.unwrap().to_string(), "2026-03-09T23:59:59");
        assert!(!roster.takes_part("P2"));
    }

    #[test]
    fn every_fault_is_named_with_its_place() {
        let faults = Roster::from_grid(&grid(&[
            &["student_id", "pair", "statsu", "due", "adjust"],
            &["s1", "", "x", "someday", "a lot"],
            &["S1", "P1"],
            &["s1", "P1"],
        ]))
        .unwrap_err();
        let text = faults.to_string();
        for part in [
            "did you mean `status`",
            "`pair` is empty",
            "line 2, field 4",
            "`a lot`",
            "twice",
        ] {
            assert!(text.contains(part), "{part}: {text}");
        }
    }
}
