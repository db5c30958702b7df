//! Dates as people type them. Whether day or month comes first is settled once for a file, from all its dates.

mod text;

use std::sync::Arc;

use jiff::civil::Date;

pub(crate) use self::text::looks_like_date;
use self::text::{Parts, date, parts, small, two_digit_year};
use crate::logbook::aliases::{Aliases, CellWord};
use crate::logbook::cells::cell_text;
use crate::logbook::grid::{Cell, Grid, Value};
use crate::logbook::numbers::plain;
use crate::logbook::problem::{Problem, ProblemKind, report};
use crate::logbook::settings::DateOrder;
use crate::logbook::spelling::key;

/// A date cell as it reads.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum DateReading {
    /// A date.
    On(Date),
    /// Nothing, or what stands for missing.
    Missing,
    /// Two dates that the text could mean: day first, month first.
    TwoWays(Date, Date),
    /// No date.
    No,
}

/// The years in which a programme is believed to lie.
const YEARS: std::ops::RangeInclusive<i16> = 1950..=2099;

/// What the dates of one hand-in have settled.
#[derive(Debug, Clone, Default)]
pub(crate) struct Dates {
    order: Option<DateOrder>,
    /// First and last day of the programme, or of the dates that need no settling.
    span: Option<(Date, Date)>,
}

impl Dates {
    /// Settles what a hand-in's dates leave open. `cells` are all cells that should be dates; `programme` the first and last day from
    /// About, as they stand. The cohort's own order counts where the dates don't settle it.
    pub(crate) fn settle<'a>(
        cells: impl Iterator<Item = &'a Cell>,
        programme: (Option<&Cell>, Option<&Cell>),
        order: Option<DateOrder>,
        aliases: &Aliases,
    ) -> Self {
        let mut votes = Votes::default();
        let mut last: Option<Arc<str>> = None;
        for cell in cells {
            match &cell.value {
                Value::Text(text) => {
                    // Sessions repeat their date on every row.
                    if last.as_deref() != Some(text) {
                        votes.count(parts(text, aliases));
                        last = Some(text.clone());
                    }
                }
                value => {
                    if let Some(date) = stored_date(value) {
                        votes.certain(date);
                    }
                }
            }
        }
        let mut settled = Self {
            order: None,
            span: None,
        };
        for cell in [programme.0, programme.1].into_iter().flatten() {
            match &cell.value {
                Value::Text(text) => votes.count(parts(text, aliases)),
                value => {
                    if let Some(date) = stored_date(value) {
                        votes.certain(date);
                    }
                }
            }
        }
        settled.order = votes.order().or(order);
        let end = |cell: Option<&Cell>| match settled.read(&cell?.value, aliases) {
            DateReading::On(date) => Some(date),
            _ => None,
        };
        settled.span = match (end(programme.0), end(programme.1)) {
            (Some(start), Some(end)) if start <= end => Some((start, end)),
            (Some(day), None) | (None, Some(day)) => Some((day, day)),
            _ => votes.span,
        };
        if settled.order.is_none() {
            settled.order = votes.order_within(settled.span);
        }
        settled
    }

    /// Reads a date cell.
    pub(crate) fn read(&self, value: &Value, aliases: &Aliases) -> DateReading {
        match value {
            Value::Text(text) => self.read_text(text, aliases),
            value => stored_date(value).map_or(DateReading::No, DateReading::On),
        }
    }

    fn read_text(&self, text: &str, aliases: &Aliases) -> DateReading {
        if is_missing(text, aliases) {
            return DateReading::Missing;
        }
        match parts(text, aliases) {
            None => DateReading::No,
            Some(Parts::Whole(date)) => DateReading::On(date),
            Some(Parts::YearFirst { year, month, day }) => {
                date(year, month, day).map_or(DateReading::No, DateReading::On)
            }
            Some(Parts::NoYear { month, day }) => self
                .with_year(month, day)
                .map_or(DateReading::No, DateReading::On),
            Some(Parts::Numbers {
                first,
                second,
                year,
            }) => self.read_numbers(first, second, year),
        }
    }

    fn read_numbers(&self, first: i16, second: i16, year: Option<i16>) -> DateReading {
        if self.order == Some(DateOrder::YearFirst)
            && let Some(last) = year
        {
            // 26/3/9: the year was taken for the last number.
            let year = two_digit_year(first);
            let read = small(second)
                .zip(i8::try_from(last % 100).ok())
                .and_then(|(month, day)| date(year, month, day));
            if let Some(date) = read {
                return DateReading::On(date);
            }
        }
        let whole = |day: i16, month: i16| {
            let (day, month) = (small(day)?, small(month)?);
            match year {
                Some(year) => date(year, month, day),
                None => self.with_year(month, day),
            }
        };
        let (day_first, month_first) = (whole(first, second), whole(second, first));
        match (day_first, month_first) {
            (Some(date), None) | (None, Some(date)) => DateReading::On(date),
            (Some(one), Some(other)) if one == other => DateReading::On(one),
            (Some(day_first), Some(month_first)) => match self.order {
                Some(DateOrder::DayFirst) => DateReading::On(day_first),
                Some(DateOrder::MonthFirst | DateOrder::YearFirst) => DateReading::On(month_first),
                None => DateReading::TwoWays(day_first, month_first),
            },
            (None, None) => DateReading::No,
        }
    }

    /// A date without a year takes the year that puts it between the programme's first and last day; where none does, the nearest.
    fn with_year(&self, month: i8, day: i8) -> Option<Date> {
        let (start, end) = self.span?;
        let candidates =
            (start.year() - 1..=end.year() + 1).filter_map(|year| date(year, month, day));
        candidates.min_by_key(|candidate| days_outside(*candidate, start, end))
    }
}

