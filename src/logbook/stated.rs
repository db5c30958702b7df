//! The number that the cell of a claim, or of an average beside the trials, states: at the precision at which it is shown.

use super::cells::cell_text;
use super::grid::{Cell, Value};
use super::numbers::{Marks, NumberText, read_number};
use super::problem::{Doubt, ProblemKind};
use super::read::Context;
use super::spelling::key;
use crate::number::Stated;
use crate::statistic::{Statistic, Unit};

/// The number that a cell states, in the statistic's own unit.
pub(super) fn stated(
    cell: &Cell,
    statistic: Option<Statistic>,
    unit: Option<&str>,
    marks: Marks,
    context: &Context,
    grid: usize,
) -> Result<Stated, Doubt> {
    let stated = match &cell.value {
        Value::Number(_) => stored(cell).ok_or_else(|| no_number(&cell_text(cell)))?,
        Value::Text(text) => typed(text, marks)?,
        Value::NotCalculated => match context.calculate(grid, cell) {
            Some(number) => Stated::from_stored(number),
            None => {
                return Err(doubt(
                    ProblemKind::FormulaError,
                    "The cell holds a formula that was never calculated: opening the file in a spreadsheet and saving it calculates it.",
                ));
            }
        },
        Value::Error(text) => {
            return Err(doubt(
                ProblemKind::FormulaError,
                format!("The cell shows the error {text}."),
            ));
        }
        _ => return Err(no_number(&cell_text(cell))),
    };
    let unit_is_percent = unit.is_some_and(|unit| {
        let key = key(unit);
        key == "%" || key == "percent" || key == "percentage" || key == "pct"
    });
    Ok(match statistic.map(Statistic::unit) {
        Some(Unit::Share) if stated.percent || (unit_is_percent && stated.value.abs() > 1.0) => {
            stated.percent_as_share()
        }
        _ => stated,
    })
}

/// A stored number at the precision at which the cell shows it.
pub(super) fn stored(cell: &Cell) -> Option<Stated> {
    let Value::Number(number) = cell.value else {
        return None;
    };
    if !number.is_finite() {
        return None;
    }
    let shown = if cell.shown.percent {
        number * 100.0
    } else {
        number
    };
    let stated = match cell.shown.decimals {
        Some(decimals) => Stated::new(rounded(shown, decimals), decimals),
        None => Stated::from_stored(shown),
    };
    Some(Stated {
        percent: cell.shown.percent,
        ..stated
    })
}

/// Rounded as a spreadsheet shows it: half away from zero on the decimal digits.
fn rounded(value: f64, decimals: u8) -> f64 {
    let clean = Stated::from_stored(value).value;
    let scale = 10_f64.powi(i32::from(decimals));
    let scaled = Stated::from_stored(clean * scale).value.round() / scale;
    if scaled.is_finite() {
        Stated::from_stored(scaled).value
    } else {
        value
    }
}

fn typed(text: &str, marks: Marks) -> Result<Stated, Doubt> {
    match read_number(text, marks) {
        // A second number behind the first ("2.5 to 3.1") makes it no single number.
        NumberText::Number(typed) if !typed.after.contains(|c: char| c.is_ascii_digit()) => {
            Ok(typed.stated)
        }
        // A claim's raised digit is a power or a footnote either way: the number before it was claimed.
        NumberText::Raised { number, .. } => Ok(number.stated),
        NumberText::TwoWays { decimal, thousands } => Err(doubt(
            ProblemKind::AmbiguousValue,
            format!(
                "“{text}” may be {} or {}, and nothing else in its column settles it.",
                crate::number::plain(decimal.stated.value),
                crate::number::plain(thousands.stated.value)
            ),
        )),
        NumberText::Fraction { .. } | NumberText::Doubted(_) | NumberText::Clock => Err(doubt(
            ProblemKind::AmbiguousValue,
            format!("“{text}” can be read in more than one way."),
        )),
        NumberText::Number(_) | NumberText::No => Err(no_number(text)),
    }
}

fn no_number(text: &str) -> Doubt {
    doubt(
        ProblemKind::NotANumber,
        format!("“{text}” is no single number."),
    )
}

fn doubt(kind: ProblemKind, says: impl Into<String>) -> Doubt {
    Doubt::new(kind, says, "The claim can't be compared.")
}
