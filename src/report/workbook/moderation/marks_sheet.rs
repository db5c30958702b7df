//! The sheet to mark in: a row a pair; for each criterion the suggestion, its evidence, and the cell for the mark; total, level, comment.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::checks::{self, Weight};
use crate::claims::Verdict;
use crate::examination::PairResult;
use crate::ledger::{Held, Slot, Subject, markers_differ};
use crate::number::readable;
use crate::place::cell_name;
use crate::report::history::subject_in_words;
use crate::report::wording::evidence_summary;
use crate::report::workbook::sheet::{CellContent, Column, EntryRule, TableSheet};
use crate::report::workbook::style::Look;
use crate::rubric::{Criterion, CriterionSuggestion, Each, Rubric};
use crate::wording::counted;

/// The sheet's own name.
pub const NAME: &str = "Marks";

/// One cell to fill in: the criterion, and for criteria of single students which of the pair's two.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MarkCell {
    /// The criterion's id.
    pub criterion: String,
    /// The student's place in the pair, from 0; none for a mark of the pair.
    pub student: Option<usize>,
}

impl MarkCell {
    /// The key of its column: `mark testing`, `mark teamwork#2`.
    pub fn key(&self) -> String {
        match self.student {
            None => format!("mark {}", self.criterion),
            Some(index) => format!("mark {}#{}", self.criterion, index + 1),
        }
    }

    /// The cell whose column has this key.
    pub fn from_key(key: &str) -> Option<Self> {
        let rest = key.strip_prefix("mark ")?;
        Some(match rest.rsplit_once('#') {
            Some((criterion, number)) => Self {
                criterion: criterion.to_owned(),
                student: Some(number.parse::<usize>().ok()?.checked_sub(1)?),
            },
            None => Self {
                criterion: rest.to_owned(),
                student: None,
            },
        })
    }
}

/// The cells to fill in for a criterion.
pub fn mark_cells(criterion: &Criterion) -> Vec<MarkCell> {
    let cell = |student| MarkCell {
        criterion: criterion.id.clone(),
        student,
    };
    match criterion.each {
        Each::Pair => vec![cell(None)],
        Each::Student => vec![cell(Some(0)), cell(Some(1))],
    }
}

/// The columns before the first criterion.
const BEFORE: usize = 5;

/// The columns.
pub fn columns(rubric: &Rubric) -> Vec<Column> {
    let mut columns = vec![
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("skill", "Skill", 18.0, Look::Wrapped),
        Column::shown("findings", "Findings", 14.0, Look::Wrapped),
        Column::shown("claims", "Claims that differ", 11.0, Look::Wrapped),
        Column::shown("attention", "To look at first", 22.0, Look::Wrapped),
    ];
    for criterion in &rubric.criteria {
        let group = format!("{} (of {})", criterion.title, readable(criterion.marks));
        columns.push(
            Column::shown(
                format!("suggested {}", criterion.id),
                "Evidence gives",
                10.0,
                Look::Wrapped,
            )
            .under(&group),
        );
        columns.push(
            Column::shown(
                format!("evidence {}", criterion.id),
                "Evidence",
                34.0,
                Look::Wrapped,
            )
            .under(&group),
        );
        for cell in mark_cells(criterion) {
            let title = match cell.student {
                None => String::from("Mark"),
                Some(index) => format!("Mark, student {}", index + 1),
            };
            let rule = EntryRule::Number {
                least: 0.0,
                most: criterion.marks,
            };
            columns.push(Column::entry(cell.key(), title, 8.0, rule).under(&group));
        }
    }
    for student in totals(rubric) {
        let (key, title) = match student {
            None => (
                String::from("total"),
                format!("Total of {}", readable(rubric.out_of)),
            ),
            Some(index) => (
                format!("total#{}", index + 1),
                format!(
                    "Total of {}, student {}",
                    readable(rubric.out_of),
                    index + 1
                ),
            ),
        };
        columns.push(Column::shown(key, title, 9.0, Look::Total));
    }
    columns.push(Column::shown("level", "Level", 14.0, Look::Text));
    columns.push(Column::entry(
        "comment overall",
        "Comment for the pair",
        44.0,
        EntryRule::Text,
    ));
    columns
}

/// The totals that the sheet shows: one for the pair, or one for each of its students.
pub fn totals(rubric: &Rubric) -> Vec<Option<usize>> {
    if rubric
        .criteria
        .iter()
        .any(|criterion| criterion.each == Each::Student)
    {
        vec![Some(0), Some(1)]
    } else {
        vec![None]
    }
}

