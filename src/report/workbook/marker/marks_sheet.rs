//! The sheet to mark in: a row a pair; for each criterion what the evidence says, cells for judged points, the mark and a comment.

use rust_xlsxwriter::{Formula, Worksheet, XlsxError};

use super::{Assigned, MarkerBook, MarkingAs, note};
use crate::claims::Verdict;
use crate::examination::PairResult;
use crate::ledger::{PairState, Slot, Subject};
use crate::number::readable;
use crate::place::cell_name;
use crate::report::wording::{claim_in_words, id_in_words};
use crate::report::workbook::moderation::marks_sheet::{
    findings_in_words, level, mark_cells, suggestion_in_words, total, totals,
};
use crate::report::workbook::sheet::{
    CellContent, Column, EntryRule, FIRST_ROW, HEADER_ROW, TableSheet, clean,
};
use crate::report::workbook::style::Look;
use crate::report::workbook::written::Written;
use crate::rubric::{Criterion, CriterionSuggestion, EvidenceOutcome, Rubric};

/// The sheet's own name.
pub const NAME: &str = "Marks";

/// The columns.
pub fn columns(rubric: &Rubric) -> Vec<Column> {
    let mut columns = vec![
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("role", "Marking as", 11.0, Look::Wrapped),
        Column::shown("progress", "Progress", 9.0, Look::Text),
        Column::shown("discuss", "To discuss", 18.0, Look::Wrapped),
        Column::shown("skill", "Skill", 18.0, Look::Wrapped),
        Column::shown("findings", "Findings", 14.0, Look::Wrapped),
        Column::shown("claims", "Claims that differ", 34.0, Look::Wrapped),
    ];
    for criterion in &rubric.criteria {
        let group = format!("{} (of {})", criterion.title, readable(criterion.marks));
        if !criterion.evidence.is_empty() {
            let key = format!("suggested {}", criterion.id);
            columns.push(Column::shown(key, "Evidence gives", 10.0, Look::Wrapped).under(&group));
            let key = format!("evidence {}", criterion.id);
            columns.push(Column::shown(key, "Evidence", 44.0, Look::Wrapped).under(&group));
        }
        for judged in &criterion.judged {
            let key = format!("judged {}/{}", criterion.id, judged.id);
            let title = format!("{} (of {})", judged.asks, readable(judged.points));
            columns.push(Column::entry(key, title, 20.0, points(judged.points)).under(&group));
        }
        for cell in mark_cells(criterion) {
            let title = match cell.student {
                None => String::from("Mark"),
                Some(index) => format!("Mark, student {}", index + 1),
            };
            columns
                .push(Column::entry(cell.key(), title, 8.0, points(criterion.marks)).under(&group));
        }
        let key = format!("comment {}", criterion.id);
        columns.push(Column::entry(key, "Comment", 44.0, EntryRule::Text).under(&group));
    }
    for student in totals(rubric) {
        let of = readable(rubric.out_of);
        let (key, title) = match student {
            None => (String::from("total"), format!("Total of {of}")),
            Some(index) => (
                format!("total#{}", index + 1),
                format!("Total of {of}, student {}", index + 1),
            ),
        };
        columns.push(Column::shown(key, title, 9.0, Look::Total));
    }
    columns.push(Column::shown("level", "Level", 14.0, Look::Text));
    let title = "Comment for the pair";
    columns.push(Column::entry(
        "comment overall",
        title,
        44.0,
        EntryRule::Text,
    ));
    columns
}

fn points(most: f64) -> EntryRule {
    EntryRule::Number { least: 0.0, most }
}

/// Writes the sheet, and notes what its cells to fill in hold.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    written: &mut Written,
) -> Result<(), XlsxError> {
    let columns = columns(book.rubric);
    let title = format!("Marks: {}", book.marker);
    let mut table = TableSheet::begin(sheet, book.looks, NAME, &title, "", &columns)?;
    for pair in &book.pairs {
        let row = Row {
            book,
            pair,
            columns: &columns,
            at: table.next_row(),
        };
        let cells = row.cells(written);
        table.row(cells)?;
    }
    let end = table.next_row();
    let sheet = table.finish(3)?;
    // The questions of the judged points stand in the headers.
    sheet.set_row_height(HEADER_ROW, 92)?;
    write_progress(sheet, book, &columns, end)
}

