//! What single cells hold: texts, whole numbers, numbers with units.

use std::sync::Arc;

use super::aliases::CellWord;
use super::grid::{Cell, Value};
use super::numbers::{Marks, NumberText, plain, read_number};

use super::read::Context;
use super::spelling::{key, numbered};

/// How a number cell reads.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum NumberReading {
    /// A number; `percent` where it was written or shown as a percentage, and the number is then the one before the sign.
    Number { value: f64, percent: bool },
    /// Empty, or what stands for missing.
    Missing,
    /// No number.
    No,
}

impl NumberReading {
    /// The number.
    pub(crate) fn number(self) -> Option<f64> {
        match self {
            Self::Number { value, .. } => Some(value),
            Self::Missing | Self::No => None,
        }
    }
}

/// Reads a number that may be typed with a unit.
pub(crate) fn read(cell: &Cell, context: &Context) -> NumberReading {
    match &cell.value {
        Value::Number(number) if !number.is_finite() => NumberReading::No,
        Value::Number(number) if cell.shown.percent => NumberReading::Number {
            value: crate::number::Stated::from_stored(number * 100.0).value,
            percent: true,
        },
        Value::Number(number) => NumberReading::Number {
            value: *number,
            percent: false,
        },
        Value::Text(text) => match read_number(text, Marks::Open) {
            NumberText::Number(typed) if !typed.after.contains(|c: char| c.is_ascii_digit()) => {
                NumberReading::Number {
                    value: typed.stated.value,
                    percent: typed.stated.percent,
                }
            }
            _ if plain(text).chars().all(|c| matches!(c, '-' | ' '))
                || context.aliases().cell_word(&key(text)) == Some(CellWord::Missing) =>
            {
                NumberReading::Missing
            }
            _ => NumberReading::No,
        },
        _ => NumberReading::No,
    }
}

/// A whole number from 0, as a number or as a text.
pub(crate) fn whole(cell: &Cell) -> Option<u32> {
    let number = match &cell.value {
        Value::Number(number) => *number,
        Value::Text(text) => plain(text).parse().ok()?,
        _ => return None,
    };
    whole_number(number)
}

/// A number where it is a whole one from 0, as a count or a place in an order is.
pub(crate) fn whole_number(number: f64) -> Option<u32> {
    if number.fract() == 0.0 && (0.0..1_000_000.0).contains(&number) {
        #[allow(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "whole and in range"
        )]
        let whole = number as u32;
        Some(whole)
    } else {
        None
    }
}

/// The number at the end of a text: 3 in `Trial 3`.
pub(crate) fn text_number(cell: &Cell) -> Option<u32> {
    match &cell.value {
        Value::Text(text) => numbered(text).map(|(_, number)| number),
        _ => None,
    }
}

/// A cell as a text; none where it is blank.
pub(crate) fn text_of(cell: &Cell) -> Option<Arc<str>> {
    match &cell.value {
        Value::Text(text) => {
            let trimmed = text.trim();
            if trimmed.is_empty() {
                None
            } else if trimmed.len() == text.len() {
                Some(text.clone())
            } else {
                Some(trimmed.into())
            }
        }
        _ => Some(cell_text(cell).into()).filter(|text: &Arc<str>| !text.is_empty()),
    }
}

pub(crate) fn is_dash(cell: &Cell) -> bool {
    matches!(&cell.value, Value::Text(text) if plain(text).chars().all(|c| c == '-'))
}

pub(crate) fn is_value(cell: &Cell) -> bool {
    match &cell.value {
        Value::Number(_) | Value::NotCalculated | Value::Error(_) => true,
        Value::Text(text) => text.contains(|c: char| c.is_ascii_digit()),
        _ => false,
    }
}

/// A cell as a text for a sentence.
pub(crate) fn cell_text(cell: &Cell) -> String {
    match &cell.value {
        Value::Text(text) | Value::Error(text) => text.trim().to_owned(),
        Value::Number(number) => crate::number::plain(*number),
        Value::Truth(truth) => if *truth { "TRUE" } else { "FALSE" }.to_owned(),
        Value::Date(moment) => moment.date().to_string(),
        Value::Duration(days) => format!("{} days", crate::number::plain(*days)),
        Value::Time(time) => time.to_string(),
        Value::NotCalculated => cell
            .formula
            .as_ref()
            .map(|formula| format!("={formula}"))
            .unwrap_or_default(),
    }
}

/// Whether a text begins as a number does, after signs and marks.
pub(crate) fn starts_as_number(text: &str) -> bool {
    let text = plain(text);
    text.trim_start_matches(['-', '+', '<', '>', '≈', '~', '.', ','])
        .trim_start()
        .starts_with(|c: char| c.is_ascii_digit())
}
