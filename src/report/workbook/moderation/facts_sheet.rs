//! The sheet of facts: everything that the rubric can ask about a pair.

use rust_xlsxwriter::{Workbook, XlsxError};

use super::Moderation;
use crate::facts::FactValue;
use crate::report::workbook::sheet::{CellContent, Column, ROW_LIMIT, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name; what doesn't fit goes on in `Facts 2` and so on.
pub const NAME: &str = "Facts";

fn columns() -> Vec<Column> {
    vec![
        Column::shown("pair", "Pair", 9.0, Look::Text),
        Column::shown("fact", "Fact", 40.0, Look::Text),
        Column::shown("value", "Value", 24.0, Look::Number),
    ]
}

/// Writes the sheet, or as many as it takes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(workbook: &mut Workbook, book: &Moderation<'_>) -> Result<(), XlsxError> {
    let columns = columns();
    let hint =
        "What each is, in which unit and from which source: evenhand explain and the fact's name.";
    let mut facts = book
        .cohort
        .pairs
        .iter()
        .flat_map(|result| {
            result
                .facts
                .iter()
                .map(move |(name, value)| (&*result.pair, name, value))
        })
        .peekable();
    let mut number = 1;
    loop {
        let name = if number == 1 {
            NAME.to_owned()
        } else {
            format!("{NAME} {number}")
        };
        let sheet = workbook.add_worksheet_with_constant_memory()?;
        let mut table = TableSheet::begin(sheet, book.looks, &name, "Facts", hint, &columns)?;
        while table.next_row() < ROW_LIMIT {
            let Some((pair, fact, value)) = facts.next() else {
                break;
            };
            table.row([pair.into(), fact.into(), content(value)])?;
        }
        table.finish(2)?;
        number += 1;
        if facts.peek().is_none() {
            return Ok(());
        }
    }
}

fn content(value: &FactValue) -> CellContent {
    match value {
        FactValue::Number(number) => (*number).into(),
        FactValue::Truth(true) => "yes".into(),
        FactValue::Truth(false) => "no".into(),
        FactValue::Text(text) => (&**text).into(),
        FactValue::Date(date) => date.to_string().into(),
    }
}