/// How far the marker is, live, over the table.
fn write_progress(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    columns: &[Column],
    end: u32,
) -> Result<(), XlsxError> {
    let last = end.saturating_sub(1).max(FIRST_ROW);
    let range = |key: &str| {
        let column = column_of(columns, key).unwrap_or_default();
        format!(
            "{}:{}",
            cell_name(FIRST_ROW, column),
            cell_name(last, column)
        )
    };
    let (progress, discuss) = (range("progress"), range("discuss"));
    let pairs = book.pairs.len();
    let formula = format!(
        "\"Done: \"&COUNTIF({progress},\"done\")&\" of {pairs}   Left: \"&({pairs}-COUNTIF({progress},\"done\"))&\"   To discuss: \"&COUNTIF({discuss},\"?*\")"
    );
    let rows = || book.pairs.iter();
    let done = rows().filter(|pair| progress_of(book, pair) == "done");
    let done = done.count();
    let to_discuss = rows().filter(|pair| !discuss_of(book, pair).is_empty());
    let result = format!(
        "Done: {done} of {pairs}   Left: {}   To discuss: {}",
        pairs - done,
        to_discuss.count()
    );
    let formula = Formula::new(formula).set_result(clean(&result));
    sheet.write_formula_with_format(2, 0, formula, book.looks.of(Look::Group))?;
    let hint = "Fill in the green cells; everything else is locked (no password). Judged points are yours alone; the mark is evidence and judged points together, as you see it. Comments are started from the evidence: change them freely.";
    sheet.write_string_with_format(1, 4, hint, book.looks.of(Look::Hint))?;
    Ok(())
}

fn column_of(columns: &[Column], key: &str) -> Option<u32> {
    let index = columns.iter().position(|column| column.key == key)?;
    u32::try_from(index).ok()
}

struct Row<'a> {
    book: &'a MarkerBook<'a>,
    pair: &'a Assigned<'a>,
    columns: &'a [Column],
    at: u32,
}

