//! Takes what a trial leaves open (its phase, session number or date) from the Sessions table.

use crate::logbook::cells::cell_text;
use std::collections::{HashMap, HashSet};

use jiff::civil::Date;

use crate::logbook::labels::Label;
use crate::logbook::model::{Session, Trial};
use crate::logbook::problem::{Problem, ProblemKind};
use crate::phase::{Phase, PhaseKind};

use super::{Draft, OpenPhase, SessionNaming, TrialsRead};
use crate::logbook::grid::Grid;

/// Completes the drafts and makes them trials, in reading order.
pub(crate) fn complete(
    read: &mut TrialsRead,
    sessions: &[Session],
    grids: &[Grid],
    problems: &mut Vec<Problem>,
) -> Vec<Trial> {
    settle_open_phases(read, sessions, grids, problems);
    let practice_by_number = practice_counts_are_numbers(&read.drafts, sessions);
    let index = SessionIndex::new(sessions);
    let mut last: Option<(Open, Found)> = None;
    read.drafts
        .iter()
        .map(|draft| {
            let open = Open::of(draft);
            // Trials of one block have the same things open.
            let found = match &last {
                Some((known, found)) if *known == open => *found,
                _ => {
                    let found = open.look_up(&index, practice_by_number);
                    last = Some((open, found));
                    found
                }
            };
            let mut trial = draft.trial.clone();
            trial.phase = found.phase;
            trial.session = found.session;
            trial.date = found.date;
            trial
        })
        .collect()
}

/// What of a trial decides what the Sessions table adds.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Open {
    phase: Option<Phase>,
    session: Option<u32>,
    date: Option<Date>,
    week: Option<u32>,
    nth_of_week: Option<(u32, u32)>,
    naming: SessionNaming,
    fallback: Label,
}

#[derive(Debug, Clone, Copy)]
struct Found {
    phase: Option<Phase>,
    session: Option<u32>,
    date: Option<Date>,
}

impl Open {
    fn of(draft: &Draft) -> Self {
        Self {
            phase: draft.trial.phase,
            session: draft.trial.session,
            date: draft.trial.date,
            week: draft.week,
            nth_of_week: draft.nth_of_week,
            naming: draft.naming,
            fallback: draft.fallback,
        }
    }

    /// What a title or the sheet's name says, for trials that name no block themselves.
    fn or_fallback(mut self) -> Self {
        if self.phase.is_none()
            && self.session.is_none()
            && self.date.is_none()
            && self.week.is_none()
        {
            self.phase = self.fallback.phase;
            self.session = self.fallback.session;
            self.week = self.fallback.week;
            self.naming = if self.phase.is_some() {
                SessionNaming::CountOfPractice
            } else {
                SessionNaming::SessionAlone
            };
        }
        self
    }

    fn look_up(&self, sessions: &SessionIndex, practice_by_number: bool) -> Found {
        let open = self.or_fallback();
        let mut found = Found {
            phase: open.phase,
            session: open.session,
            date: open.date,
        };
        if open.naming == SessionNaming::CountOfPractice && !practice_by_number {
            let nth = open
                .session
                .and_then(|n| usize::try_from(n).ok())
                .and_then(|n| n.checked_sub(1));
            if let Some(session) = nth.and_then(|nth| sessions.of_phase(Phase::PRACTICE).nth(nth)) {
                found.session = session.number.or(open.session);
                found.date = found.date.or(session.date);
            }
        }
        let session = open.session_of(found, sessions);
        if let Some(session) = session {
            found.phase = found.phase.or(session.phase);
            found.session = found.session.or(session.number);
            found.date = found.date.or(session.date);
        } else if found.session.is_none() {
            // Week by week without a Sessions table: each week, or each column of weeks, is a session.
            found.session = open.nth_of_week.map(|(_, all)| all).or(open.week);
        }
        if found.phase.is_none() {
            let alone = open.naming == SessionNaming::SessionAlone && open.session.is_some()
                || open.week.is_some() && open.session.is_none();
            // "Session 3" without anything that says otherwise is practice.
            found.phase = open.fallback.phase.or_else(|| {
                (alone && session.is_none_or(|session| session.phase.is_none()))
                    .then_some(Phase::PRACTICE)
            });
        }
        found
    }

    /// The session of the Sessions table that a trial belongs to: by number, else by date, else by week, else the only one of its phase.
    fn session_of<'s>(&self, found: Found, sessions: &SessionIndex<'s>) -> Option<&'s Session> {
        // The sheet's name decides between sessions, where the trial's own row and column leave the phase open.
        let phase = found.phase.or(self.fallback.phase);
        let suits = |session: &&Session| {
            phase.is_none() || session.phase.is_none() || session.phase == phase
        };
        if let Some(number) = found.session {
            let mut same = sessions.numbered(number);
            return same.clone().find(suits).or_else(|| same.next());
        }
        if let Some(date) = found.date {
            return only(sessions.on(date).filter(suits)).or_else(|| {
                only(sessions.on(date)).filter(|session| {
                    found.phase.is_none() || session.phase.is_none() || session.phase == found.phase
                })
            });
        }
        if let Some(week) = self.week {
            let mut in_week = sessions.in_week(week).filter(suits);
            return match self.nth_of_week {
                Some((nth, _)) => in_week.nth(usize::try_from(nth).ok()?.checked_sub(1)?),
                None => only(in_week),
            };
        }
        only(sessions.of_phase(found.phase?))
    }
}

