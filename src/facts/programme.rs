//! How practice was laid out: length, sessions, gaps, feedback, schedule.

use std::sync::Arc;

use super::calendar::{Calendar, days_between};
use super::catalogue::Entry;
use super::value::{FactValue, Facts};
use super::writer::Writer;
use crate::logbook::model::{Feedback, Logbook, Session};
use crate::number::EXACT;
use crate::stats::summary;

const SESSIONS: &str = "the logbook's Sessions and Trials tables";
const COMMON: &str = "common practice";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "weeks",
        "weeks",
        "Begun weeks from start to end in About, both days included; else from the first to the last day of practice.",
        COMMON,
    ),
    Entry::number(
        "sessions",
        "sessions",
        "Practice sessions: those in the Sessions table and those with recorded practice trials, each counted once.",
        SESSIONS,
    ),
    Entry::number(
        "sessions_per_week",
        "sessions",
        "Practice sessions divided by weeks.",
        COMMON,
    ),
    Entry::number(
        "longest_gap_days",
        "days",
        "Longest time between two practice days that follow each other: 1 from one day to the next.",
        COMMON,
    ),
    Entry::number(
        "minutes",
        "minutes",
        "Minutes of practice, summed over the practice sessions that record them.",
        SESSIONS,
    ),
    Entry::number(
        "feedback_share",
        "share",
        "Share of trials followed by feedback, 0 to 1: the mean over the practice sessions that record it. A session without feedback is 0.",
        "Salmoni, Schmidt & Walter 1984 on frequency of feedback",
    ),
    Entry::number(
        "feedback_share_early",
        "share",
        "The same over the first half of the practice sessions that record it; needs four.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::number(
        "feedback_share_late",
        "share",
        "The same over the second half of the practice sessions that record it; needs four. A middle session counts in neither half.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::truth(
        "feedback_faded",
        "Feedback followed fewer trials in the second half of practice than in the first.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::number(
        "feedback_recorded",
        "share",
        "Share of the practice sessions, 0 to 1, that record their feedback.",
        SESSIONS,
    ),
    Entry::number(
        "schedule_recorded",
        "share",
        "Share of the practice sessions, 0 to 1, that record their order or their variety.",
        SESSIONS,
    ),
    Entry::text(
        "order",
        "Order of tasks within practice: blocked, serial or random; mixed where sessions differ.",
        "Shea & Morgan 1979 on contextual interference",
    ),
    Entry::text(
        "variety",
        "Practice of the task: constant or variable; mixed where sessions differ.",
        "Schmidt 1975 on variability of practice",
    ),
    Entry::text(
        "part",
        "Whole, part or simplified practice as recorded; mixed where sessions differ.",
        "Naylor & Briggs 1963 on part and whole practice",
    ),
    Entry::date("first_practice", "First day of practice.", SESSIONS),
    Entry::date("last_practice", "Last day of practice.", SESSIONS),
];

