//! Dates that don't fit the order of the programme.

use std::collections::HashMap;

use jiff::civil::Date;

use super::dated::{Dated, dated_sessions, out_of_order};
use crate::checks::wording::the_phase;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::Sourced;
use crate::phase::{Phase, PhaseKind};
use crate::place::Place;
use crate::wording::capitalised;

/// Dates that don't fit the order of the programme.
pub const CHECK: Check = Check {
    id: "data.date-order",
    weight: Weight::Concern,
    title: "dates that don't fit the order of the programme",
    explanation: Explanation {
        looks_at: "The dates of sessions and trials: practice between start and end, dates that rise with the session numbers, one date for one session, the pre-test not after the first practice, the post-test not before the last, the retention test after the post-test's day. A pre-test may share the day of the first practice, a transfer test that of another test.",
        matters: "What a test shows depends on what came before it: practice between post-test and retention test, or a retention test on the same day, leaves nothing to say about what lasted.",
        example: "Session 5 dated before session 4; a retention test on the day of the post-test.",
        remedy: "Correct the date where it is a slip; where the order was as the dates say, describe it and say what it means for the tests.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let sessions = dated_sessions(seen.logbook);
    if sessions.is_empty() {
        findings.could_not(CHECK.id, "no session or trial has a date");
        return;
    }
    let mut faults = Faults {
        of: vec![Vec::new(); sessions.len()],
        sessions: &sessions,
    };
    faults.two_dates();
    faults.practice_outside(seen, findings);
    faults.numbers(|session| session.kind() == Some(PhaseKind::Practice));
    faults.tests();
    faults.numbers_within_phases();
    for (session, faults) in sessions.iter().zip(&faults.of) {
        if faults.is_empty() {
            continue;
        }
        let says: Vec<&str> = faults.iter().map(|fault| fault.says.as_str()).collect();
        let says = capitalised(&says.join("; "));
        let mut places = session.places.clone();
        for fault in faults {
            for place in &fault.against {
                if !places.contains(place) {
                    places.push(place.clone());
                }
            }
        }
        findings.add(
            CHECK
                .finding(
                    format!("{says}."),
                    format!("{says}. If a date is a slip, correct it. If the days were as written, describe the order and say what it means for what your tests can show."),
                )
                .at(places, session.date.to_string()),
        );
    }
}

/// What is odd about one session's date.
#[derive(Clone)]
struct Fault {
    says: String,
    against: Vec<Place>,
}

/// The faults of each session. A session whose date is already in doubt is no measure for others: one slip is one finding.
struct Faults<'a> {
    sessions: &'a [Dated],
    of: Vec<Vec<Fault>>,
}

impl<'a> Faults<'a> {
    fn add(&mut self, index: usize, says: String, against: Vec<Place>) {
        if let Some(faults) = self.of.get_mut(index) {
            faults.push(Fault { says, against });
        }
    }

