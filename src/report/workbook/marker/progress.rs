//! How far the marker is: formulas that count what is entered, by pair and never by place, and what they give now.

use rust_xlsxwriter::{Formula, Worksheet, XlsxError};

use super::marks_sheet::{ENTRY, KIND, PAIR, pair_cell, range};
use super::words::to_discuss;
use super::{Assigned, MarkerBook};
use crate::ledger::Subject;
use crate::number::{plain, readable};
use crate::place::cell_name;
use crate::report::workbook::moderation::marks_sheet::{mark_cells, totals};
use crate::report::workbook::sheet::{CellContent, clean};
use crate::report::workbook::style::Look;
use crate::rubric::CriterionSuggestion;

/// The hidden column of criteria.
const CRITERION: u32 = 7;

/// `COUNTIFS` of a pair's rows of one kind that hold a number.
fn count(pair: &str, kind: &str, last: u32) -> String {
    format!(
        "COUNTIFS({},{pair},{},\"{kind}\",{},\">=0\")",
        range(PAIR, last),
        range(KIND, last),
        range(ENTRY, last)
    )
}

/// `SUMIFS` of the numbers in a pair's rows of one kind.
fn sum(pair: &str, kind: &str, last: u32) -> String {
    format!(
        "SUMIFS({},{},{pair},{},\"{kind}\")",
        range(ENTRY, last),
        range(PAIR, last),
        range(KIND, last)
    )
}

/// What a criterion's suggestion comes from.
pub struct Gives<'a> {
    /// The suggestion.
    pub suggestion: &'a CriterionSuggestion,
    /// The criterion's marks.
    pub of: f64,
    /// How many questions it has.
    pub judged: usize,
    /// The points given for them now, where all are.
    pub points: Option<f64>,
    /// Whether its mark is entered now.
    pub marked: bool,
    /// Whether nothing is to be seen before it is.
    pub after: bool,
}

/// What the evidence of a criterion gives, and with the points for its questions; the mark's row is `at`.
pub fn gives(of: &Gives<'_>, at: u32, last: u32) -> CellContent {
    let alone = format!(
        "{} of {}",
        readable(of.suggestion.suggested),
        readable(of.suggestion.out_of)
    );
    let with = |points: f64| {
        format!(
            "{alone}\nwith your points {} of {}",
            readable(of.suggestion.suggested + points),
            readable(of.of)
        )
    };
    let mut now = match of.points {
        Some(points) if of.judged > 0 => with(points),
        _ => alone.clone(),
    };
    let mut formula = format!("\"{alone}\"");
    if of.judged > 0 {
        let pair = pair_cell(at);
        let criterion = cell_name(at, CRITERION);
        let (pairs, kinds, criteria, entries) = (
            range(PAIR, last),
            range(KIND, last),
            range(CRITERION, last),
            range(ENTRY, last),
        );
        let rows = format!("{pairs},{pair},{kinds},\"points\",{criteria},{criterion}");
        formula = format!(
            "IF(COUNTIFS({rows},{entries},\">=0\")={},\"{alone}\"&CHAR(10)&\"with your points \"&ROUND({}+SUMIFS({entries},{rows}),4)&\" of {}\",\"{alone}\")",
            of.judged,
            plain(of.suggestion.suggested),
            readable(of.of)
        );
    }
    if of.after {
        // A criterion with a mark a student shows it once the first stands.
        formula = format!("IF(COUNT({})=0,\"\",{formula})", cell_name(at, ENTRY));
        if !of.marked {
            now = String::new();
        }
    }
    CellContent::Formula {
        formula,
        result: now,
    }
}