/// The sheet being written.
pub(super) struct MarksSheet<'a> {
    book: &'a Moderation<'a>,
    columns: Vec<Column>,
    table: TableSheet<'a, Worksheet>,
}

impl<'a> MarksSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let columns = columns(book.rubric);
        let hint = "Fill in the green cells; everything else is locked (no password). A suggestion is evidence points earned out of those that the data settle; the rest is yours to judge.";
        let table = TableSheet::begin(sheet, book.looks, NAME, "Marks", hint, columns.clone())?;
        Ok(Self {
            book,
            columns,
            table,
        })
    }

    /// Adds a pair.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, result: &PairResult) -> Result<(), XlsxError> {
        let row = row_of(self.book, result, &self.columns, self.table.next_row());
        self.table.row(row)
    }

    /// Finishes the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(self) -> Result<Worksheet, XlsxError> {
        let mut sheet = self.table.finish(1)?;
        // Too many columns for one sheet of paper: two beside each other, the pair on both.
        sheet.set_paper_size(8);
        sheet.set_print_fit_to_pages(2, 0);
        sheet.set_repeat_columns(0, 0)?;
        Ok(sheet)
    }
}

fn row_of(
    book: &Moderation<'_>,
    result: &PairResult,
    columns: &[Column],
    row: u32,
) -> Vec<CellContent> {
    let mut cells: Vec<CellContent> = vec![
        (&*result.pair).into(),
        result.skill.as_deref().into(),
        findings_in_words(result).into(),
        claims_in_words(result).into(),
        attention(book, result).into(),
    ];
    for criterion in &book.rubric.criteria {
        let suggestion = result
            .suggestions
            .iter()
            .find(|suggestion| suggestion.criterion == criterion.id);
        cells.push(suggestion.map(suggestion_in_words).into());
        cells.push(suggestion.map(evidence_summary).into());
        for cell in mark_cells(criterion) {
            let held = book.held(
                &result.pair,
                &Subject::Mark(criterion.id.clone()),
                cell.student,
            );
            cells.push(match held.map(|held| held.value.parse::<f64>()) {
                Some(Ok(mark)) => mark.into(),
                _ => CellContent::Empty,
            });
        }
    }
    let totals = totals(book.rubric);
    let mut first_total = None;
    for student in totals {
        let (formula, sum) = total(columns, &cells, row, student);
        first_total = first_total.or(Some((cells.len(), sum)));
        cells.push(CellContent::Formula {
            formula,
            result: sum.map(crate::number::plain).unwrap_or_default(),
        });
    }
    if let Some((column, sum)) = first_total {
        cells.push(level(book.rubric, row, column, sum));
    }
    let comment = book.held(&result.pair, &Subject::Comment("overall".into()), None);
    cells.push(comment.map(|held| held.value).into());
    cells
}

/// How many findings of each weight.
pub fn findings_in_words(result: &PairResult) -> String {
    if result.hand_in.is_none() && result.findings.is_empty() {
        return String::from("nothing read");
    }
    let parts: Vec<String> = [Weight::Error, Weight::Concern, Weight::Query]
        .into_iter()
        .map(|weight| (weight, result.count(weight)))
        .filter(|(_, count)| *count > 0)
        .map(|(weight, count)| counted(count, weight.name()))
        .collect();
    if parts.is_empty() {
        String::from("none")
    } else {
        parts.join(", ")
    }
}

fn claims_in_words(result: &PairResult) -> String {
    let wrong = result.claims_with(Verdict::Differs) + result.claims_with(Verdict::Impossible);
    format!("{wrong} of {}", result.claims.len())
}

/// `3 of 5`.
pub fn suggestion_in_words(suggestion: &CriterionSuggestion) -> String {
    if suggestion.out_of > 0.0 {
        format!(
            "{} of {}",
            readable(suggestion.suggested),
            readable(suggestion.out_of)
        )
    } else {
        String::from("nothing settled")
    }
}

