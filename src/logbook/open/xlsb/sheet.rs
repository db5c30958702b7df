//! One worksheet of a binary workbook.

use std::collections::HashMap;
use std::sync::Arc;

use super::records::Records;
use crate::logbook::grid::{Merged, Shown, Value};
use crate::logbook::open::binary::{
    Bytes, Sheets, Tokens, Width, error_text, number_value, short_number,
};
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::number_format::NumberFormat;
use crate::logbook::open::serial_date::Epoch;
use crate::logbook::open::sheet_builder::SheetBuilder;
use crate::logbook::open::xlsx::Strings;

/// What the sheets of a workbook share.
pub(super) struct Context<'a> {
    pub(super) styles: &'a [NumberFormat],
    pub(super) strings: &'a Strings,
    pub(super) epoch: Epoch,
    pub(super) named: &'a Sheets,
}

/// Reads a worksheet's part.
pub(super) fn read(
    mut records: Records<'_>,
    context: &Context<'_>,
    budget: &mut Budget,
) -> Result<SheetBuilder, OpenError> {
    let mut reader = Reader {
        context,
        budget,
        sheet: SheetBuilder::default(),
        shared: HashMap::new(),
        waiting: Vec::new(),
        row: 0,
        column: u32::MAX,
        hidden: false,
    };
    while let Some((id, rest)) = records.next()? {
        reader.record(id, rest)?;
    }
    reader.settle()?;
    Ok(reader.sheet)
}

struct Reader<'a> {
    context: &'a Context<'a>,
    budget: &'a mut Budget,
    sheet: SheetBuilder,
    /// Tokens that several cells share, by the row and column of the first cell.
    shared: HashMap<(u32, u32), Vec<u8>>,
    /// A cell whose shared formula comes in the next record.
    waiting: Vec<Waiting>,
    row: u32,
    /// The column of the cell before.
    column: u32,
    hidden: bool,
}

/// A cell that is kept until its formula is known.
struct Waiting {
    head: Head,
    value: Value,
    first: (u32, u32),
}

#[derive(Debug, Clone, Copy)]
struct Head {
    row: u32,
    column: u32,
    style: usize,
}

/// A formula beside a value.
enum Formula {
    Text(Box<str>),
    SharedFrom(u32, u32),
}

