//! What the texts of all score columns settle for each of their cells: decimal marks and notes.

use super::plan::Plan;
use crate::logbook::columns::cell_at;
use crate::logbook::grid::Value;
use crate::logbook::numbers::{Marks, NumberText, lowered, marks_of, read_number};
use crate::logbook::regions::Region;

/// What a column's texts settle for each of its cells.
#[derive(Debug, Default)]
pub(super) struct ColumnMarks {
    pub(super) marks: Marks,
    pub(super) footnotes: Vec<String>,
    pub(super) span: Option<(f64, f64)>,
}

/// Looks at all score columns together: they hold scores of one pair, typed by one person.
pub(super) fn column_marks(region: &Region, plan: &Plan) -> ColumnMarks {
    let scores = || {
        region.rows.iter().flat_map(|row| {
            plan.scores
                .iter()
                .filter_map(|score| cell_at(row, score.column))
        })
    };
    let texts = || {
        scores().filter_map(|cell| match &cell.value {
            Value::Text(text) => Some(&**text),
            _ => None,
        })
    };
    let (mut comma, mut raised) = (false, false);
    for text in texts() {
        comma |= text.contains([',', '\u{ff0c}', '\u{66b}']);
        raised |= !text.is_ascii();
    }
    let mut settled = ColumnMarks::default();
    if comma {
        settled.marks = marks_of(texts());
        for cell in scores() {
            let number = match &cell.value {
                Value::Number(number) => Some(*number),
                Value::Text(text) => match read_number(text, settled.marks) {
                    NumberText::Number(typed) => Some(typed.stated.value),
                    _ => None,
                },
                _ => None,
            };
            if let Some(number) = number.filter(|number| number.is_finite()) {
                settled.span = Some(settled.span.map_or((number, number), |(low, high)| {
                    (low.min(number), high.max(number))
                }));
            }
        }
    }
    if raised {
        settled.footnotes = footnotes(region);
    }
    settled
}

/// Numbers that a note on the sheet begins with: a raised digit in a cell points to it.
fn footnotes(region: &Region) -> Vec<String> {
    region
        .grid
        .cells
        .iter()
        .filter_map(|cell| match &cell.value {
            Value::Text(text) => {
                let first: String = text.chars().take_while(|c| !c.is_ascii()).collect();
                let raised = lowered(&first);
                if !raised.is_empty() {
                    return Some(raised);
                }
                let digits: String = text
                    .trim_start_matches(['(', '['])
                    .chars()
                    .take_while(char::is_ascii_digit)
                    .collect();
                let rest = text.trim_start_matches(['(', '[']).get(digits.len()..)?;
                let explains = rest.starts_with([' ', ')', ']', '.', ':', '='])
                    && rest.contains(char::is_alphabetic);
                (!digits.is_empty() && digits.len() < 3 && explains).then_some(digits)
            }
            _ => None,
        })
        .collect()
}
