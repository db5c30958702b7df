//! The days of a programme: which practice sessions took place, and when.

use jiff::civil::Date;

use super::record::{MeasureRecord, Record};
use crate::logbook::model::{Logbook, Session};
use crate::phase::Phase;

/// The practice sessions and days of a programme.
#[derive(Debug, Clone)]
pub struct Calendar<'l> {
    /// The practice sessions of the Sessions table in its order, then those that only trials record.
    pub practice: Vec<PracticeSession<'l>>,
    /// The days of practice, each once, in order.
    pub days: Vec<Date>,
}

/// One practice session.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PracticeSession<'l> {
    /// Its number.
    pub number: Option<u32>,
    /// Its day.
    pub date: Option<Date>,
    /// Its row of the Sessions table; none where only trials record it.
    pub row: Option<&'l Session>,
}

impl<'l> Calendar<'l> {
    /// The practice sessions of a logbook: of its Sessions table, and those with a practice score that counts, each once.
    pub fn new(logbook: &'l Logbook, record: &Record) -> Self {
        let mut practice: Vec<PracticeSession<'l>> = Vec::new();
        let rows = logbook
            .sessions
            .iter()
            .filter(|session| session.phase == Some(Phase::PRACTICE));
        for row in rows {
            let session = PracticeSession {
                number: row.number,
                date: row.date,
                row: Some(row),
            };
            let twice = |known: &PracticeSession| {
                (known.number, known.date) == (session.number, session.date)
            };
            if (session.number, session.date) == (None, None) || !practice.iter().any(twice) {
                practice.push(session);
            }
        }
        let recorded = record
            .measures
            .iter()
            .flat_map(MeasureRecord::practice)
            .filter(|session| session.trials.iter().any(|trial| trial.score.is_some()));
        for session in recorded {
            let known = practice
                .iter_mut()
                .find(|known| is_same(known, session.number, session.date));
            match known {
                Some(known) => known.date = known.date.or(session.date),
                None => practice.push(PracticeSession {
                    number: session.number,
                    date: session.date,
                    row: None,
                }),
            }
        }
        let mut days: Vec<Date> = practice.iter().filter_map(|session| session.date).collect();
        days.sort_unstable();
        days.dedup();
        Self { practice, days }
    }

    /// The last day of practice up to and including a day.
    pub fn last_day_until(&self, day: Date) -> Option<Date> {
        self.days.iter().rev().find(|known| **known <= day).copied()
    }

    /// The longest time between two practice days that follow each other, in days; none for fewer than two days.
    pub fn longest_gap(&self) -> Option<i32> {
        self.days
            .iter()
            .zip(self.days.iter().skip(1))
            .map(|(earlier, later)| days_between(*earlier, *later))
            .max()
    }
}

/// Sessions are the same by number, else, where one has none, by day.
fn is_same(known: &PracticeSession<'_>, number: Option<u32>, date: Option<Date>) -> bool {
    match (known.number, number) {
        (Some(known), Some(number)) => known == number,
        _ => known.date.is_some() && known.date == date,
    }
}

/// Whole days from one day to another, negative where the other is earlier.
pub fn days_between(from: Date, to: Date) -> i32 {
    from.duration_until(to)
        .as_hours()
        .checked_div(24)
        .and_then(|days| i32::try_from(days).ok())
        .unwrap_or(0)
}

/// The first day of a phase: of its recorded trials, else of its rows in the Sessions table.
pub fn first_day(phase: Phase, logbook: &Logbook, record: &Record) -> Option<Date> {
    let of_trials = record
        .measures
        .iter()
        .filter_map(|measure| measure.block(phase))
        .flat_map(|block| &block.sessions)
        .filter_map(|session| session.date)
        .min();
    of_trials.or_else(|| {
        logbook
            .sessions
            .iter()
            .filter(|session| session.phase == Some(phase))
            .filter_map(|session| session.date)
            .min()
    })
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::facts::sample::{self, Row, logbook, session};
    use crate::logbook::model::Measure;

    #[test]
    fn sessions_of_both_tables_count_once() {
        let mut rows = sample::practice(1, 3, &[1.0]);
        rows.extend(sample::practice(3, 10, &[1.0]));
        rows.push(Row::practice(0, 1, 1.0).unnumbered_session().on(2026, 3, 5));
        let mut logbook = logbook(vec![Measure::undescribed()], rows);
        logbook.sessions = vec![
            session(1, 3, Phase::PRACTICE),
            session(2, 5, Phase::PRACTICE),
            session(2, 5, Phase::PRACTICE),
            session(4, 12, Phase::POST),
        ];
        let record = Record::new(&logbook);
        let calendar = Calendar::new(&logbook, &record);
        let numbers: Vec<_> = calendar.practice.iter().map(|s| s.number).collect();
        assert_eq!(numbers, [Some(1), Some(2), Some(3)]);
        assert_eq!(calendar.longest_gap(), Some(5));
        assert_eq!(
            calendar.last_day_until(date(2026, 3, 9)),
            Some(date(2026, 3, 5))
        );
        assert_eq!(calendar.last_day_until(date(2026, 3, 2)), None);
        assert_eq!(
            first_day(Phase::POST, &logbook, &record),
            Some(date(2026, 3, 12))
        );
    }

    #[test]
    fn days_are_counted_across_months_and_years() {
        assert_eq!(days_between(date(2025, 12, 31), date(2026, 3, 1)), 60);
        assert_eq!(days_between(date(2026, 3, 1), date(2026, 2, 28)), -1);
        assert_eq!(days_between(Date::MIN, Date::MAX), 7_304_483);
    }
}