    /// Sessions of a kind that are not in doubt.
    fn sound(&self, kind: PhaseKind) -> impl Iterator<Item = &'a Dated> {
        self.sessions
            .iter()
            .zip(&self.of)
            .filter(move |(session, faults)| session.kind() == Some(kind) && faults.is_empty())
            .map(|(session, _)| session)
    }

    /// One session with two dates.
    fn two_dates(&mut self) {
        let sessions = self.sessions;
        let mut first_of: HashMap<(u32, Option<Phase>), &Dated> = HashMap::new();
        for (index, session) in sessions.iter().enumerate() {
            let Some(number) = session.number else {
                continue;
            };
            let first = *first_of.entry((number, session.phase)).or_insert(session);
            if first.date != session.date {
                let says = format!(
                    "{} is dated {} and also {}",
                    session.title(),
                    session.date,
                    first.date
                );
                self.add(index, says, first.places.clone());
            }
        }
    }

    /// Practice before the start or after the end. Where most of it lies there, the start or end is in doubt, and not each session.
    fn practice_outside(&mut self, seen: &Seen, findings: &mut Findings) {
        let about = &seen.logbook.about;
        let practice = || {
            self.sessions
                .iter()
                .filter(|session| session.kind() == Some(PhaseKind::Practice))
        };
        let start = about.start.as_ref().filter(|start| {
            let before: Vec<&Dated> = practice()
                .filter(|session| session.date < start.value)
                .collect();
            !most_outside(
                findings,
                "start",
                "before",
                start,
                &before,
                practice().count(),
            )
        });
        let end = about.end.as_ref().filter(|end| {
            let after: Vec<&Dated> = practice()
                .filter(|session| session.date > end.value)
                .collect();
            !most_outside(findings, "end", "after", end, &after, practice().count())
        });
        for (index, session) in self.sessions.iter().enumerate() {
            if session.kind() != Some(PhaseKind::Practice) {
                continue;
            }
            if let Some(start) = start
                && session.date < start.value
            {
                let says = format!(
                    "{}, {}, lies before the programme's start, {}",
                    session.title(),
                    session.date,
                    start.value
                );
                self.add(index, says, vec![start.place.clone()]);
            }
            if let Some(end) = end
                && session.date > end.value
            {
                let says = format!(
                    "{}, {}, lies after the programme's end, {}",
                    session.title(),
                    session.date,
                    end.value
                );
                self.add(index, says, vec![end.place.clone()]);
            }
        }
    }

    /// Tests against practice and against each other.
    fn tests(&mut self) {
        let sessions = self.sessions;
        let first_practice = self
            .sound(PhaseKind::Practice)
            .min_by_key(|session| session.date);
        let last_practice = self
            .sound(PhaseKind::Practice)
            .max_by_key(|session| session.date);
        for (index, session) in sessions.iter().enumerate() {
            match session.kind() {
                Some(PhaseKind::Pre) => {
                    if let Some(first) = first_practice.filter(|first| session.date > first.date) {
                        self.add(
                            index,
                            session.beside("is later than", first),
                            first.places.clone(),
                        );
                    }
                }
                Some(PhaseKind::Post) => {
                    if let Some(last) = last_practice.filter(|last| session.date < last.date) {
                        self.add(
                            index,
                            session.beside("is earlier than", last),
                            last.places.clone(),
                        );
                    }
                }
                _ => {}
            }
        }
        let post = self
            .sound(PhaseKind::Post)
            .max_by_key(|session| session.date);
        for (index, session) in sessions.iter().enumerate() {
            if session.kind() == Some(PhaseKind::Retention)
                && let Some(post) = post.filter(|post| session.date <= post.date)
            {
                self.add(
                    index,
                    session.beside("is not later than", post),
                    post.places.clone(),
                );
            }
        }
    }

    /// Session numbers and dates: over everything where every session has a number of its own, else within each phase.
    fn numbers_within_phases(&mut self) {
        let mut numbers: Vec<u32> = self
            .sessions
            .iter()
            .filter_map(|session| session.number)
            .collect();
        let all = numbers.len();
        numbers.sort_unstable();
        numbers.dedup();
        if numbers.len() == all {
            self.numbers(|_| true);
            return;
        }
        let mut phases: Vec<Phase> = self
            .sessions
            .iter()
            .filter_map(|session| session.phase)
            .collect();
        phases.sort_unstable();
        phases.dedup();
        for phase in phases {
            self.numbers(|session| session.phase == Some(phase));
        }
    }

    fn numbers(&mut self, among: impl Fn(&Dated) -> bool) {
        let looked_at: Vec<usize> = (0..self.sessions.len())
            .filter(|index| {
                self.of.get(*index).is_some_and(Vec::is_empty)
                    && self
                        .sessions
                        .get(*index)
                        .is_some_and(|session| session.number.is_some() && among(session))
            })
            .collect();
        for (index, neighbour) in out_of_order(self.sessions, &looked_at) {
            let (Some(session), Some(other)) =
                (self.sessions.get(index), self.sessions.get(neighbour))
            else {
                continue;
            };
            let relation = if session.number > other.number {
                "has the later number but the earlier date than"
            } else {
                "has the earlier number but the later date than"
            };
            self.add(index, session.beside(relation, other), other.places.clone());
        }
    }
}

/// Reports a start or end that leaves most of practice outside, and says whether it did.
fn most_outside(
    findings: &mut Findings,
    name: &str,
    side: &str,
    date: &Sourced<Date>,
    outside: &[&Dated],
    all: usize,
) -> bool {
    if outside.len() < 2 || 2 * outside.len() <= all {
        return false;
    }
    let says = format!(
        "{} of {all} practice sessions lie {side} the programme's {name}, {}",
        outside.len(),
        date.value
    );
    let mut places = vec![date.place.clone()];
    places.extend(
        outside
            .iter()
            .flat_map(|session| session.places.iter().cloned()),
    );
    findings.add(
        CHECK
            .finding(
                format!("{says}."),
                format!("{says}. Check the {name} in About; if it is right, say which of the sessions belong to the programme."),
            )
            .at(places, date.value.to_string()),
    );
    true
}

