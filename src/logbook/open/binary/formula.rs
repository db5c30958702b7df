//! Formulas as the binary forms keep them: tokens in the order of a stack, written out as a spreadsheet shows them.

use std::sync::Arc;

use super::{Bytes, error_text, functions};
use crate::logbook::open::error::OpenError;
use crate::place::{cell_name, quoted};

/// How wide rows and texts are in the tokens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::logbook::open) enum Width {
    /// The workbooks of 97–2003: rows of two bytes, columns of one.
    Narrow,
    /// The binary form of Office Open XML: rows of four bytes, columns of two.
    Wide,
}

/// The sheets that a formula can name, by the number it uses; none where it names another workbook's.
pub(in crate::logbook::open) type Sheets = Vec<Option<Arc<str>>>;

/// The tokens of one formula.
#[derive(Debug, Clone, Copy)]
pub(in crate::logbook::open) struct Tokens<'a> {
    /// The bytes.
    pub(in crate::logbook::open) bytes: &'a [u8],
    /// Which of the two forms.
    pub(in crate::logbook::open) width: Width,
    /// Names of sheets.
    pub(in crate::logbook::open) sheets: &'a Sheets,
    /// The cell that the formula stands in: shared formulas count from it.
    pub(in crate::logbook::open) row: u32,
    /// Its column.
    pub(in crate::logbook::open) column: u32,
}

/// Formulas longer than this are not written out.
const LONGEST: usize = 8_192;

impl Tokens<'_> {
    /// The formula as text; none where it uses something that is not written out here.
    pub(in crate::logbook::open) fn text(&self) -> Option<String> {
        let mut stack: Vec<String> = Vec::new();
        let mut rest = Bytes(self.bytes);
        while !rest.0.is_empty() {
            self.token(&mut rest, &mut stack).ok().flatten()?;
            if stack.last().is_some_and(|top| top.len() > LONGEST) || stack.len() > 256 {
                return None;
            }
        }
        let text = stack.pop()?;
        stack.is_empty().then_some(text)
    }

    /// Takes one token; `None` where it is not known.
    fn token(
        &self,
        rest: &mut Bytes<'_>,
        stack: &mut Vec<String>,
    ) -> Result<Option<()>, OpenError> {
        const BINARY: [&str; 15] = [
            "+", "-", "*", "/", "^", "&", "<", "<=", "=", ">=", ">", "<>", " ", ",", ":",
        ];
        let code = rest.u8()?;
        // The three classes of operands differ only in how they are calculated.
        let plain = if code >= 0x40 {
            (code & 0x1f) | 0x20
        } else {
            code
        };
        let text = match plain {
            0x03..=0x11 => {
                let sign = BINARY.get(usize::from(plain - 0x03)).copied();
                let (right, left) = (stack.pop(), stack.pop());
                let (Some(sign), Some(left), Some(right)) = (sign, left, right) else {
                    return Ok(None);
                };
                left + sign + &right
            }
            0x12..=0x15 => {
                let Some(inner) = stack.pop() else {
                    return Ok(None);
                };
                match plain {
                    0x12 => format!("+{inner}"),
                    0x13 => format!("-{inner}"),
                    0x14 => format!("{inner}%"),
                    _ => format!("({inner})"),
                }
            }
            0x16 => String::new(),
            0x17 => format!("\"{}\"", self.string(rest)?.replace('"', "\"\"")),
            0x19 => return attribute(rest, stack),
            0x1c => error_text(rest.u8()?).to_owned(),
            0x1d => if rest.u8()? == 0 { "FALSE" } else { "TRUE" }.to_owned(),
            0x1e => rest.u16()?.to_string(),
            0x1f => rest.f64()?.to_string(),
            0x21 => match functions::fixed(rest.u16()?) {
                Some((name, arguments)) => return Ok(call(name, arguments, stack)),
                None => return Ok(None),
            },
            0x22 => {
                let arguments = usize::from(rest.u8()? & 0x7f);
                return match functions::open(rest.u16()? & 0x7fff) {
                    Some(name) => Ok(call(name, arguments, stack)),
                    None => Ok(None),
                };
            }
            0x24 | 0x2c => self.cell(rest, plain == 0x2c)?,
            0x25 | 0x2d => self.area(rest, plain == 0x2d)?,
            0x2a | 0x2b => {
                let ends = if plain == 0x2a { 1 } else { 2 };
                rest.take(ends * self.end_length())?;
                "#REF!".to_owned()
            }
            0x3a | 0x3b => {
                let sheet = self.sheets.get(usize::from(rest.u16()?));
                let Some(Some(sheet)) = sheet else {
                    return Ok(None);
                };
                let place = if plain == 0x3a {
                    self.cell(rest, false)?
                } else {
                    self.area(rest, false)?
                };
                format!("{}!{place}", quoted(sheet))
            }
            _ => return Ok(None),
        };
        stack.push(text);
        Ok(Some(()))
    }

    fn string(&self, rest: &mut Bytes<'_>) -> Result<String, OpenError> {
        match self.width {
            Width::Wide => {
                let length = usize::from(rest.u16()?);
                rest.wide(length)
            }
            Width::Narrow => {
                let length = usize::from(rest.u8()?);
                if rest.u8()? & 1 == 0 {
                    Ok(rest.take(length)?.iter().copied().map(char::from).collect())
                } else {
                    rest.wide(length)
                }
            }
        }
    }

    /// Bytes of one end of a reference.
    fn end_length(&self) -> usize {
        match self.width {
            Width::Narrow => 4,
            Width::Wide => 6,
        }
    }

    fn row(&self, rest: &mut Bytes<'_>) -> Result<u32, OpenError> {
        match self.width {
            Width::Narrow => rest.u16().map(u32::from),
            Width::Wide => rest.u32(),
        }
    }

    fn cell(&self, rest: &mut Bytes<'_>, shared: bool) -> Result<String, OpenError> {
        let row = self.row(rest)?;
        let column = rest.u16()?;
        Ok(self.end(row, column, shared))
    }

    fn area(&self, rest: &mut Bytes<'_>, shared: bool) -> Result<String, OpenError> {
        let (first_row, last_row) = (self.row(rest)?, self.row(rest)?);
        let (first_column, last_column) = (rest.u16()?, rest.u16()?);
        let first = self.end(first_row, first_column, shared);
        let last = self.end(last_row, last_column, shared);
        Ok(format!("{first}:{last}"))
    }

    /// One end of a reference: the upper bits of the column say which of the two moves with the cell.
    fn end(&self, row: u32, stored: u16, shared: bool) -> String {
        let (rows, columns) = match self.width {
            Width::Narrow => (1_u32 << 16, 1_u32 << 8),
            Width::Wide => (1 << 20, 1 << 14),
        };
        let (column_moves, row_moves) = (stored & 0x4000 != 0, stored & 0x8000 != 0);
        let column = u32::from(stored) % columns;
        // In a shared formula what moves is kept as the way from its cell, around the edge of the sheet.
        let row = if shared && row_moves {
            self.row.wrapping_add(row) % rows
        } else {
            row
        };
        let column = if shared && column_moves {
            (self.column + column) % columns
        } else {
            column
        };
        let name = cell_name(row, column);
        let letters = name.trim_end_matches(|c: char| c.is_ascii_digit());
        let digits = name.get(letters.len()..).unwrap_or_default();
        let fixed = |moves: bool| if moves { "" } else { "$" };
        format!(
            "{}{letters}{}{digits}",
            fixed(column_moves),
            fixed(row_moves)
        )
    }
}

