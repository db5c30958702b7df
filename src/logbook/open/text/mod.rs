//! Delimited text files: encoding, then delimiter, then records.

mod delimiter;
mod encoding;
mod records;

use std::sync::Arc;

use super::error::OpenError;
use super::limits::Budget;
use super::notice::{Notice, Noticed};
use super::sheet_builder::{COLUMNS, ROWS, SheetBuilder};
use super::xml::LONGEST_TEXT;
use crate::logbook::grid::{Grid, Shown, Source, Value};
use crate::place::Place;

pub(super) use encoding::{Decoded, decode};

/// Reads decoded text as one grid: a row a record, every field as text.
pub(super) fn read(
    decoded: &Decoded<'_>,
    file: &Arc<str>,
    ending: &str,
    budget: &mut Budget,
    notices: &mut Vec<Notice>,
) -> Result<Grid, OpenError> {
    let mut say = |what| {
        notices.push(Notice {
            place: Place::file(file.clone()),
            what,
        });
    };
    if let Some(encoding) = decoded.guessed {
        say(Noticed::EncodingGuessed { encoding });
    }
    if decoded.unreadable {
        say(Noticed::UnreadableCharacters);
    }
    let (stated, text) = delimiter::stated(&decoded.text);
    let first_line = u32::from(stated.is_some());
    let delimiter = stated.unwrap_or_else(|| delimiter::sniff(text, ending));
    let mut sheet = SheetBuilder::default();
    let mut lines = Vec::new();
    let mut controls = false;
    let mut stray = Vec::new();
    let deadline = budget.deadline();
    let mut records = records::Records::new(text, delimiter, first_line);
    while let Some(line) = records.next_record() {
        let row = u32::try_from(lines.len()).unwrap_or(u32::MAX);
        lines.push(line);
        if row >= ROWS {
            return Err(OpenError::TooManyRows {
                limit: u64::from(ROWS),
            });
        }
        if row.is_multiple_of(1_024) {
            deadline.check()?;
        }
        let mut column = 0_u32;
        while let Some(field) = records.next_field() {
            if field.stray_quote && stray.len() < MOST_STRAY {
                stray.push((line, column));
            }
            if field.text.len() > LONGEST_TEXT {
                return Err(OpenError::LongCell);
            }
            if !field.text.is_empty() {
                let mut text = field.text;
                if text.contains(is_control) {
                    controls = true;
                    text = text.replace(is_control, "").into();
                }
                let text = Value::Text(budget.keep(&text)?);
                sheet.cell(row, column, text, Shown::default(), None, budget)?;
            }
            column += 1;
            if column >= MOST_FIELDS {
                return Err(OpenError::TooManyColumns { limit: MOST_FIELDS });
            }
            if column.is_multiple_of(1_024) {
                deadline.check()?;
            }
        }
    }
    for (line, column) in stray {
        notices.push(Notice {
            place: Place::field(file.clone(), line, column),
            what: Noticed::StrayQuote,
        });
    }
    if controls {
        notices.push(Notice {
            place: Place::file(file.clone()),
            what: Noticed::ControlCharacters,
        });
    }
    Ok(sheet.finish(file.clone(), Source::Text { lines }, false))
}

/// Fields in a record that are still read: as many as the largest sheet has columns.
const MOST_FIELDS: u32 = COLUMNS;

/// Stray quotes that are told one by one.
const MOST_STRAY: usize = 20;

/// Control characters that mean nothing in a field.
fn is_control(character: char) -> bool {
    character.is_control() && !matches!(character, '\n' | '\t')
}