/// Records how practice was laid out.
pub(super) fn record(facts: &mut Facts, logbook: &Logbook, calendar: &Calendar<'_>) {
    let Some(mut writer) = Writer::new(facts, None, "programme") else {
        return;
    };
    let weeks = weeks(logbook, calendar);
    writer.number("weeks", weeks);
    writer.count("sessions", calendar.practice.len());
    if calendar.practice.is_empty() {
        writer.nothing_else("no practice session is recorded");
        return;
    }
    let sessions = calendar.practice.len() as f64;
    writer.number("sessions_per_week", weeks.map(|weeks| sessions / weeks));
    writer.number(
        "longest_gap_days",
        calendar
            .longest_gap()
            .map(f64::from)
            .ok_or("needs two practice days"),
    );
    writer.date(
        "first_practice",
        calendar.days.first().copied().ok_or(UNDATED),
    );
    writer.date(
        "last_practice",
        calendar.days.last().copied().ok_or(UNDATED),
    );

    let rows: Vec<&Session> = calendar.practice.iter().filter_map(|s| s.row).collect();
    let minutes: Vec<f64> = rows.iter().filter_map(|row| row.minutes).collect();
    writer.number(
        "minutes",
        if minutes.is_empty() {
            Err("no practice session records its minutes")
        } else {
            Ok(minutes.iter().sum())
        },
    );
    let recorded_share = |recorded: &dyn Fn(&Session) -> bool| {
        rows.iter().filter(|row| recorded(row)).count() as f64 / sessions
    };
    writer.value(
        "feedback_recorded",
        FactValue::Number(recorded_share(&|row| {
            row.feedback.is_some() || row.feedback_percent.is_some()
        })),
    );
    writer.value(
        "schedule_recorded",
        FactValue::Number(recorded_share(&|row| {
            row.order.is_some() || row.variety.is_some()
        })),
    );
    writer.text(
        "order",
        common(
            rows.iter()
                .filter_map(|row| row.order.map(|order| order.name().into())),
        )
        .ok_or("no practice session records its order"),
    );
    writer.text(
        "variety",
        common(
            rows.iter()
                .filter_map(|row| row.variety.map(|variety| variety.name().into())),
        )
        .ok_or("no practice session records its variety"),
    );
    writer.text(
        "part",
        common(rows.iter().filter_map(|row| row.part.clone()))
            .ok_or("no practice session records whole or part"),
    );
    record_feedback(&mut writer, &rows);
}

const UNDATED: &str = "no practice session has a date";

