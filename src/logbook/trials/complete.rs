//! Takes what a trial leaves open (its phase, session number or date) from the Sessions table.

use crate::logbook::cells::cell_text;
use crate::logbook::labels::Label;
use crate::logbook::model::{Session, Trial};
use crate::logbook::problem::{Problem, ProblemKind};
use crate::phase::{Phase, PhaseKind};

use super::{Draft, OpenPhase, TrialsRead};
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
    let mut last: Option<(Open, Found)> = None;
    read.drafts
        .iter()
        .map(|draft| {
            let open = Open::of(draft);
            // Trials of one block have the same things open.
            let found = match &last {
                Some((known, found)) if *known == open => *found,
                _ => {
                    let found = open.look_up(sessions, practice_by_number);
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
    date: Option<jiff::civil::Date>,
    week: Option<u32>,
    counts_practice: bool,
    by_session: bool,
    fallback: Label,
}

#[derive(Debug, Clone, Copy)]
struct Found {
    phase: Option<Phase>,
    session: Option<u32>,
    date: Option<jiff::civil::Date>,
}

impl Open {
    fn of(draft: &Draft) -> Self {
        Self {
            phase: draft.trial.phase,
            session: draft.trial.session,
            date: draft.trial.date,
            week: draft.week,
            counts_practice: draft.counts_practice,
            by_session: draft.by_session,
            fallback: draft.fallback,
        }
    }

    fn look_up(&self, sessions: &[Session], practice_by_number: bool) -> Found {
        let mut found = Found {
            phase: self.phase,
            session: self.session,
            date: self.date,
        };
        // A title names the session only of trials that name no block themselves.
        if found.phase.is_none() && found.session.is_none() && found.date.is_none() {
            found.session = self.fallback.session;
        }
        if self.counts_practice && !practice_by_number {
            let nth = self
                .session
                .and_then(|n| usize::try_from(n).ok())
                .and_then(|n| n.checked_sub(1));
            if let Some(session) = nth.and_then(|nth| {
                sessions
                    .iter()
                    .filter(|session| session.phase == Some(Phase::PRACTICE))
                    .nth(nth)
            }) {
                found.session = session.number.or(self.session);
                found.date = found.date.or(session.date);
            }
        }
        let session = self.session_of(found, sessions);
        if let Some(session) = session {
            found.phase = found.phase.or(session.phase);
            found.session = found.session.or(session.number);
            found.date = found.date.or(session.date);
        }
        if found.session.is_none() && session.is_none() {
            // Week by week without a Sessions table: each week is a session.
            found.session = self.week;
        }
        if found.phase.is_none() {
            found.phase = self.fallback.phase.or_else(|| {
                let counted = self.by_session || (self.week.is_some() && self.session.is_none());
                // "Session 3" without anything that says otherwise is practice.
                (counted && session.is_none_or(|session| session.phase.is_none()))
                    .then_some(Phase::PRACTICE)
            });
            if let Some(phase) = found.phase
                && found.session.is_none()
                && let Some(session) = only(
                    sessions
                        .iter()
                        .filter(|session| session.phase == Some(phase)),
                )
            {
                found.session = session.number;
                found.date = found.date.or(session.date);
            }
        }
        found
    }

    /// The session of the Sessions table that a trial belongs to: by number, else by date, else by week, else the only one of its phase.
    fn session_of<'s>(&self, found: Found, sessions: &'s [Session]) -> Option<&'s Session> {
        let suits = |session: &&Session| {
            found.phase.is_none() || session.phase.is_none() || session.phase == found.phase
        };
        if let Some(number) = found.session {
            let mut same = sessions
                .iter()
                .filter(|session| session.number == Some(number));
            return same.clone().find(suits).or_else(|| same.next());
        }
        if let Some(date) = found.date {
            return only(
                sessions
                    .iter()
                    .filter(|session| session.date == Some(date))
                    .filter(suits),
            );
        }
        if let Some(week) = self.week {
            return only(
                sessions
                    .iter()
                    .filter(|session| session.week == Some(week))
                    .filter(suits),
            );
        }
        let phase = found.phase?;
        only(
            sessions
                .iter()
                .filter(|session| session.phase == Some(phase)),
        )
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
    let practice: Vec<u32> = sessions
        .iter()
        .filter(|session| session.phase == Some(Phase::PRACTICE))
        .filter_map(|session| session.number)
        .collect();
    practice.is_empty()
        || drafts
            .iter()
            .filter(|draft| draft.counts_practice)
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
            .any(|draft| draft.trial.phase == Some(Phase::PRACTICE) || draft.by_session);
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
