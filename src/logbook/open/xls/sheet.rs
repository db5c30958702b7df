//! One worksheet of an old workbook.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::records::Records;
use super::{BOF, Bytes, EOF, Workbook, beginning};
use crate::logbook::grid::{Merged, Shown, Value};
use crate::logbook::open::binary::{Tokens, Width, error_text, number_value, short_number};
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::sheet_builder::SheetBuilder;

/// Reads the worksheet at an offset of the stream; none where something else begins there.
pub(super) fn read(
    stream: &[u8],
    offset: u32,
    workbook: &Workbook,
    budget: &mut Budget,
) -> Result<Option<SheetBuilder>, OpenError> {
    const WORKSHEET: u16 = 0x10;
    let offset = usize::try_from(offset).map_err(|_| OpenError::ends_early())?;
    let mut records = Records::from(stream, offset)?;
    let first = records.next()?.ok_or_else(OpenError::ends_early)?;
    if first.id != BOF || beginning(first.data)?.1 != WORKSHEET {
        return Ok(None);
    }
    let shared = shared_formulas(&mut records.clone())?;
    let mut reader = Reader {
        workbook,
        budget,
        sheet: SheetBuilder::default(),
        shared,
        hidden_rows: HashSet::new(),
        records,
    };
    reader.read()?;
    Ok(Some(reader.sheet))
}

/// Formulas that several cells share, by the first cell of each: they stand behind the first cell that uses them.
type SharedFormulas<'a> = HashMap<(u32, u32), &'a [u8]>;

fn shared_formulas<'a>(records: &mut Records<'a>) -> Result<SharedFormulas<'a>, OpenError> {
    let mut shared = HashMap::new();
    let mut depth = 1_u32;
    while let Some(record) = records.next()? {
        let skipped = match record.id {
            BOF => {
                depth += 1;
                continue;
            }
            EOF => {
                depth -= 1;
                if depth == 0 {
                    break;
                }
                continue;
            }
            // SHRFMLA and ARRAY: what stands between the range and the tokens.
            0x4bc => 2,
            0x221 => 6,
            _ => continue,
        };
        let mut rest = Bytes(record.data);
        let row = u32::from(rest.u16()?);
        rest.u16()?;
        let column = u32::from(rest.u8()?);
        rest.u8()?;
        rest.take(skipped)?;
        let length = usize::from(rest.u16()?);
        shared.insert((row, column), rest.take(length)?);
    }
    Ok(shared)
}

struct Reader<'a, 's> {
    workbook: &'a Workbook,
    budget: &'a mut Budget,
    sheet: SheetBuilder,
    shared: SharedFormulas<'s>,
    hidden_rows: HashSet<u32>,
    records: Records<'s>,
}

/// A cell's place and style.
#[derive(Debug, Clone, Copy)]
struct Head {
    row: u32,
    column: u32,
    style: u16,
}

fn head(rest: &mut Bytes<'_>) -> Result<Head, OpenError> {
    Ok(Head {
        row: u32::from(rest.u16()?),
        column: u32::from(rest.u16()?),
        style: rest.u16()?,
    })
}

impl Reader<'_, '_> {
    fn read(&mut self) -> Result<(), OpenError> {
        let mut counted = 0_u32;
        // A chart on the sheet has records of its own.
        let mut within = 0_u32;
        while let Some(record) = self.records.next()? {
            counted = counted.wrapping_add(1);
            if counted.is_multiple_of(4_096) {
                self.budget.deadline().check()?;
            }
            match record.id {
                BOF => within = within.saturating_add(1),
                EOF if within == 0 => return Ok(()),
                EOF => within -= 1,
                _ if within > 0 => {}
                id => self.record(id, Bytes(record.data))?,
            }
        }
        Ok(())
    }

