//! What the two binary forms of Excel workbooks (97–2003, and the binary form of Office Open XML) have in common: numbers, errors, formulas.
//!
//! Source of records and tokens: Microsoft's published \[MS-XLS\] and \[MS-XLSB\].

mod bytes;
mod formula;
mod functions;

use crate::logbook::grid::Value;
use crate::logbook::open::number_format::NumberFormat;
use crate::logbook::open::serial_date::{Epoch, moment_value};

pub(super) use bytes::Bytes;
pub(super) use formula::{Sheets, Tokens, Width};

/// A number in the short form of four bytes: whole or the upper half of a double, perhaps times 100.
pub(super) fn short_number(stored: u32) -> f64 {
    const HUNDREDFOLD: u32 = 1;
    const WHOLE: u32 = 2;
    let number = if stored & WHOLE == 0 {
        f64::from_bits(u64::from(stored & !3) << 32)
    } else {
        f64::from(stored.cast_signed() >> 2)
    };
    if stored & HUNDREDFOLD == 0 {
        number
    } else {
        number / 100.0
    }
}

/// The text of an error by its code.
pub(super) fn error_text(code: u8) -> &'static str {
    match code {
        0x00 => "#NULL!",
        0x07 => "#DIV/0!",
        0x0f => "#VALUE!",
        0x17 => "#REF!",
        0x1d => "#NAME?",
        0x24 => "#NUM!",
        0x2a => "#N/A",
        0x2b => "#GETTING_DATA",
        _ => "#ERROR!",
    }
}

/// A stored number under its format; what is no number is an error.
pub(super) fn number_value(number: f64, format: NumberFormat, epoch: Epoch) -> Value {
    if !number.is_finite() {
        return Value::Error("#NUM!".into());
    }
    match format.moment {
        Some(moment) => moment_value(number, moment, epoch),
        None => Value::Number(number),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The examples of [MS-XLS] 2.5.122 (RkNumber), and the two forms by hand: 3 = 0x4008 in the upper half of a double.
    #[test]
    #[expect(clippy::float_cmp, reason = "the short form is exact")]
    fn short_numbers() {
        assert_eq!(short_number(0x4008_0000), 3.0);
        assert_eq!(short_number((3 << 2) | 2), 3.0);
        assert_eq!(short_number((325 << 2) | 3), 3.25);
        assert_eq!(short_number(0xffff_fffe), -1.0);
    }
}
