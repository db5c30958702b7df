//! One worksheet: its cells, formulas, merged ranges, hidden rows and columns.

use std::collections::HashMap;

use jiff::civil::DateTime;

use super::strings::{Strings, rich_text};
use super::styles::number;
use super::workbook::is_true;
use crate::logbook::grid::{Shown, Value};
use crate::logbook::open::archive::{Archive, Entry, Part, Place};
use crate::logbook::open::cell_text::unescaped;
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::number_format::NumberFormat;
use crate::logbook::open::reference::{self, moved};
use crate::logbook::open::serial_date::{Epoch, moment_value};
use crate::logbook::open::sheet_builder::SheetBuilder;
use crate::logbook::open::xml::{Event, Tag, Xml, local, plain};

/// What the sheets of a workbook share.
pub(super) struct Context<'a> {
    /// Number formats by cell style.
    pub(super) styles: &'a [NumberFormat],
    /// The shared strings.
    pub(super) strings: &'a Strings,
    /// From when dates count.
    pub(super) epoch: Epoch,
}

/// Reads a worksheet's part.
pub(super) fn read(
    archive: &Archive<impl Place>,
    entry: &Entry,
    context: &Context<'_>,
    budget: &mut Budget,
) -> Result<SheetBuilder, OpenError> {
    archive.read(entry, budget.deadline(), |part| {
        let mut reader = Reader {
            xml: Xml::new(part),
            context,
            budget,
            sheet: SheetBuilder::default(),
            shared: HashMap::new(),
            value: Vec::new(),
            formula: Vec::new(),
        };
        reader.read()?;
        Ok(reader.sheet)
    })
}

/// How a cell's stored value is to be taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stored {
    Number,
    SharedString,
    InlineString,
    FormulaString,
    Truth,
    Error,
    Date,
}

struct Reader<'a, 'p> {
    xml: Xml<Part<'p>>,
    context: &'a Context<'a>,
    budget: &'a mut Budget,
    sheet: SheetBuilder,
    /// Formulas that are written once and shared: the text, and the cell for which it is written.
    shared: HashMap<u32, (String, u32, u32)>,
    value: Vec<u8>,
    formula: Vec<u8>,
}

/// A cell's start tag.
struct CellTag {
    place: Option<(u32, u32)>,
    style: usize,
    stored: Stored,
}