impl Dated {
    /// `practice session 3` or `the post-test`.
    fn title(&self) -> String {
        match (self.phase, self.number) {
            (Some(Phase::PRACTICE), Some(number)) => format!("practice session {number}"),
            (Some(phase), _) => the_phase(phase),
            (None, Some(number)) => format!("session {number}"),
            (None, None) => "a session".to_owned(),
        }
    }

    /// Two sessions with their dates, and how they relate.
    fn beside(&self, relation: &str, other: &Self) -> String {
        format!(
            "{}, {}, {relation} {}, {}",
            self.title(),
            self.date,
            other.title(),
            other.date
        )
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    // The sample: pre-test 2 March (session 1), practice 4 to 25 March (2 to 9), post-test 28 March (10), retention 4 April (11).

    #[test]
    fn a_retention_test_on_the_day_of_the_post_test_is_found_in_its_cell() {
        let mut sample = Sample::sound();
        sample.redate(11, date(2026, 3, 28));
        let finding = only(sample.found(&CHECK));
        let cell = |phase| {
            sample
                .logbook
                .sessions
                .iter()
                .find(|session| session.phase == Some(phase))
                .unwrap()
                .date_place
                .clone()
                .unwrap()
        };
        assert_eq!(finding.places, [cell(Phase::RETENTION), cell(Phase::POST)]);
        assert!(
            finding.message.contains("not later than"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn a_post_test_before_the_last_practice_is_found() {
        let mut sample = Sample::sound();
        sample.redate(10, date(2026, 3, 24));
        let finding = only(sample.found(&CHECK));
        assert!(
            finding
                .message
                .starts_with("The post-test, 2026-03-24, is earlier than practice session 9"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn one_slip_in_one_date_is_one_finding() {
        let mut sample = Sample::sound();
        sample.redate(5, date(2025, 3, 13));
        assert!(
            only(sample.found(&CHECK))
                .message
                .contains("before the programme's start")
        );
        let mut sample = Sample::sound();
        sample.redate(5, date(2026, 3, 5));
        assert!(only(sample.found(&CHECK)).message.contains("number"));
        let mut sample = Sample::sound();
        sample.redate(5, date(2026, 4, 3));
        assert!(
            only(sample.found(&CHECK))
                .message
                .starts_with("Practice session 5, 2026-04-03")
        );
    }

    #[test]
    fn trials_dated_otherwise_than_their_session_are_found_in_their_cells() {
        let mut sample = Sample::sound();
        for trial in sample
            .trials(Phase::PRACTICE)
            .filter(|trial| trial.session == Some(4))
        {
            trial.date = Some(date(2026, 3, 11));
        }
        let finding = only(sample.found(&CHECK));
        assert!(finding.message.contains("and also"), "{}", finding.message);
        assert_eq!(finding.places.len(), 7);
    }

    #[test]
    fn an_end_before_most_of_practice_is_in_doubt_itself() {
        let mut sample = Sample::sound();
        let end = sample.logbook.about.end.as_mut().unwrap();
        end.value = date(2026, 3, 12);
        let place = end.place.clone();
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places[0], place);
        assert_eq!(finding.places.len(), 6, "five of eight sessions");
    }

    #[test]
    fn days_that_may_be_shared_are_not_found() {
        let mut sample = Sample::sound();
        sample.redate(1, date(2026, 3, 4));
        sample.redate(10, date(2026, 3, 25));
        sample.redate(12, date(2026, 4, 4));
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn numbers_that_begin_anew_in_each_phase_are_compared_within_it() {
        let mut sample = Sample::sound();
        for session in &mut sample.logbook.sessions {
            if session.phase != Some(Phase::PRACTICE) {
                session.number = Some(1);
            }
        }
        sample.logbook.sessions[1].number = Some(1);
        for trial in &mut sample.logbook.trials {
            if trial.phase != Some(Phase::PRACTICE) || trial.session == Some(2) {
                trial.session = Some(1);
            }
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_dates_there_is_nothing_to_check() {
        let mut sample = Sample::sound();
        for session in &mut sample.logbook.sessions {
            session.date = None;
        }
        for trial in &mut sample.logbook.trials {
            trial.date = None;
        }
        not_checked(&sample.run(&CHECK));
    }
}