/// How many of a pair's marks are entered, and how many there are.
fn entered(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> (usize, usize) {
    let (mut all, mut entered) = (0, 0);
    for criterion in &book.rubric.criteria {
        let subject = Subject::Mark(criterion.id.clone());
        for cell in mark_cells(criterion) {
            all += 1;
            entered += usize::from(book.held(pair, &subject, cell.student).is_some());
        }
    }
    (entered, all)
}

/// The totals of a pair that are there now: one for the pair, or one for each of its students.
fn totals_now(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> Vec<Option<f64>> {
    let of = |student: Option<usize>| {
        let cells = book.rubric.criteria.iter().flat_map(mark_cells);
        let marks = cells
            .filter(|cell| cell.student.is_none() || cell.student == student)
            .map(|cell| {
                let subject = Subject::Mark(cell.criterion.clone());
                let held = book.held(pair, &subject, cell.student)?;
                held.value.parse::<f64>().ok()
            });
        marks.sum()
    };
    totals(book.rubric).into_iter().map(of).collect()
}

/// The sum of a pair's marks, or of those of one of its students, as a formula.
fn total_formula(pair: &str, student: Option<usize>, last: u32) -> String {
    let of_pair = sum(pair, "mark", last);
    match student {
        None => of_pair,
        Some(index) => format!(
            "{of_pair}+{}",
            sum(pair, &format!("mark {}", index + 1), last)
        ),
    }
}

/// The word for how far a pair is, as a formula and now.
pub fn word(book: &MarkerBook<'_>, pair: &Assigned<'_>, cell: &str, last: u32) -> CellContent {
    let (now, all) = entered(book, pair);
    let count = count(cell, "mark*", last);
    let result = match now {
        0 => "left",
        _ if now == all => "done",
        _ => "begun",
    };
    CellContent::Formula {
        formula: format!("IF({count}={all},\"done\",IF({count}=0,\"left\",\"begun\"))"),
        result: result.to_owned(),
    }
}

/// The totals of a pair as formulas, once all marks are there, and now.
pub fn totals_of(
    book: &MarkerBook<'_>,
    pair: &Assigned<'_>,
    cell: &str,
    last: u32,
) -> Vec<CellContent> {
    let (_, all) = entered(book, pair);
    let complete = count(cell, "mark*", last);
    totals(book.rubric)
        .into_iter()
        .zip(totals_now(book, pair))
        .map(|(student, now)| CellContent::Formula {
            formula: format!(
                "IF({complete}={all},{},\"\")",
                total_formula(cell, student, last)
            ),
            result: now.map(plain).unwrap_or_default(),
        })
        .collect()
}

/// What the last row of a pair's part says: how many marks are entered, and the total.
pub fn of_part(book: &MarkerBook<'_>, pair: &Assigned<'_>, at: u32, last: u32) -> (String, String) {
    let (now, all) = entered(book, pair);
    let cell = pair_cell(at);
    let count = count(&cell, "mark*", last);
    let out_of = readable(book.rubric.out_of);
    let mut formula = vec![format!("{count}&\" of {all} marks entered\"")];
    let mut result = vec![format!("{now} of {all} marks entered")];
    for (student, total) in totals(book.rubric).into_iter().zip(totals_now(book, pair)) {
        let name = match student {
            None => String::from("total"),
            Some(index) => format!("total of student {}", index + 1),
        };
        formula.push(format!(
            "IF({count}={all},\"; {name} \"&ROUND({},4)&\" of {out_of}\",\"\")",
            total_formula(&cell, student, last)
        ));
        result.extend(total.map(|total| format!("{name} {} of {out_of}", readable(total))));
    }
    (formula.join("&"), result.join("; "))
}

/// How far the marker is, live, over the table: by the sheet of pairs, which has a row for each.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write_line(sheet: &mut Worksheet, book: &MarkerBook<'_>) -> Result<(), XlsxError> {
    let pairs = book.pairs.len();
    let (progress, discuss) = super::pairs_sheet::progress_ranges(pairs);
    let formula = format!(
        "\"Done: \"&COUNTIF({progress},\"done\")&\" of {pairs}   Left: \"&({pairs}-COUNTIF({progress},\"done\"))&\"   To discuss: \"&COUNTIF({discuss},\"?*\")"
    );
    let done = book.pairs.iter().filter(|pair| {
        let (now, all) = entered(book, pair);
        now == all
    });
    let done = done.count();
    let discussed = book
        .pairs
        .iter()
        .filter(|pair| !to_discuss(book, pair).is_empty());
    let result = format!(
        "Done: {done} of {pairs}   Left: {}   To discuss: {}",
        pairs - done,
        discussed.count()
    );
    let formula = Formula::new(formula).set_result(clean(&result));
    sheet.write_formula_with_format(2, 0, formula, book.looks.of(Look::Hint))?;
    Ok(())
}