impl Reader<'_> {
    fn record(&mut self, id: u16, mut rest: Bytes<'_>) -> Result<(), OpenError> {
        // BrtArrFmla, BrtShrFmla: the formula of the cell before.
        if matches!(id, 426 | 427) {
            return self.shared_formula(id, rest);
        }
        if !self.waiting.is_empty() {
            self.settle()?;
        }
        match id {
            // BrtRowHdr
            0 => {
                self.row = rest.u32()?;
                self.column = u32::MAX;
                rest.take(7)?;
                self.hidden = rest.u8()? & 0x10 != 0;
                Ok(())
            }
            1..=11 => {
                self.column = rest.u32()?;
                self.cell_record(id, rest)
            }
            // The short forms of 1 to 7: the cell to the right of the one before.
            12..=18 => {
                self.column = self.column.wrapping_add(1);
                self.cell_record(id - 11, rest)
            }
            // BrtColInfo
            60 => {
                let (first, last) = (rest.u32()?, rest.u32()?);
                rest.take(8)?;
                if rest.u16()? & 1 != 0 {
                    self.sheet.hidden_columns(first, last);
                }
                Ok(())
            }
            // BrtMergeCell
            176 => {
                let (first_row, last_row) = (rest.u32()?, rest.u32()?);
                let (first_column, last_column) = (rest.u32()?, rest.u32()?);
                self.sheet.merge(Merged {
                    first_row,
                    first_column,
                    last_row,
                    last_column,
                });
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// A cell with its value: numbers 2 to 7 as typed, 8 to 11 as a formula gave it.
    fn cell_record(&mut self, id: u16, mut rest: Bytes<'_>) -> Result<(), OpenError> {
        let style = rest.u32()? & 0x00ff_ffff;
        let head = Head {
            row: self.row,
            column: self.column,
            style: style as usize,
        };
        let value = match id {
            1 => return Ok(()),
            2 => self.number(head, short_number(rest.u32()?)),
            3 | 11 => Value::Error(Arc::from(error_text(rest.u8()?))),
            4 | 10 => Value::Truth(rest.u8()? != 0),
            5 | 9 => self.number(head, rest.f64()?),
            6 | 8 => {
                let text = rest.counted_wide()?;
                Value::Text(self.budget.keep(&text)?)
            }
            _ => {
                let index = usize::try_from(rest.u32()?).unwrap_or(usize::MAX);
                let string = self.context.strings.get(index);
                let string =
                    string.ok_or(OpenError::damaged("a cell names a text that is not there"))?;
                Value::Text(string.clone())
            }
        };
        if id < 8 {
            let empty = matches!(&value, Value::Text(text) if text.is_empty());
            return if empty {
                Ok(())
            } else {
                self.cell(head, value, None)
            };
        }
        rest.u16()?;
        match self.formula(head, rest)? {
            Formula::Text(text) => self.cell(head, value, Some(text)),
            Formula::SharedFrom(row, column) => {
                self.waiting.push(Waiting {
                    head,
                    value,
                    first: (row, column),
                });
                Ok(())
            }
        }
    }

    fn formula(&mut self, head: Head, mut rest: Bytes<'_>) -> Result<Formula, OpenError> {
        const SHARED: u8 = 1;
        let length = usize::try_from(rest.u32()?).unwrap_or(usize::MAX);
        let tokens = rest.take(length)?;
        if let [SHARED, row @ ..] = tokens {
            let row = Bytes(row).u32()?;
            rest.u32()?;
            return Ok(Formula::SharedFrom(row, rest.u32()?));
        }
        Ok(Formula::Text(self.text(head, tokens)))
    }

    /// The formula's text; empty where it uses what is not written out here.
    fn text(&mut self, head: Head, bytes: &[u8]) -> Box<str> {
        if !self.budget.formula(bytes.len()) {
            return "".into();
        }
        let tokens = Tokens {
            bytes,
            width: Width::Wide,
            sheets: self.context.named,
            row: head.row,
            column: head.column,
        };
        tokens.text().unwrap_or_default().into()
    }

    fn shared_formula(&mut self, id: u16, mut rest: Bytes<'_>) -> Result<(), OpenError> {
        const ARRAY: u16 = 426;
        let row = rest.u32()?;
        rest.u32()?;
        let column = rest.u32()?;
        rest.u32()?;
        if id == ARRAY {
            rest.u8()?;
        }
        let length = usize::try_from(rest.u32()?).unwrap_or(usize::MAX);
        let tokens = rest.take(length)?;
        self.budget.holds(tokens.len())?;
        self.shared.insert((row, column), tokens.to_vec());
        self.settle()
    }

    /// Adds the cells that waited for their formula.
    fn settle(&mut self) -> Result<(), OpenError> {
        for waiting in std::mem::take(&mut self.waiting) {
            let tokens = self.shared.get(&waiting.first).cloned();
            let text = self.text(waiting.head, &tokens.unwrap_or_default());
            self.cell(waiting.head, waiting.value, Some(text))?;
        }
        Ok(())
    }

    fn number(&self, head: Head, number: f64) -> Value {
        let format = self.context.styles.get(head.style);
        number_value(
            number,
            format.copied().unwrap_or_default(),
            self.context.epoch,
        )
    }

    fn cell(
        &mut self,
        head: Head,
        value: Value,
        formula: Option<Box<str>>,
    ) -> Result<(), OpenError> {
        let shown = match value {
            Value::Number(_) => {
                let format = self.context.styles.get(head.style);
                format.copied().unwrap_or_default().shown
            }
            _ => Shown::default(),
        };
        self.sheet
            .cell(head.row, head.column, value, shown, formula, self.budget)?;
        if self.hidden {
            self.sheet.hidden_row(head.row);
        }
        Ok(())
    }
}