fn days_outside(day: Date, start: Date, end: Date) -> i32 {
    let days = |from: Date, to: Date| from.until(to).map_or(i32::MAX, |span| span.get_days());
    if day < start {
        days(day, start)
    } else if day > end {
        days(end, day)
    } else {
        0
    }
}

/// What the dates of a file say of day and month.
#[derive(Debug, Default)]
struct Votes {
    day_first: u32,
    month_first: u32,
    year_first: u32,
    span: Option<(Date, Date)>,
    open: Vec<(i16, i16, Option<i16>)>,
}

impl Votes {
    fn certain(&mut self, date: Date) {
        self.span = Some(match self.span {
            Some((first, last)) => (first.min(date), last.max(date)),
            None => (date, date),
        });
    }

    fn count(&mut self, parts: Option<Parts>) {
        match parts {
            Some(Parts::Whole(date)) => self.certain(date),
            Some(Parts::YearFirst { year, month, day }) => {
                self.year_first += 1;
                if let Some(date) = date(year, month, day) {
                    self.certain(date);
                }
            }
            Some(Parts::Numbers {
                first,
                second,
                year,
            }) => {
                let (may_be_day_first, may_be_month_first) = (second <= 12, first <= 12);
                match (may_be_day_first, may_be_month_first) {
                    (true, false) => self.day_first += 1,
                    (false, true) => self.month_first += 1,
                    _ => self.open.push((first, second, year)),
                }
                if may_be_day_first != may_be_month_first
                    && let Some(year) = year
                {
                    let (day, month) = if may_be_day_first {
                        (first, second)
                    } else {
                        (second, first)
                    };
                    if let Some(date) = small(month)
                        .zip(small(day))
                        .and_then(|(m, d)| date(year, m, d))
                    {
                        self.certain(date);
                    }
                }
            }
            Some(Parts::NoYear { .. }) | None => {}
        }
    }