/// The Sessions table by what trials name.
struct SessionIndex<'s> {
    sessions: &'s [Session],
    by_number: HashMap<u32, Vec<usize>>,
    by_date: HashMap<Date, Vec<usize>>,
    by_week: HashMap<u32, Vec<usize>>,
    by_phase: HashMap<Phase, Vec<usize>>,
}

impl<'s> SessionIndex<'s> {
    fn new(sessions: &'s [Session]) -> Self {
        let mut index = Self {
            sessions,
            by_number: HashMap::new(),
            by_date: HashMap::new(),
            by_week: HashMap::new(),
            by_phase: HashMap::new(),
        };
        for (at, session) in sessions.iter().enumerate() {
            if let Some(number) = session.number {
                index.by_number.entry(number).or_default().push(at);
            }
            if let Some(date) = session.date {
                index.by_date.entry(date).or_default().push(at);
            }
            if let Some(week) = session.week {
                index.by_week.entry(week).or_default().push(at);
            }
            if let Some(phase) = session.phase {
                index.by_phase.entry(phase).or_default().push(at);
            }
        }
        index
    }

    fn at<'i>(
        &'i self,
        found: Option<&'i Vec<usize>>,
    ) -> impl Iterator<Item = &'s Session> + Clone + use<'i, 's> {
        let sessions = self.sessions;
        found
            .into_iter()
            .flatten()
            .filter_map(move |at| sessions.get(*at))
    }

    fn numbered(&self, number: u32) -> impl Iterator<Item = &'s Session> + Clone {
        self.at(self.by_number.get(&number))
    }

    fn on(&self, date: Date) -> impl Iterator<Item = &'s Session> + Clone {
        self.at(self.by_date.get(&date))
    }

    fn in_week(&self, week: u32) -> impl Iterator<Item = &'s Session> + Clone {
        self.at(self.by_week.get(&week))
    }

    fn of_phase(&self, phase: Phase) -> impl Iterator<Item = &'s Session> + Clone {
        self.at(self.by_phase.get(&phase))
    }
}

/// The item, where there is exactly one.
fn only<'s>(mut items: impl Iterator<Item = &'s Session>) -> Option<&'s Session> {
    let first = items.next()?;
    items.next().is_none().then_some(first)
}

/// Whether `Practice 3` means the session with number 3: where every such number is a practice session's own, or no Sessions table says
/// otherwise. Else it counts over practice.
fn practice_counts_are_numbers(drafts: &[Draft], sessions: &[Session]) -> bool {
    let practice: HashSet<u32> = sessions
        .iter()
        .filter(|session| session.phase == Some(Phase::PRACTICE))
        .filter_map(|session| session.number)
        .collect();
    practice.is_empty()
        || drafts
            .iter()
            .filter(|draft| draft.naming == SessionNaming::CountOfPractice)
            .filter_map(|draft| draft.trial.session)
            .all(|number| practice.contains(&number))
}

/// Settles phases of two meanings by what else the logbook holds, and says how they were read.
fn settle_open_phases(
    read: &mut TrialsRead,
    sessions: &[Session],
    grids: &[Grid],
    problems: &mut Vec<Problem>,
) {
    let practised = sessions
        .iter()
        .any(|session| session.phase == Some(Phase::PRACTICE))
        || read
            .drafts
            .iter()
            .any(|draft| draft.trial.phase == Some(Phase::PRACTICE));
    for open in std::mem::take(&mut read.open_phases) {
        let kind = settle(&open.kinds, practised);
        for draft in &open.drafts {
            if let Some(draft) = read.drafts.get_mut(*draft) {
                draft.trial.phase = Some(Phase::first(kind));
            }
        }
        problems.extend(report(&open, kind, grids));
    }
}

/// "Practice trials" beside practice are familiarisation; a retention test that is the post-test too is read as the post-test, which claims
/// less.
fn settle(kinds: &[PhaseKind], practised: bool) -> PhaseKind {
    let has = |kind| kinds.contains(&kind);
    if has(PhaseKind::Familiarisation) && has(PhaseKind::Practice) {
        if practised {
            PhaseKind::Familiarisation
        } else {
            PhaseKind::Practice
        }
    } else if has(PhaseKind::Post) {
        PhaseKind::Post
    } else {
        kinds.first().copied().unwrap_or(PhaseKind::Practice)
    }
}

fn report(open: &OpenPhase, kind: PhaseKind, grids: &[Grid]) -> Option<Problem> {
    let grid = grids.get(open.grid)?;
    let text = cell_text(open.cell);
    let names: Vec<&str> = open.kinds.iter().map(|kind| kind.title()).collect();
    Some(Problem::at(
        ProblemKind::AmbiguousColumn,
        grid.place(open.cell.row, open.cell.column),
        &text,
        format!("“{text}” could be {}.", names.join(" or ")),
        format!(
            "It was read as {}. To settle it, add to cohort.toml under [phases]: {} = [\"{text}\"].",
            kind.title(),
            kind.name()
        ),
    ))
}