impl Row<'_> {
    fn cells(&self, written: &mut Written) -> Vec<CellContent> {
        let (book, pair) = (self.book, self.pair);
        let result = pair.result;
        let mut cells: Vec<CellContent> = vec![
            (&*result.pair).into(),
            pair.marking_as.word().into(),
            self.progress(),
            discuss_of(book, pair).into(),
            result.skill.as_deref().into(),
            findings_in_words(result).into(),
            claims_that_differ(result).into(),
        ];
        for criterion in &book.rubric.criteria {
            self.criterion(criterion, &mut cells, written);
        }
        let mut first_total = None;
        for student in totals(book.rubric) {
            let (formula, sum) = total(self.columns, &cells, self.at, student);
            first_total = first_total.or(Some((cells.len(), sum)));
            cells.push(CellContent::Formula {
                formula,
                result: sum.map(crate::number::plain).unwrap_or_default(),
            });
        }
        if let Some((column, sum)) = first_total {
            cells.push(level(book.rubric, self.at, column, sum));
        }
        cells.push(self.text_entry(&Subject::Comment("overall".into()), written));
        cells
    }

    fn criterion(
        &self,
        criterion: &Criterion,
        cells: &mut Vec<CellContent>,
        written: &mut Written,
    ) {
        let mut suggestions = self.pair.result.suggestions.iter();
        let suggestion = suggestions.find(|suggestion| suggestion.criterion == criterion.id);
        if !criterion.evidence.is_empty() {
            cells.push(suggestion.map_or(CellContent::Empty, |suggestion| {
                self.suggested(criterion, suggestion)
            }));
            let after = self.book.moderation.suggest_after;
            cells.push(suggestion.map(|of| evidence_text(of, after)).into());
        }
        for judged in &criterion.judged {
            let subject = Subject::Judged(criterion.id.clone(), judged.id.clone());
            cells.push(self.number_entry(&subject, None, subject.to_string(), written));
        }
        for cell in mark_cells(criterion) {
            let subject = Subject::Mark(criterion.id.clone());
            cells.push(self.number_entry(&subject, cell.student, cell.key(), written));
        }
        let subject = Subject::Comment(criterion.id.clone());
        let entry = self.text_entry(&subject, written);
        cells.push(match (entry, suggestion) {
            (CellContent::Empty, Some(suggestion)) => self.draft(&subject, suggestion, written),
            (entry, _) => entry,
        });
    }

    /// The suggestion; where the course wants it after the mark, a formula shows it once a mark stands in the row.
    fn suggested(&self, criterion: &Criterion, suggestion: &CriterionSuggestion) -> CellContent {
        let text = suggestion_in_words(suggestion);
        if !self.book.moderation.suggest_after {
            return text.into();
        }
        let cells = mark_cells(criterion);
        let names: Vec<String> = cells
            .iter()
            .filter_map(|cell| column_of(self.columns, &cell.key()))
            .map(|column| cell_name(self.at, column))
            .collect();
        let subject = Subject::Mark(criterion.id.clone());
        let entered = cells
            .iter()
            .all(|cell| self.book.held(self.pair, &subject, cell.student).is_some());
        CellContent::Formula {
            formula: format!(
                "IF(COUNT({})={},\"{text}\",\"\")",
                names.join(","),
                names.len()
            ),
            result: if entered { text } else { String::new() },
        }
    }

    fn number_entry(
        &self,
        subject: &Subject,
        student: Option<usize>,
        key: String,
        written: &mut Written,
    ) -> CellContent {
        let Some(held) = self.book.held(self.pair, subject, student) else {
            return CellContent::Empty;
        };
        let key = self.book.written_key(self.pair, key);
        note(
            &mut written.values,
            NAME,
            &self.pair.result.pair,
            key,
            &held.value,
        );
        held.value.parse::<f64>().ok().into()
    }

    fn text_entry(&self, subject: &Subject, written: &mut Written) -> CellContent {
        let Some(held) = self.book.held(self.pair, subject, None) else {
            return CellContent::Empty;
        };
        let key = self.book.written_key(self.pair, subject.to_string());
        note(
            &mut written.values,
            NAME,
            &self.pair.result.pair,
            key,
            &held.value,
        );
        held.value.clone().into()
    }

    /// A comment started from the evidence's own sentences. Only the first marker's comments are handed back.
    fn draft(
        &self,
        subject: &Subject,
        suggestion: &CriterionSuggestion,
        written: &mut Written,
    ) -> CellContent {
        if self.pair.marking_as != MarkingAs::First {
            return CellContent::Empty;
        }
        let sentences: Vec<&str> = suggestion
            .evidence
            .iter()
            .filter(|outcome| outcome.earned().is_some())
            .filter_map(|outcome| outcome.sentence.as_deref())
            .collect();
        let text = clean(&sentences.join(" "));
        if text.is_empty() {
            return CellContent::Empty;
        }
        let pair = &self.pair.result.pair;
        note(&mut written.drafts, NAME, pair, subject.to_string(), &text);
        text.into()
    }

    fn progress(&self) -> CellContent {
        let names: Vec<String> = self
            .columns
            .iter()
            .zip(0_u32..)
            .filter(|(column, _)| column.key.starts_with("mark "))
            .map(|(_, index)| cell_name(self.at, index))
            .collect();
        let count = format!("COUNT({})", names.join(","));
        CellContent::Formula {
            formula: format!(
                "IF({count}={},\"done\",IF({count}=0,\"left\",\"begun\"))",
                names.len()
            ),
            result: progress_of(self.book, self.pair).to_owned(),
        }
    }
}

