//! The days of a programme: which practice sessions took place, and when.

use std::collections::{HashMap, HashSet};

use jiff::civil::Date;

use super::record::{MeasureRecord, Record, SessionTrials};
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
        let mut sessions = Sessions::default();
        let rows = logbook
            .sessions
            .iter()
            .filter(|session| session.phase == Some(Phase::PRACTICE));
        for row in rows {
            sessions.add_row(row);
        }
        let recorded = record
            .measures
            .iter()
            .flat_map(MeasureRecord::practice)
            .filter(|session| session.trials.iter().any(|trial| trial.score.is_some()));
        for session in recorded {
            sessions.add_recorded(session);
        }
        let practice = sessions.practice;
        let mut days: Vec<Date> = practice.iter().filter_map(|session| session.date).collect();
        days.sort_unstable();
        days.dedup();
        Self { practice, days }
    }

    /// The last day of practice up to and including a day.
    pub fn last_day_until(&self, day: Date) -> Option<Date> {
        let until = self.days.partition_point(|known| *known <= day);
        self.days.get(until.checked_sub(1)?).copied()
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

/// Practice sessions as they are found: the same by number, else, where one has none, by day.
#[derive(Default)]
struct Sessions<'l> {
    practice: Vec<PracticeSession<'l>>,
    by_number: HashMap<u32, usize>,
    by_day: HashMap<Date, usize>,
    unnumbered_by_day: HashMap<Date, usize>,
    rows: HashSet<(Option<u32>, Option<Date>)>,
}

impl<'l> Sessions<'l> {
    /// A row of the Sessions table: another session than those before unless both number and day are a row's before.
    fn add_row(&mut self, row: &'l Session) {
        let is_new = self.rows.insert((row.number, row.date));
        if is_new || (row.number, row.date) == (None, None) {
            self.add(PracticeSession {
                number: row.number,
                date: row.date,
                row: Some(row),
            });
        }
    }

    /// A session of recorded trials.
    fn add_recorded(&mut self, session: &SessionTrials) {
        let of_day =
            |days: &HashMap<Date, usize>| session.date.and_then(|day| days.get(&day)).copied();
        let known = match session.number {
            Some(number) => self
                .by_number
                .get(&number)
                .copied()
                .or_else(|| of_day(&self.unnumbered_by_day)),
            None => of_day(&self.by_day),
        };
        match known.and_then(|known| self.practice.get_mut(known)) {
            Some(known) => known.date = known.date.or(session.date),
            None => self.add(PracticeSession {
                number: session.number,
                date: session.date,
                row: None,
            }),
        }
    }

    fn add(&mut self, session: PracticeSession<'l>) {
        let place = self.practice.len();
        if let Some(number) = session.number {
            self.by_number.entry(number).or_insert(place);
        }
        if let Some(day) = session.date {
            self.by_day.entry(day).or_insert(place);
            if session.number.is_none() {
                self.unnumbered_by_day.entry(day).or_insert(place);
            }
        }
        self.practice.push(session);
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