    fn order(&self) -> Option<DateOrder> {
        match (self.day_first, self.month_first) {
            (0, 0) if self.year_first > 0 => Some(DateOrder::YearFirst),
            (0, 0) => None,
            (_, 0) => Some(DateOrder::DayFirst),
            (0, _) => Some(DateOrder::MonthFirst),
            // Both ways in one file: nothing settles the rest.
            _ => None,
        }
    }

    /// The order under which every open date lies within the programme, where only one does that.
    fn order_within(&self, span: Option<(Date, Date)>) -> Option<DateOrder> {
        let (start, end) = span.filter(|(start, end)| start < end)?;
        if self.open.is_empty() || (self.day_first > 0 && self.month_first > 0) {
            return None;
        }
        let all_within = |day_first: bool| {
            self.open.iter().all(|(first, second, year)| {
                let (day, month) = if day_first {
                    (*first, *second)
                } else {
                    (*second, *first)
                };
                small(month)
                    .zip(small(day))
                    .and_then(|(month, day)| date((*year)?, month, day))
                    // A delayed test may follow the programme's last day.
                    .is_some_and(|day| day >= start && days_outside(day, start, end) <= 45)
            })
        };
        match (all_within(true), all_within(false)) {
            (true, false) => Some(DateOrder::DayFirst),
            (false, true) => Some(DateOrder::MonthFirst),
            _ => None,
        }
    }
}

/// A date that a workbook stores as such: a date cell, or a serial number of the 1900 count.
fn stored_date(value: &Value) -> Option<Date> {
    match value {
        Value::Date(moment) => Some(moment.date()).filter(|date| YEARS.contains(&date.year())),
        Value::Number(serial) => serial_date(*serial),
        _ => None,
    }
}

/// The day of a serial number. Day 1 is 1 January 1900, and day 60 the 29 February 1900 that never was: later days count from
/// 30 December 1899 (ECMA-376-1, 18.17.4.1). Only days from 1950 on are believed: smaller numbers are no dates.
fn serial_date(serial: f64) -> Option<Date> {
    if !(18_264.0..73_051.0).contains(&serial) {
        return None;
    }
    // In range: whole days fit an i32.
    #[allow(clippy::cast_possible_truncation, reason = "between 18,264 and 73,051")]
    let days = serial.floor() as i32;
    let from = Date::constant(1899, 12, 30);
    from.checked_add(jiff::Span::new().try_days(days).ok()?)
        .ok()
}

fn is_missing(text: &str, aliases: &Aliases) -> bool {
    let text = plain(text);
    text.is_empty()
        || text.chars().all(|c| c == '-')
        || (!text.contains(|c: char| c.is_ascii_digit())
            && aliases.cell_word(&key(&text)) == Some(CellWord::Missing))
}