/// Hints for calculating; one of them is a sum of one argument.
fn attribute(rest: &mut Bytes<'_>, stack: &mut Vec<String>) -> Result<Option<()>, OpenError> {
    const CHOOSE: u8 = 0x04;
    const SUM: u8 = 0x10;
    let kind = rest.u8()?;
    let data = rest.u16()?;
    if kind & CHOOSE != 0 {
        rest.take((usize::from(data) + 1) * 2)?;
    }
    Ok(if kind & SUM == 0 {
        Some(())
    } else {
        call("SUM", 1, stack)
    })
}

fn call(name: &str, arguments: usize, stack: &mut Vec<String>) -> Option<()> {
    let from = stack.len().checked_sub(arguments)?;
    let arguments = stack.split_off(from).join(",");
    stack.push(format!("{name}({arguments})"));
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn text(bytes: &[u8], width: Width) -> Option<String> {
        Tokens {
            bytes,
            width,
            sheets: &vec![Some("Raw data".into()), None],
            row: 9,
            column: 3,
        }
        .text()
    }

    #[test]
    fn tokens_are_written_out_as_a_spreadsheet_shows_them() {
        // AVERAGE(B3:B4), as LibreOffice 7 keeps it.
        let average = [0x25, 2, 0, 3, 0, 1, 0xc0, 1, 0xc0, 0x42, 1, 5, 0];
        assert_eq!(
            text(&average, Width::Narrow).as_deref(),
            Some("AVERAGE(B3:B4)")
        );
        // A sum of one argument is a hint, not a function.
        let sum = [0x44, 2, 0, 1, 0, 0x19, 0x10, 0, 0, 0x1e, 2, 0, 0x06];
        assert_eq!(text(&sum, Width::Narrow).as_deref(), Some("SUM($B$3)/2"));
        // Shared: two rows up from row 10, in the same column.
        let shared = [0x2c, 0xfe, 0xff, 0, 0xc0];
        assert_eq!(text(&shared, Width::Narrow).as_deref(), Some("D8"));
        let sheet = [0x3a, 0, 0, 4, 0, 0, 0, 2, 0xc0];
        assert_eq!(text(&sheet, Width::Wide).as_deref(), Some("'Raw data'!C5"));
    }

    #[test]
    fn what_is_not_known_is_not_guessed() {
        for bytes in [
            &[0x22, 1, 0xff, 0][..],
            &[0x03],
            &[0x25, 1],
            &[0x01, 0, 0, 0, 0],
            &[],
            &[0x3a, 1, 0, 0, 0, 0, 0],
        ] {
            assert_eq!(text(bytes, Width::Narrow), None, "{bytes:?}");
        }
    }
}