/// Begun weeks, both end days included.
fn weeks(logbook: &Logbook, calendar: &Calendar<'_>) -> Result<f64, &'static str> {
    let stated = logbook
        .about
        .start
        .as_ref()
        .zip(logbook.about.end.as_ref())
        .map(|(start, end)| (start.value, end.value));
    let practised = calendar
        .days
        .first()
        .copied()
        .zip(calendar.days.last().copied());
    let (start, end) = stated
        .or(practised)
        .ok_or("neither start and end nor the days of practice are recorded")?;
    let days = days_between(start, end) + 1;
    if days < 1 {
        return Err("the end is before the start");
    }
    Ok((f64::from(days) / 7.0).ceil())
}

/// What all have in common, else `mixed`; none where there is none.
fn common(mut texts: impl Iterator<Item = Arc<str>>) -> Option<Arc<str>> {
    let first = texts.next()?;
    let same = texts.all(|text| text.to_lowercase() == first.to_lowercase());
    Some(if same { first } else { "mixed".into() })
}

fn record_feedback(writer: &mut Writer<'_>, rows: &[&Session]) {
    let mut dated: Vec<&Session> = rows.to_vec();
    dated.sort_by_key(|row| (row.date.is_none(), row.date, row.number));
    let shares: Vec<f64> = dated.into_iter().filter_map(feedback_share).collect();
    let mean = |shares: &[f64]| summary::mean(shares).map_err(|_| UNRECORDED);
    writer.number("feedback_share", mean(&shares));
    let half = shares.len() / 2;
    if shares.len() < 4 {
        for fact in [
            "feedback_share_early",
            "feedback_share_late",
            "feedback_faded",
        ] {
            writer.absent(fact, "needs four practice sessions that record it");
        }
        return;
    }
    let early = mean(shares.get(..half).unwrap_or_default());
    let late = mean(shares.get(shares.len() - half..).unwrap_or_default());
    writer.number("feedback_share_early", early);
    writer.number("feedback_share_late", late);
    writer.truth(
        "feedback_faded",
        early.and_then(|early| late.map(|late| late < early - EXACT)),
    );
}

const UNRECORDED: &str = "no practice session records the share of trials with feedback";

/// Share of a session's trials that feedback followed, 0–1. A session without feedback is 0, whatever its share says or leaves open.
fn feedback_share(session: &Session) -> Option<f64> {
    if session.feedback == Some(Feedback::None) {
        return Some(0.0);
    }
    session
        .feedback_percent
        .filter(|percent| (0.0..=100.0).contains(percent))
        .map(|percent| percent / 100.0)
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::facts::{Record, sample};
    use crate::logbook::model::{Measure, Order, Sourced, Variety};
    use crate::phase::Phase;
    use crate::place::Place;

    fn programme_of(logbook: &Logbook) -> Facts {
        let recorded = Record::new(logbook);
        let mut facts = Facts::default();
        record(&mut facts, logbook, &Calendar::new(logbook, &recorded));
        facts
    }

    fn practice(days: &[i8]) -> Logbook {
        let mut logbook = sample::logbook(vec![Measure::undescribed()], Vec::new());
        logbook.sessions = (1..)
            .zip(days)
            .map(|(number, day)| sample::session(number, *day, Phase::PRACTICE))
            .collect();
        logbook
    }

    #[test]
    fn length_and_gaps_are_counted_in_days() {
        let mut logbook = practice(&[2, 4, 9, 20]);
        let facts = programme_of(&logbook);
        assert_eq!(facts.number("programme.sessions"), Some(4.0));
        // 19 days, both ends counted, are three begun weeks.
        assert_eq!(facts.number("programme.weeks"), Some(3.0));
        assert_eq!(facts.number("programme.sessions_per_week"), Some(4.0 / 3.0));
        assert_eq!(facts.number("programme.longest_gap_days"), Some(11.0));
        assert_eq!(
            facts.get("programme.last_practice"),
            Some(&FactValue::Date(date(2026, 3, 20)))
        );
        let on = |day| {
            Some(Sourced {
                value: day,
                place: Place::file("invented.csv"),
            })
        };
        logbook.about.start = on(date(2026, 3, 2));
        logbook.about.end = on(date(2026, 3, 15));
        assert_eq!(programme_of(&logbook).number("programme.weeks"), Some(2.0));
        logbook.about.end = on(date(2026, 3, 1));
        let facts = programme_of(&logbook);
        assert_eq!(facts.number("programme.weeks"), None);
        assert_eq!(
            facts.why_absent("programme.sessions_per_week"),
            Some("the end is before the start")
        );
    }

    #[test]
    fn feedback_fades_where_its_share_falls() {
        let mut logbook = practice(&[2, 4, 6, 9, 11]);
        for (session, percent) in logbook.sessions.iter_mut().zip([100.0, 80.0, 50.0, 40.0]) {
            session.feedback_percent = Some(percent);
        }
        if let Some(last) = logbook.sessions.last_mut() {
            last.feedback = Some(Feedback::None);
        }
        let facts = programme_of(&logbook);
        assert_eq!(facts.number("programme.feedback_share"), Some(0.54));
        assert_eq!(facts.number("programme.feedback_share_early"), Some(0.9));
        assert_eq!(facts.number("programme.feedback_share_late"), Some(0.2));
        assert_eq!(facts.truth("programme.feedback_faded"), Some(true));
        assert_eq!(facts.number("programme.feedback_recorded"), Some(1.0));
    }

    #[test]
    fn a_schedule_that_changes_is_mixed() {
        let mut logbook = practice(&[2, 4]);
        for (session, order) in logbook
            .sessions
            .iter_mut()
            .zip([Order::Blocked, Order::Random])
        {
            session.order = Some(order);
            session.variety = Some(Variety::Variable);
        }
        let facts = programme_of(&logbook);
        assert_eq!(facts.text("programme.order"), Some("mixed"));
        assert_eq!(facts.text("programme.variety"), Some("variable"));
        assert_eq!(facts.number("programme.schedule_recorded"), Some(1.0));
        assert_eq!(facts.number("programme.feedback_recorded"), Some(0.0));
    }

    #[test]
    fn no_practice_is_none_and_nothing_more() {
        let facts = programme_of(&practice(&[]));
        assert_eq!(facts.number("programme.sessions"), Some(0.0));
        assert_eq!(
            facts.why_absent("programme.minutes"),
            Some("no practice session is recorded")
        );
    }
}