impl Reader<'_, '_> {
    fn read(&mut self) -> Result<(), OpenError> {
        // The row and column that come next, where the file does not say.
        let (mut row, mut column) = (0_u32, 0_u32);
        let mut next_row = 0_u32;
        let mut hidden = false;
        let mut in_row = false;
        loop {
            match self.xml.next()? {
                Event::Start(tag) => match local(tag.name) {
                    b"c" if in_row => {
                        let cell = cell_tag(&tag);
                        let (at_row, at_column) = cell.place.unwrap_or((row, column));
                        column = at_column.saturating_add(1);
                        self.cell(at_row, at_column, cell.style, cell.stored)?;
                        if hidden {
                            self.sheet.hidden_row(at_row);
                        }
                    }
                    b"row" => {
                        in_row = true;
                        hidden = tag.attribute(b"hidden").is_some_and(is_true);
                        row = match tag.attribute(b"r").and_then(number) {
                            Some(stated) => stated.saturating_sub(1),
                            None => next_row,
                        };
                        next_row = row.saturating_add(1);
                        column = 0;
                    }
                    b"mergeCell" => {
                        if let Some(range) = tag.attribute(b"ref").and_then(reference::range) {
                            self.sheet.merge(range);
                        }
                    }
                    b"col" if tag.attribute(b"hidden").is_some_and(is_true) => {
                        let end = |name| tag.attribute(name).and_then(number);
                        if let (Some(first @ 1..), Some(last @ 1..)) = (end(b"min"), end(b"max")) {
                            self.sheet.hidden_columns(first - 1, last - 1);
                        }
                    }
                    // Extensions hold elements of other programs, by any name.
                    b"extLst" => self.xml.skip()?,
                    _ => {}
                },
                Event::End(name) if local(name) == b"row" => in_row = false,
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }

    /// Reads what stands in the cell that has just begun.
    fn cell(
        &mut self,
        row: u32,
        column: u32,
        style: usize,
        stored: Stored,
    ) -> Result<(), OpenError> {
        self.value.clear();
        self.formula.clear();
        let mut has_value = false;
        let mut has_formula = false;
        let mut shared = None;
        if let Some(raw) = self.xml.only_value() {
            self.value.extend_from_slice(raw);
            return self.finish_cell(row, column, (style, stored), None, true);
        }
        loop {
            match self.xml.next()? {
                Event::Start(tag) => match local(tag.name) {
                    b"v" => {
                        has_value = true;
                        self.xml.text_inside(&mut self.value)?;
                    }
                    b"f" => {
                        has_formula = true;
                        shared = shared_index(&tag);
                        self.xml.text_inside(&mut self.formula)?;
                    }
                    b"is" => {
                        has_value = true;
                        rich_text(&mut self.xml, &mut self.value)?;
                    }
                    _ => self.xml.skip()?,
                },
                Event::End(_) => break,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        if !has_value && !has_formula {
            return Ok(());
        }
        let formula = has_formula.then(|| self.formula_text(shared, row, column));
        self.finish_cell(row, column, (style, stored), formula, has_value)
    }

    /// Adds the cell whose value has been read.
    fn finish_cell(
        &mut self,
        row: u32,
        column: u32,
        (style, stored): (usize, Stored),
        formula: Option<Box<str>>,
        has_value: bool,
    ) -> Result<(), OpenError> {
        let has_formula = formula.is_some();
        let format = self.context.styles.get(style).copied().unwrap_or_default();
        let value = self.stored_value(stored, format, has_formula, has_value)?;
        let Some(value) = value else { return Ok(()) };
        let shown = match value {
            Value::Number(_) | Value::NotCalculated => format.shown,
            _ => Shown::default(),
        };
        self.sheet
            .cell(row, column, value, shown, formula, self.budget)
    }

    /// The formula, also where it is written at another cell.
    fn formula_text(&mut self, shared: Option<u32>, row: u32, column: u32) -> Box<str> {
        let own = String::from_utf8_lossy(&self.formula);
        let own = own.trim();
        let Some(index) = shared else {
            return own.into();
        };
        if own.is_empty() {
            let Some((formula, from_row, from_column)) = self.shared.get(&index) else {
                return "".into();
            };
            if !self.budget.formula(formula.len()) {
                return "".into();
            }
            let rows = i64::from(row) - i64::from(*from_row);
            let columns = i64::from(column) - i64::from(*from_column);
            return moved(formula, rows, columns).into();
        }
        self.shared.insert(index, (own.to_owned(), row, column));
        own.into()
    }

    /// The value as it is stored; none for a cell that holds nothing.
    fn stored_value(
        &mut self,
        stored: Stored,
        format: NumberFormat,
        has_formula: bool,
        has_value: bool,
    ) -> Result<Option<Value>, OpenError> {
        let raw = self.value.as_slice();
        let value = match stored {
            Stored::SharedString => {
                let index = std::str::from_utf8(raw)
                    .ok()
                    .and_then(|raw| raw.trim().parse::<usize>().ok());
                match index {
                    None if raw.trim_ascii().is_empty() => None,
                    index => {
                        let string = index.and_then(|index| self.context.strings.get(index));
                        let string = string
                            .ok_or(OpenError::damaged("a cell names a text that is not there"))?;
                        (!string.is_empty()).then(|| Value::Text(string.clone()))
                    }
                }
            }
            Stored::InlineString | Stored::FormulaString => {
                if raw.is_empty() && !(has_formula && has_value) {
                    None
                } else {
                    Some(Value::Text(self.budget.keep(&unescaped(raw))?))
                }
            }
            Stored::Number => self.number(format)?,
            Stored::Truth => match raw.trim_ascii() {
                b"" => None,
                value => Some(Value::Truth(is_true(value))),
            },
            Stored::Error => match raw.trim_ascii() {
                b"" => None,
                value => Some(Value::Error(
                    self.budget.keep(&String::from_utf8_lossy(value))?,
                )),
            },
            Stored::Date => self.iso_date()?,
        };
        Ok(value.or(has_formula.then_some(Value::NotCalculated)))
    }

    fn number(&mut self, format: NumberFormat) -> Result<Option<Value>, OpenError> {
        let raw = self.value.trim_ascii();
        if raw.is_empty() {
            return Ok(None);
        }
        let number = std::str::from_utf8(raw)
            .ok()
            .and_then(|raw| raw.parse::<f64>().ok())
            .filter(|number| number.is_finite());
        Ok(Some(match (number, format.moment) {
            (Some(number), None) => Value::Number(number),
            (Some(number), Some(moment)) => moment_value(number, moment, self.context.epoch),
            (None, _) => Value::Text(self.budget.keep(&String::from_utf8_lossy(raw))?),
        }))
    }

    fn iso_date(&mut self) -> Result<Option<Value>, OpenError> {
        let stated = plain(self.value.trim_ascii());
        if stated.is_empty() {
            return Ok(None);
        }
        let stated_date = stated.trim_end_matches('Z');
        if let Ok(date) = stated_date.parse::<DateTime>() {
            return Ok(Some(Value::Date(date)));
        }
        if let Ok(time) = stated_date.parse() {
            return Ok(Some(Value::Time(time)));
        }
        Ok(Some(Value::Text(self.budget.keep(&stated)?)))
    }
}

fn cell_tag(tag: &Tag<'_>) -> CellTag {
    let mut cell = CellTag {
        place: None,
        style: 0,
        stored: Stored::Number,
    };
    for (name, value) in tag.attributes() {
        match name {
            b"r" => cell.place = reference::cell(value),
            b"s" => cell.style = number(value).and_then(|s| s.try_into().ok()).unwrap_or(0),
            b"t" => {
                cell.stored = match value {
                    b"s" => Stored::SharedString,
                    b"inlineStr" => Stored::InlineString,
                    b"str" => Stored::FormulaString,
                    b"b" => Stored::Truth,
                    b"e" => Stored::Error,
                    b"d" => Stored::Date,
                    _ => Stored::Number,
                };
            }
            _ => {}
        }
    }
    cell
}

/// The number of a shared formula; none where the formula is the cell's own.
fn shared_index(tag: &Tag<'_>) -> Option<u32> {
    (tag.attribute(b"t") == Some(b"shared"))
        .then(|| tag.attribute(b"si").and_then(number))
        .flatten()
}
