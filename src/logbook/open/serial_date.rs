//! Serial numbers of days, as workbooks store dates, to civil dates.

use jiff::civil::{Date, DateTime, Time};

use super::number_format::Moment;
use crate::logbook::grid::Value;

/// The day from which serial numbers count.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum Epoch {
    /// 1 is 1 January 1900, and 60 the 29 February 1900 that never was.
    #[default]
    Of1900,
    /// 0 is 1 January 1904.
    Of1904,
}

/// Days from the 1900 count to the 1904 count. Source: ECMA-376-1, 18.17.4.1.
const BETWEEN_EPOCHS: f64 = 1_462.0;
/// Dates are believed from 1900 up to the end of 2099: nothing outside is a day of a skill programme.
const FIRST: f64 = 1.0;
const AFTER_LAST: f64 = 73_051.0;
const SECONDS_A_DAY: f64 = 86_400.0;

/// What a stored number means under a format that shows a moment. A number that is no moment stays a number.
pub(super) fn moment_value(number: f64, moment: Moment, epoch: Epoch) -> Value {
    let value = match moment {
        Moment::Date => date(number, epoch).map(Value::Date),
        Moment::Time if (0.0..1.0).contains(&number) => time(number).map(Value::Time),
        Moment::Time | Moment::Length => number.is_finite().then_some(Value::Duration(number)),
    };
    value.unwrap_or(Value::Number(number))
}

/// The date and time of day of a serial number, to the millisecond.
pub(super) fn date(serial: f64, epoch: Epoch) -> Option<DateTime> {
    let serial = match epoch {
        Epoch::Of1900 => serial,
        Epoch::Of1904 => serial + BETWEEN_EPOCHS,
    };
    if !(FIRST..AFTER_LAST).contains(&serial) {
        return None;
    }
    let milliseconds = ((serial - serial.floor()) * SECONDS_A_DAY * 1_000.0).round();
    // Rounding up to midnight is the next day.
    let (days, milliseconds) = if milliseconds >= SECONDS_A_DAY * 1_000.0 {
        (serial.floor() + 1.0, 0.0)
    } else {
        (serial.floor(), milliseconds)
    };
    let days = whole(days)?;
    // Before the day that never was, the count is one behind.
    let since = if days < 60 { days + 1 } else { days };
    let day = Date::constant(1899, 12, 30)
        .checked_add(jiff::Span::new().try_days(since).ok()?)
        .ok()?;
    let time = midnight_plus(milliseconds)?;
    Some(day.to_datetime(time))
}

fn time(part: f64) -> Option<Time> {
    let milliseconds = (part * SECONDS_A_DAY * 1_000.0).round();
    midnight_plus(milliseconds.min(SECONDS_A_DAY * 1_000.0 - 1.0))
}

fn midnight_plus(milliseconds: f64) -> Option<Time> {
    Time::midnight()
        .checked_add(
            jiff::Span::new()
                .try_milliseconds(whole(milliseconds)?)
                .ok()?,
        )
        .ok()
}

/// A small whole number that a double holds exactly.
#[expect(
    clippy::cast_possible_truncation,
    reason = "the range is checked in the line before"
)]
fn whole(number: f64) -> Option<i64> {
    (number.abs() < 1e12).then_some(number as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::{date as day, time as at};

    // Expected dates: the table of ECMA-376-1, 18.17.4.1 (1900: serial 2 is 2 January 1900; 1904: serial 0 is 1 January 1904), and
    // LibreOffice 7 showing the serial numbers as dates from March 1900 on.
    #[test]
    fn serial_numbers_are_the_dates_that_spreadsheets_show() {
        for (serial, epoch, shown) in [
            (1.0, Epoch::Of1900, day(1900, 1, 1).at(0, 0, 0, 0)),
            (2.0, Epoch::Of1900, day(1900, 1, 2).at(0, 0, 0, 0)),
            (61.0, Epoch::Of1900, day(1900, 3, 1).at(0, 0, 0, 0)),
            (46_090.0, Epoch::Of1900, day(2026, 3, 9).at(0, 0, 0, 0)),
            (46_090.5, Epoch::Of1900, day(2026, 3, 9).at(12, 0, 0, 0)),
            (44_628.0, Epoch::Of1904, day(2026, 3, 9).at(0, 0, 0, 0)),
            (0.0, Epoch::Of1904, day(1904, 1, 1).at(0, 0, 0, 0)),
            // One ten-millionth of a day short of midnight is midnight.
            (
                46_089.999_999_999,
                Epoch::Of1900,
                day(2026, 3, 9).at(0, 0, 0, 0),
            ),
        ] {
            assert_eq!(date(serial, epoch), Some(shown), "{serial}");
        }
    }

    #[test]
    fn what_is_no_date_stays_a_number() {
        for number in [0.0, -1.0, 0.5, 73_051.0, 1e9, -1e12, f64::MAX] {
            assert_eq!(
                moment_value(number, Moment::Date, Epoch::Of1900),
                Value::Number(number)
            );
        }
        assert_eq!(date(f64::NAN, Epoch::Of1900), None);
    }

    #[test]
    fn times_of_day_and_lengths_of_time() {
        let time = |number| moment_value(number, Moment::Time, Epoch::Of1900);
        assert_eq!(time(0.377_777_777_777_78), Value::Time(at(9, 4, 0, 0)));
        assert_eq!(
            time(0.999_999_999_99),
            Value::Time(at(23, 59, 59, 999_000_000))
        );
        assert_eq!(time(1.25), Value::Duration(1.25));
        assert_eq!(
            moment_value(0.25, Moment::Length, Epoch::Of1900),
            Value::Duration(0.25)
        );
    }
}
