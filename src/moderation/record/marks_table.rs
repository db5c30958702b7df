//! The marks in force, and what pairs lack.

use std::sync::Arc;

use super::Recorded;
use crate::marking::settle::{CriterionMark, SettledPair};
use crate::number::readable;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;

/// Marks of students one after the other; of a pair, the one.
fn joined(marks: &[CriterionMark], of: impl Fn(&CriterionMark) -> Option<f64>) -> CellContent {
    match marks {
        [only] => of(only).into(),
        several => {
            let texts = several
                .iter()
                .map(|mark| of(mark).map_or_else(|| String::from("–"), readable));
            texts.collect::<Vec<_>>().join("; ").into()
        }
    }
}

/// A row a pair.
pub(super) fn marks_table(of: &Recorded<'_>) -> ReportTable {
    let mut columns = vec![Column::shown("pair", "Pair", 10.0, Look::Text)];
    for criterion in &of.shown.rubric.criteria {
        columns.push(Column::shown(
            format!("of {}", criterion.id),
            format!("{} (of {})", criterion.title, readable(criterion.marks)),
            15.0,
            Look::Decimal,
        ));
    }
    columns.push(Column::shown(
        "shift",
        "Shift of totals",
        11.0,
        Look::Decimal,
    ));
    columns.push(Column::shown("total", "Total", 12.0, Look::Decimal));
    columns.push(Column::shown("lacks", "What it lacks", 60.0, Look::Wrapped));
    let rows = of.settled.iter().map(|settled| {
        let mut row: Vec<CellContent> = vec![(*settled.pair).into()];
        for criterion in &settled.criteria {
            row.push(joined(&criterion.marks, CriterionMark::mark));
        }
        row.push(settled.total_shift.into());
        row.push(total(of, settled));
        row.push(settled.lacks.join("; ").into());
        row
    });
    ReportTable::plain(
        "Marks",
        "The marks in force",
        "Shifts of a marker's criterion are in the marks; lateness and students' own adjustments are not: they are in returned/marks.csv. Marks for each of two students stand one after the other.",
        columns,
        rows.collect(),
    )
}

/// A pair's total, or its students' totals one after the other.
fn total(of: &Recorded<'_>, settled: &SettledPair) -> CellContent {
    let students: Vec<Option<Arc<str>>> = settled
        .criteria
        .iter()
        .find(|criterion| criterion.marks.len() > 1)
        .map_or_else(
            || vec![None],
            |criterion| {
                criterion
                    .marks
                    .iter()
                    .map(|mark| mark.student.clone())
                    .collect()
            },
        );
    let totals: Option<Vec<f64>> = students
        .iter()
        .map(|student| {
            let marks = settled.criteria.iter().map(|criterion| {
                criterion
                    .of_student(student.as_deref().unwrap_or(""))?
                    .mark()
            });
            let sum = marks.sum::<Option<f64>>()? + settled.total_shift;
            Some(sum.max(0.0).min(of.shown.rubric.out_of))
        })
        .collect();
    match totals.as_deref() {
        None => CellContent::Empty,
        Some([only]) => (*only).into(),
        Some(several) => several
            .iter()
            .map(|total| readable(*total))
            .collect::<Vec<_>>()
            .join("; ")
            .into(),
    }
}
