//! The sessions that have a date, from the Sessions table and from the trials, each once.

use std::collections::HashMap;

use jiff::civil::Date;

use crate::logbook::Logbook;
use crate::logbook::model::Session;
use crate::phase::{Phase, PhaseKind};
use crate::place::Place;

/// A session with a date.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Dated {
    pub phase: Option<Phase>,
    pub number: Option<u32>,
    pub date: Date,
    /// The date's cell in the Sessions table, else the session's trials.
    pub places: Vec<Place>,
}

impl Dated {
    pub fn kind(&self) -> Option<PhaseKind> {
        self.phase.map(|phase| phase.kind)
    }
}

/// The dated sessions of a logbook but familiarisation, in reading order: rows of the Sessions table, then what only the trials say.
pub(super) fn dated_sessions(logbook: &Logbook) -> Vec<Dated> {
    let mut sessions: Vec<Dated> = logbook.sessions.iter().filter_map(row).collect();
    let rows = sessions.len();
    let mut by_number: HashMap<u32, Vec<usize>> = HashMap::new();
    let mut by_day: HashMap<(Option<Phase>, Date), usize> = HashMap::new();
    for (index, session) in sessions.iter().enumerate() {
        by_day.entry((session.phase, session.date)).or_insert(index);
        if let Some(number) = session.number {
            by_number.entry(number).or_default().push(index);
        }
    }
    let mut from_trials: HashMap<(Option<Phase>, Option<u32>, Date), usize> = HashMap::new();
    for trial in &logbook.trials {
        let Some(date) = trial.date else { continue };
        let key = (trial.phase, trial.session, date);
        if let Some(index) = from_trials.get(&key) {
            // Of the Sessions table the date's own cell says enough.
            if let Some(session) = sessions.get_mut(*index)
                && *index >= rows
            {
                session.places.push(trial.place.clone());
            }
            continue;
        }
        let known = trial
            .session
            .and_then(|number| by_number.get(&number))
            .and_then(|rows| same_session(&sessions, rows, trial.phase));
        let known = match known {
            Some(index) => sessions
                .get(index)
                .filter(|row| row.date == date)
                .map(|_| index),
            // Without a number, a row of that phase and day is the same session.
            None if trial.session.is_none() => by_day.get(&(trial.phase, date)).copied(),
            None => None,
        };
        let index = known.unwrap_or(sessions.len());
        match sessions.get_mut(index) {
            Some(row) if row.phase.is_none() => row.phase = trial.phase,
            Some(row) if row.phase == trial.phase => {}
            // Another phase on the day of a row (a pre-test within the first practice session) is dated by that row's cell.
            Some(row) => {
                let places = row.places.clone();
                sessions.push(Dated {
                    phase: trial.phase,
                    number: None,
                    date,
                    places,
                });
            }
            None => sessions.push(Dated {
                phase: trial.phase,
                number: trial.session,
                date,
                places: vec![trial.place.clone()],
            }),
        }
        from_trials.insert(key, index);
    }
    sessions.retain(|session| session.kind() != Some(PhaseKind::Familiarisation));
    sessions
}

fn row(session: &Session) -> Option<Dated> {
    Some(Dated {
        phase: session.phase,
        number: session.number,
        date: session.date?,
        places: vec![
            session
                .date_place
                .clone()
                .unwrap_or_else(|| session.place.clone()),
        ],
    })
}

/// Which of the rows with a trial's session number is its session: the only one, else the one of its phase.
fn same_session(sessions: &[Dated], rows: &[usize], phase: Option<Phase>) -> Option<usize> {
    match rows {
        [only] => Some(*only),
        several => several
            .iter()
            .copied()
            .find(|index| sessions.get(*index).is_some_and(|row| row.phase == phase)),
    }
}

/// Of numbered sessions, the fewest whose dates must be wrong for the others to rise with their numbers; each with the session that it
/// contradicts.
pub(super) fn out_of_order(sessions: &[Dated], among: &[usize]) -> Vec<(usize, usize)> {
    let mut ordered: Vec<(u32, Date, usize)> = among
        .iter()
        .filter_map(|index| {
            let session = sessions.get(*index)?;
            Some((session.number?, session.date, *index))
        })
        .collect();
    ordered.sort_unstable();
    let kept = longest_rising(&ordered);
    let mut found = Vec::new();
    for (position, (_, date, index)) in ordered.iter().enumerate() {
        if kept.contains(&position) {
            continue;
        }
        let before = kept.iter().rev().copied().find(|other| *other < position);
        let after = kept.iter().copied().find(|other| *other > position);
        let contradicted = before
            .filter(|other| {
                ordered
                    .get(*other)
                    .is_some_and(|(_, other, _)| other > date)
            })
            .or(after)
            .and_then(|other| ordered.get(other));
        if let Some((_, _, neighbour)) = contradicted {
            found.push((*index, *neighbour));
        }
    }
    found
}

/// Positions of a longest subsequence whose dates never fall (patience sorting).
fn longest_rising(ordered: &[(u32, Date, usize)]) -> std::collections::BTreeSet<usize> {
    let date_at = |position: usize| ordered.get(position).map(|(_, date, _)| *date);
    let mut tails: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = vec![None; ordered.len()];
    for (position, (_, date, _)) in ordered.iter().enumerate() {
        let length = tails.partition_point(|tail| date_at(*tail) <= Some(*date));
        if let Some(link) = before.get_mut(position) {
            *link = length
                .checked_sub(1)
                .and_then(|last| tails.get(last).copied());
        }
        match tails.get_mut(length) {
            Some(tail) => *tail = position,
            None => tails.push(position),
        }
    }
    let mut kept = std::collections::BTreeSet::new();
    let mut next = tails.last().copied();
    while let Some(position) = next {
        kept.insert(position);
        next = before.get(position).copied().flatten();
    }
    kept
}
