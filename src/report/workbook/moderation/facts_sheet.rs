//! The sheet of facts: everything that the rubric can ask about a pair, a row a pair and measure, a column a fact.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::Moderation;
use crate::examination::PairResult;
use crate::facts::{FactValue, catalogue};
use crate::report::workbook::sheet::{CellContent, Column, TableSheet};
use crate::report::workbook::style::Look;

/// The sheet's own name.
pub const NAME: &str = "Facts";

/// Facts that have a column; a cohort that numbers its tests wildly has the rest in facts.csv.
const MOST_COLUMNS: usize = 2_000;

/// Columns before the first fact.
const BEFORE: u16 = 2;

/// The sheet being written.
pub(super) struct FactsSheet<'a> {
    table: TableSheet<'a, Worksheet>,
    /// The facts that any pair has, without the measure of which they speak, in order of their names.
    names: Vec<String>,
}

impl<'a> FactsSheet<'a> {
    /// Begins the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn begin(sheet: Worksheet, book: &'a Moderation<'a>) -> Result<Self, XlsxError> {
        let facts = book.cohort.facts();
        let names = facts.names().into_iter().take(MOST_COLUMNS);
        let names: Vec<String> = names.map(str::to_owned).collect();
        let hint = "An empty cell: no value, and evenhand pair says why. What each is, in which unit and from which source: evenhand explain and the fact's name.";
        let table = TableSheet::begin(sheet, book.looks, NAME, "Facts", hint, columns(&names))?;
        Ok(Self { table, names })
    }

    /// Adds a pair.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn add(&mut self, result: &PairResult) -> Result<(), XlsxError> {
        for (measure, facts) in by_measure(result) {
            if self.table.is_full() {
                break;
            }
            let mut facts = facts.into_iter().peekable();
            let values = self.names.iter().map(|name| {
                // Both are in the order of names: what comes before this name has no column.
                while facts.next_if(|(known, _)| *known < name.as_str()).is_some() {}
                facts
                    .next_if(|(known, _)| *known == name.as_str())
                    .map_or(CellContent::Empty, |(_, value)| content(value))
            });
            let pair = [(&*result.pair).into(), measure.into()];
            self.table.light_row(pair.into_iter().chain(values))?;
        }
        Ok(())
    }

    /// Finishes the sheet.
    ///
    /// # Errors
    /// What the writer of workbooks says.
    pub fn finish(self) -> Result<Worksheet, XlsxError> {
        self.table.finish(BEFORE)
    }
}

fn columns(names: &[String]) -> Vec<Column> {
    let mut columns = vec![
        Column::shown("pair", "Pair", 9.0, Look::Plain),
        Column::shown("measure", "Measure", 16.0, Look::Plain),
    ];
    for name in names {
        columns.push(Column::shown(name, name, 13.0, Look::Plain));
    }
    columns
}

/// A measure's facts by their names without the measure, in order of these.
type Facts<'a> = Vec<(&'a str, &'a FactValue)>;

/// The facts of the primary measure and of the pair, then those of each other measure.
fn by_measure(result: &PairResult) -> Vec<(String, Facts<'_>)> {
    let primary = result.measures.first();
    let mut of_primary = Facts::new();
    let mut others: Vec<(String, Facts<'_>)> = Vec::new();
    for (name, value) in result.facts.iter() {
        match catalogue::split_measure(name) {
            None => of_primary.push((name, value)),
            // Facts are listed in order of their names: those of one measure follow each other.
            Some((measure, bare)) => match others.last_mut() {
                Some((known, facts)) if *known == measure => facts.push((bare, value)),
                _ => others.push((measure, vec![(bare, value)])),
            },
        }
    }
    if of_primary.is_empty() {
        return others;
    }
    let name = primary.map_or_else(String::new, |measure| measure.name.to_string());
    let mut all = vec![(name, of_primary)];
    all.extend(others);
    all
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
