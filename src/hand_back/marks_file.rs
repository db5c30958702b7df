//! `returned/marks.csv`: every student's marks, line by line, from what people entered to the final mark.

use super::final_mark::{FinalMark, Finishing};
use crate::cohort::Roster;
use crate::cohort::roster::Student;
use crate::marking::settle::{SettledPair, TOTAL};
use crate::report::csv_rows::{CsvRows, Field};

/// The columns.
pub const COLUMNS: [&str; 11] = [
    "student_id",
    "pair",
    "role",
    "criterion",
    "mark",
    "out_of",
    "raw",
    "shift",
    "adjust",
    "late",
    "final",
];

/// A student to whom marks are handed back; without a roster, a pair.
#[derive(Debug, Clone)]
pub struct Returned<'a> {
    /// The student; none where there is no roster.
    pub student: Option<&'a Student>,
    /// The student's pair.
    pub pair: &'a SettledPair,
    /// The final mark.
    pub mark: FinalMark,
}

/// Everybody to whom marks of complete pairs are handed back, in the order of the pairs.
pub fn returned<'a>(
    pairs: &[&'a SettledPair],
    roster: Option<&'a Roster>,
    finishing: &Finishing<'_>,
) -> Vec<Returned<'a>> {
    let mut all = Vec::new();
    for pair in pairs {
        let of = |student: Option<&'a Student>| {
            Some(Returned {
                student,
                pair,
                mark: finishing.final_mark(pair, student)?,
            })
        };
        match roster {
            None => all.extend(of(None)),
            Some(roster) => all.extend(
                roster
                    .of_pair(&pair.pair)
                    .filter(|student| student.status.takes_part())
                    .filter_map(|student| of(Some(student))),
            ),
        }
    }
    all
}

/// The rows of the file: a row a criterion, the total last.
pub fn rows(all: &[Returned<'_>], out_of: f64) -> CsvRows {
    let mut rows = CsvRows::with_header(&COLUMNS);
    for one in all {
        let id = one.student.map_or("", |student| &*student.id);
        let role = one.student.map_or("", |student| &*student.role);
        for criterion in &one.pair.criteria {
            let Some(mark) = criterion.of_student(id) else {
                continue;
            };
            rows.row([
                id.into(),
                Field::from(&*one.pair.pair),
                role.into(),
                Field::from(&criterion.id),
                mark.mark().into(),
                criterion.out_of.into(),
                mark.raw.into(),
                mark.shift.into(),
                Field::Empty,
                Field::Empty,
                mark.mark().into(),
            ]);
        }
        rows.row([
            id.into(),
            Field::from(&*one.pair.pair),
            role.into(),
            TOTAL.into(),
            one.mark.mark().into(),
            out_of.into(),
            one.mark.raw.into(),
            one.mark.shift.into(),
            one.mark.adjust.unwrap_or(0.0).into(),
            one.mark.late.into(),
            one.mark.result.into(),
        ]);
    }
    rows
}