/// Reports a date that can't be read, or could be two.
pub(crate) fn report_unread(
    grid: &Grid,
    cell: &Cell,
    reading: &DateReading,
    problems: &mut Vec<Problem>,
) {
    let text = cell_text(cell);
    let (says, settle) = match reading {
        DateReading::On(_) | DateReading::Missing => return,
        DateReading::TwoWays(day_first, month_first) => (
            format!("“{text}” may be {day_first} or {month_first}."),
            String::from("Nothing else in the hand-in settles it; date_order in cohort.toml does."),
        ),
        DateReading::No => (
            format!("“{text}” is no date that could be read."),
            String::from("The date was left open."),
        ),
    };
    report(
        problems,
        Problem::at(
            ProblemKind::UnreadableDate,
            grid.place(cell.row, cell.column),
            text,
            says,
            settle,
        ),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::grid::Shown;

    fn cell(text: &str) -> Cell {
        Cell {
            row: 0,
            column: 0,
            value: Value::Text(text.into()),
            shown: Shown::default(),
            formula: None,
        }
    }

    fn settle(texts: &[&str], programme: (&str, &str), order: Option<DateOrder>) -> Dates {
        let cells: Vec<Cell> = texts.iter().map(|text| cell(text)).collect();
        let (start, end) = (cell(programme.0), cell(programme.1));
        let some = |c: &Cell| !matches!(&c.value, Value::Text(t) if t.is_empty());
        Dates::settle(
            cells.iter(),
            (
                Some(&start).filter(|c| some(c)),
                Some(&end).filter(|c| some(c)),
            ),
            order,
            &Aliases::default(),
        )
    }

    fn read(dates: &Dates, text: &str) -> DateReading {
        dates.read(&Value::Text(text.into()), &Aliases::default())
    }

    fn on(year: i16, month: i8, day: i8) -> DateReading {
        DateReading::On(Date::constant(year, month, day))
    }

    #[test]
    fn dates_that_need_no_settling() {
        let dates = settle(&[], ("", ""), None);
        for text in [
            "2026-03-09",
            "2026-03-09T10:30:00",
            "9 March 2026",
            "March 9, 2026",
            "Mon 9 Mar 2026",
            "9th Mar 26",
            "9 de março de 2026",
            "2026/3/9",
            "46090",
            "9-Mar-2026",
            "9 Mar 2026 14:05",
        ] {
            assert_eq!(read(&dates, text), on(2026, 3, 9), "{text}");
        }
        assert_eq!(read(&dates, "13/3/26"), on(2026, 3, 13));
        assert_eq!(read(&dates, "31/02/2026"), DateReading::No);
        assert_eq!(read(&dates, "soon"), DateReading::No);
        assert_eq!(read(&dates, "-"), DateReading::Missing);
        assert_eq!(read(&dates, "9999-12-31"), DateReading::No);
        assert!(matches!(read(&dates, "9/3/26"), DateReading::TwoWays(..)));
    }

    #[test]
    fn a_file_settles_day_and_month_by_its_other_dates() {
        let day_first = settle(&["9/3/26", "16/3/26"], ("", ""), None);
        assert_eq!(read(&day_first, "9/3/26"), on(2026, 3, 9));
        let month_first = settle(&["3/9/26", "3/16/26"], ("", ""), Some(DateOrder::DayFirst));
        assert_eq!(read(&month_first, "3/9/26"), on(2026, 3, 9));
        let by_cohort = settle(&["9/3/26"], ("", ""), Some(DateOrder::DayFirst));
        assert_eq!(read(&by_cohort, "9/3/26"), on(2026, 3, 9));
        let by_programme = settle(
            &["09.03.2026", "11.03.2026"],
            ("2026-03-02", "2026-04-10"),
            None,
        );
        assert_eq!(read(&by_programme, "09.03.2026"), on(2026, 3, 9));
        let year_first = settle(&["26/3/9"], ("", ""), None);
        assert_eq!(read(&year_first, "26/3/9"), on(2026, 3, 9));
    }

    #[test]
    fn a_date_without_a_year_takes_the_programmes() {
        let dates = settle(&[], ("2025-11-20", "2026-01-30"), None);
        assert_eq!(read(&dates, "Mon 9 Dec"), on(2025, 12, 9));
        assert_eq!(read(&dates, "12 Jan"), on(2026, 1, 12));
        assert_eq!(read(&dates, "20/1"), on(2026, 1, 20));
        let open = settle(&[], ("", ""), None);
        assert_eq!(read(&open, "9 Mar"), DateReading::No);
    }

    #[test]
    fn stored_serial_numbers_are_days() {
        let dates = Dates::default();
        let aliases = Aliases::default();
        // 46090 shown as a date in a spreadsheet is 9 March 2026.
        assert_eq!(
            dates.read(&Value::Number(46_090.0), &aliases),
            on(2026, 3, 9)
        );
        assert_eq!(dates.read(&Value::Number(12.0), &aliases), DateReading::No);
        assert_eq!(
            dates.read(&Value::Number(f64::NAN), &aliases),
            DateReading::No
        );
    }
}