/// What stands open between files or markers, and what changed since a mark was entered.
fn attention(book: &Moderation<'_>, result: &PairResult) -> String {
    let Some(state) = book.state.pair(&result.pair) else {
        return String::new();
    };
    let mut lines = Vec::new();
    for (key, held) in state.open_conflicts() {
        let others: Vec<&str> = held
            .conflicts
            .iter()
            .map(|conflict| conflict.value.as_str())
            .collect();
        lines.push(format!(
            "{}: {} or {}? Two files disagree",
            subject_in_words(&key.subject, book.rubric, Some(result)),
            held.value,
            others.join(" or ")
        ));
    }
    for criterion in &book.rubric.criteria {
        let subject = Subject::Mark(criterion.id.clone());
        let first = state.in_slot(&subject, "", Slot::First);
        let second = state.in_slot(&subject, "", Slot::Second);
        let decided = state.in_slot(&subject, "", Slot::Deciding);
        if let (Some(first), Some(second), None) = (first, second, decided)
            && first.value != second.value
        {
            lines.push(format!(
                "{}: {} by {} (first), {} by {} (second). Enter the mark to settle it",
                criterion.title, first.value, first.who, second.value, second.who
            ));
        }
    }
    for finding in &result.findings {
        if let Some((first, second)) =
            markers_differ(book.state, Some(result), &result.pair, finding)
        {
            let title = checks::find(finding.check).map_or(finding.check, |check| check.title);
            lines.push(format!(
                "{title}: {} by {}, {} by {}. Decide on the sheet Findings",
                first.value, first.who, second.value, second.who
            ));
        }
    }
    if let Some(why) = changed_since(book, result) {
        lines.push(why);
    }
    lines.join("\n")
}

/// Whether the hand-in or the rubric is another one than that under which a mark in force was entered.
fn changed_since(book: &Moderation<'_>, result: &PairResult) -> Option<String> {
    let marks: Vec<&Held> = book
        .state
        .pair(&result.pair)?
        .all()
        .filter(|(key, _)| matches!(key.subject, Subject::Mark(_)))
        .map(|(_, held)| held)
        .collect();
    let entry = |held: &Held| book.entries.get(held.line);
    let digest = result
        .hand_in
        .as_ref()
        .map(|hand_in| hand_in.digest.as_str());
    let handed_in_again = marks.iter().filter_map(|held| entry(held)).any(|entry| {
        !entry.hand_in.is_empty() && digest.is_some_and(|digest| digest != entry.hand_in)
    });
    let other_rubric = marks
        .iter()
        .filter_map(|held| entry(held))
        .any(|entry| !entry.rubric.is_empty() && entry.rubric != book.rubric_digest);
    match (handed_in_again, other_rubric) {
        (true, true) => Some(String::from(
            "hand-in and rubric changed since it was marked",
        )),
        (true, false) => Some(String::from("handed in again since it was marked")),
        (false, true) => Some(String::from("the rubric changed since it was marked")),
        (false, false) => None,
    }
}

/// The formula of a total and what it gives now: the sum once every mark is there.
pub fn total(
    columns: &[Column],
    cells: &[CellContent],
    row: u32,
    student: Option<usize>,
) -> (String, Option<f64>) {
    let mut names = Vec::new();
    let mut marks = Vec::new();
    for ((index, column), content) in (0_u32..).zip(columns).zip(cells).skip(BEFORE) {
        let Some(cell) = MarkCell::from_key(&column.key) else {
            continue;
        };
        if cell.student.is_none() || cell.student == student {
            names.push(cell_name(row, index));
            if let CellContent::Number(mark) = content {
                marks.push(*mark);
            }
        }
    }
    let list = names.join(",");
    let formula = format!("IF(COUNT({list})={},SUM({list}),\"\")", names.len());
    let sum = (marks.len() == names.len()).then(|| marks.iter().sum());
    (formula, sum)
}

/// The level of a total, live.
pub fn level(rubric: &Rubric, row: u32, total_column: usize, sum: Option<f64>) -> CellContent {
    let name = cell_name(row, u32::try_from(total_column).unwrap_or(u32::MAX));
    let mut formula = String::from("\"\"");
    // From the lowest up, so that the highest is asked first.
    for level in rubric.levels.iter().rev() {
        let title = level.title.replace('"', "\"\"");
        formula = format!(
            "IF({name}>={},\"{title}\",{formula})",
            crate::number::plain(level.from)
        );
    }
    let result = sum
        .and_then(|sum| rubric.level(sum))
        .map_or_else(String::new, |level| level.title.clone());
    CellContent::Formula {
        formula: format!("IF({name}=\"\",\"\",{formula})"),
        result,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_of_a_mark_reads_back() {
        for student in [None, Some(0), Some(1)] {
            let cell = MarkCell {
                criterion: "testing".into(),
                student,
            };
            assert_eq!(MarkCell::from_key(&cell.key()), Some(cell));
        }
        assert_eq!(MarkCell::from_key("comment overall"), None);
    }
}