    fn record(&mut self, id: u16, mut rest: Bytes<'_>) -> Result<(), OpenError> {
        match id {
            // NUMBER, RK, MULRK
            0x203 => {
                let head = head(&mut rest)?;
                self.number(head, rest.f64()?, None)
            }
            0x27e => {
                let head = head(&mut rest)?;
                self.number(head, short_number(rest.u32()?), None)
            }
            0xbd => {
                let row = u32::from(rest.u16()?);
                let mut column = u32::from(rest.u16()?);
                while rest.0.len() >= 6 {
                    let style = rest.u16()?;
                    let number = short_number(rest.u32()?);
                    self.number(Head { row, column, style }, number, None)?;
                    column += 1;
                }
                Ok(())
            }
            // LABELSST
            0xfd => {
                let head = head(&mut rest)?;
                let index = usize::try_from(rest.u32()?).unwrap_or(usize::MAX);
                let string = self.workbook.strings.get(index);
                let string =
                    string.ok_or(OpenError::damaged("a cell names a text that is not there"))?;
                if string.is_empty() {
                    return Ok(());
                }
                self.cell(head, Value::Text(string.clone()), None)
            }
            // LABEL, RSTRING
            0x204 | 0xd6 => {
                let head = head(&mut rest)?;
                let text = self.workbook.form.long(&mut rest)?;
                self.text(head, &text, None)
            }
            // BOOLERR
            0x205 => {
                let head = head(&mut rest)?;
                let (code, error) = (rest.u8()?, rest.u8()?);
                self.cell(head, truth_or_error(code, error != 0), None)
            }
            0x06 | 0x406 => self.formula(rest),
            // ROW
            0x208 => {
                let row = u32::from(rest.u16()?);
                rest.take(10)?;
                if rest.u16()? & 0x20 != 0 {
                    self.hidden_rows.insert(row);
                }
                Ok(())
            }
            // COLINFO
            0x7d => {
                let (first, last) = (u32::from(rest.u16()?), u32::from(rest.u16()?));
                rest.take(4)?;
                if rest.u16()? & 1 != 0 {
                    self.sheet.hidden_columns(first, last);
                }
                Ok(())
            }
            // MERGEDCELLS
            0xe5 => {
                let many = rest.u16()?;
                for _ in 0..many {
                    self.sheet.merge(Merged {
                        first_row: u32::from(rest.u16()?),
                        last_row: u32::from(rest.u16()?),
                        first_column: u32::from(rest.u16()?),
                        last_column: u32::from(rest.u16()?),
                    });
                }
                Ok(())
            }
            _ => Ok(()),
        }
    }

    fn formula(&mut self, mut rest: Bytes<'_>) -> Result<(), OpenError> {
        let head = head(&mut rest)?;
        let result: &[u8] = rest.take(8)?;
        rest.take(6)?;
        let length = usize::from(rest.u16()?);
        let tokens = rest.take(length)?;
        let formula = Some(self.formula_text(head, tokens));
        let [kind, _, code, _, _, _, mark @ ..] = result else {
            return Err(OpenError::ends_early());
        };
        if mark != [0xff, 0xff] {
            return self.number(head, Bytes(result).f64()?, formula);
        }
        match kind {
            0 => {
                let text = self.string_result()?;
                self.text(head, &text, formula)
            }
            1 => self.cell(head, truth_or_error(*code, false), formula),
            2 => self.cell(head, truth_or_error(*code, true), formula),
            _ => self.cell(head, Value::Text(Arc::from("")), formula),
        }
    }

    /// The text that a formula gave: it stands in the next record but for a shared formula.
    fn string_result(&mut self) -> Result<String, OpenError> {
        const STRING: u16 = 0x207;
        let mut ahead = self.records.clone();
        for _ in 0..3 {
            match ahead.next()? {
                Some(record) if record.id == STRING => {
                    return self.workbook.form.long(&mut Bytes(record.data));
                }
                Some(_) => {}
                None => break,
            }
        }
        Ok(String::new())
    }

    /// The formula's text; empty where it uses what is not written out here.
    fn formula_text(&mut self, head: Head, tokens: &[u8]) -> Box<str> {
        const SHARED: u8 = 1;
        if !self.workbook.form.marked {
            return "".into();
        }
        let mut bytes = tokens;
        if let [SHARED, place @ ..] = tokens {
            let mut place = Bytes(place);
            let (Ok(row), Ok(column)) = (place.u16(), place.u16()) else {
                return "".into();
            };
            match self.shared.get(&(u32::from(row), u32::from(column))) {
                Some(shared) => bytes = shared,
                None => return "".into(),
            }
        }
        if !self.budget.formula(bytes.len()) {
            return "".into();
        }
        let tokens = Tokens {
            bytes,
            width: Width::Narrow,
            sheets: &self.workbook.named,
            row: head.row,
            column: head.column,
        };
        tokens.text().unwrap_or_default().into()
    }

    fn number(
        &mut self,
        head: Head,
        number: f64,
        formula: Option<Box<str>>,
    ) -> Result<(), OpenError> {
        let format = self.workbook.styles.get(usize::from(head.style));
        let format = format.copied().unwrap_or_default();
        let value = number_value(number, format, self.workbook.epoch);
        self.cell(head, value, formula)
    }

    fn text(&mut self, head: Head, text: &str, formula: Option<Box<str>>) -> Result<(), OpenError> {
        if text.is_empty() && formula.is_none() {
            return Ok(());
        }
        let text = self.budget.keep(text)?;
        self.cell(head, Value::Text(text), formula)
    }

    fn cell(
        &mut self,
        head: Head,
        value: Value,
        formula: Option<Box<str>>,
    ) -> Result<(), OpenError> {
        let format = self.workbook.styles.get(usize::from(head.style));
        let shown = match value {
            Value::Number(_) => format.copied().unwrap_or_default().shown,
            _ => Shown::default(),
        };
        self.sheet
            .cell(head.row, head.column, value, shown, formula, self.budget)?;
        if self.hidden_rows.contains(&head.row) {
            self.sheet.hidden_row(head.row);
        }
        Ok(())
    }
}

fn truth_or_error(code: u8, error: bool) -> Value {
    if error {
        Value::Error(Arc::from(error_text(code)))
    } else {
        Value::Truth(code != 0)
    }
}