fn progress_of(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> &'static str {
    let (mut all, mut entered) = (0, 0);
    for criterion in &book.rubric.criteria {
        let subject = Subject::Mark(criterion.id.clone());
        for cell in mark_cells(criterion) {
            all += 1;
            entered += usize::from(book.held(pair, &subject, cell.student).is_some());
        }
    }
    match entered {
        0 => "left",
        _ if entered == all => "done",
        _ => "begun",
    }
}

/// What this marker has to talk about: files that disagree, and, where second markers see them, marks further apart than the tolerance.
fn discuss_of(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> String {
    let Some(state) = book.pair_state(pair) else {
        return String::new();
    };
    let slot = pair.marking_as.slot();
    let mut lines: Vec<String> = state
        .open_conflicts()
        .filter(|(key, _)| {
            let common = match &key.subject {
                Subject::Common(marker, _) => Some(marker == book.marker),
                _ => None,
            };
            let own = common.unwrap_or(pair.marking_as != MarkingAs::Common);
            key.slot == slot && own
        })
        .map(|(key, held)| {
            let values = held
                .conflicts
                .iter()
                .map(|conflict| conflict.value.as_str());
            let values: Vec<&str> = values.collect();
            format!(
                "{}: {} or {}?",
                key.subject,
                held.value,
                values.join(" or ")
            )
        })
        .collect();
    if book.moderation.second_sees_first && pair.marking_as != MarkingAs::Common {
        lines.extend(seen_marks(book, state));
    }
    lines.join("\n")
}

/// The two marks of each criterion, where they are further apart than the tolerance; before the second is entered, the first.
fn seen_marks(book: &MarkerBook<'_>, state: &PairState) -> Vec<String> {
    let number = |subject: &Subject, slot| {
        let held = state.in_slot(subject, "", slot)?;
        held.value.parse::<f64>().ok()
    };
    let mut lines = Vec::new();
    for criterion in &book.rubric.criteria {
        let subject = Subject::Mark(criterion.id.clone());
        let first = number(&subject, Slot::First);
        let second = number(&subject, Slot::Second);
        let tolerance = criterion.marks * book.moderation.tolerance_percent() / 100.0;
        match (first, second) {
            (Some(first), Some(second)) if (first - second).abs() > tolerance + 1e-9 => {
                lines.push(format!(
                    "{}: first {}, second {}",
                    criterion.title,
                    readable(first),
                    readable(second)
                ));
            }
            _ => {}
        }
    }
    lines
}

/// The evidence of a criterion, a line each: what is said of it, and what it gives unless that is to come after the mark.
fn evidence_text(suggestion: &CriterionSuggestion, after: bool) -> String {
    let line = |outcome: &EvidenceOutcome| {
        let says = outcome
            .sentence
            .clone()
            .unwrap_or_else(|| id_in_words(&outcome.id));
        match outcome.earned() {
            _ if after => says,
            Some(earned) => format!(
                "{says} ({} of {})",
                readable(earned),
                readable(outcome.points)
            ),
            None => format!("{says} (yours to judge, of {})", readable(outcome.points)),
        }
    };
    let lines: Vec<String> = suggestion.evidence.iter().map(line).collect();
    lines.join("\n")
}

/// The claims that don't follow, a line each, with the most plausible explanation.
fn claims_that_differ(result: &PairResult) -> String {
    let wrong = |verdict| matches!(verdict, Verdict::Differs | Verdict::Impossible);
    let lines: Vec<String> = result
        .claims
        .iter()
        .filter(|examined| wrong(examined.recomputed.verdict))
        .map(|examined| {
            let recomputed = match &examined.recomputed.value {
                Ok(value) => readable(*value),
                Err(why) => why.to_string(),
            };
            let mut line = format!(
                "{}: {} stated, {recomputed} recomputed",
                claim_in_words(&examined.claim),
                examined.claim.value_text
            );
            if let Some(explanation) = examined.recomputed.explanations.first() {
                line = format!("{line} ({})", id_in_words(&explanation.code()));
            }
            line
        })
        .collect();
    if lines.is_empty() {
        format!("none of {}", result.claims.len())
    } else {
        lines.join("\n")
    }
}
