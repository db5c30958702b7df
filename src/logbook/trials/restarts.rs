//! Session numbers of practice that begin again each week (week 2, session 1) are counted through, by week and number.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use jiff::civil::Date;

use super::{Draft, SessionNaming};
use crate::logbook::model::Session;
use crate::logbook::problem::{Problem, ProblemKind};
use crate::phase::Phase;

/// A week and the number of a session within it.
type InWeek = (u32, u32);

/// Counts the practice sessions through where their numbers begin again each week, and says so.
pub(crate) fn count_through(
    sessions: &mut [Session],
    drafts: &mut [Draft],
    problems: &mut Vec<Problem>,
) {
    let Some(counts) = counts(sessions, drafts) else {
        return;
    };
    let first = sessions
        .iter()
        .find(|session| in_week(session.phase, session.week, session.number).is_some())
        .map(|session| session.place.clone())
        .or_else(|| drafts.first().map(|draft| draft.trial.place.clone()));
    let mut by_date: HashMap<(u32, Date), u32> = HashMap::new();
    for session in sessions {
        let Some(key) = in_week(session.phase, session.week, session.number) else {
            continue;
        };
        if let Some(count) = counts.get(&key) {
            if let Some(date) = session.date {
                by_date.insert((key.1, date), *count);
            }
            session.number = Some(*count);
        }
    }
    for draft in drafts {
        if draft
            .trial
            .phase
            .is_some_and(|phase| phase != Phase::PRACTICE)
        {
            continue;
        }
        let Some(number) = draft.trial.session else {
            continue;
        };
        let by_week = draft.week.and_then(|week| counts.get(&(week, number)));
        let dated = || by_date.get(&(number, draft.trial.date?));
        if let Some(count) = by_week.or_else(dated) {
            draft.trial.session = Some(*count);
            draft.naming = SessionNaming::Number;
        }
    }
    let example = counts
        .iter()
        .zip(1_u32..)
        .find(|((key, _), at)| key.1 != *at)
        .map(|(((week, number), count), _)| (*week, *number, *count));
    if let (Some(place), Some((week, number, count))) = (first, example) {
        problems.push(Problem::at(
            ProblemKind::AmbiguousValue,
            place,
            "",
            "The numbers of the practice sessions begin again each week.",
            format!(
                "They were counted through: session {number} of week {week} is practice session {count}."
            ),
        ));
    }
}

fn in_week(phase: Option<Phase>, week: Option<u32>, number: Option<u32>) -> Option<InWeek> {
    phase
        .is_none_or(|phase| phase == Phase::PRACTICE)
        .then_some(week.zip(number))
        .flatten()
}

/// The count of each session, where the numbers begin again: each week's are 1, 2, 3 …, and some number stands in several weeks.
fn counts(sessions: &[Session], drafts: &[Draft]) -> Option<BTreeMap<InWeek, u32>> {
    let mut all: BTreeSet<InWeek> = BTreeSet::new();
    for session in sessions {
        if let Some(key) = in_week(session.phase, session.week, session.number)
            && !all.insert(key)
        {
            // Twice in one week: the weeks don't tell the sessions apart.
            return None;
        }
    }
    all.extend(
        drafts
            .iter()
            .filter_map(|draft| in_week(draft.trial.phase, draft.week, draft.trial.session)),
    );
    let weeks: Vec<Vec<u32>> = all
        .iter()
        .collect::<Vec<_>>()
        .chunk_by(|a, b| a.0 == b.0)
        .map(|week| week.iter().map(|(_, number)| *number).collect())
        .collect();
    let each_from_one = weeks
        .iter()
        .all(|week| week.iter().zip(1_u32..).all(|(number, at)| *number == at));
    (weeks.len() > 1 && each_from_one).then(|| all.into_iter().zip(1..).collect())
}

#[cfg(test)]
mod tests {
    use crate::logbook::grid::Grid;
    use crate::logbook::model::Logbook;
    use crate::logbook::read;
    use crate::logbook::settings::ReadingSettings;

    fn sessions_of(logbook: &Logbook) -> Vec<Option<u32>> {
        logbook.trials.iter().map(|trial| trial.session).collect()
    }

    #[test]
    fn numbers_that_begin_again_each_week_are_counted_through() {
        let grids = [
            Grid::from_rows(
                "Sessions",
                &[
                    "week|session|date|phase|minutes",
                    "1||@2026-03-02|pre|20",
                    "1|1|@2026-03-03|practice|40",
                    "1|2|@2026-03-05|practice|40",
                    "2|1|@2026-03-10|practice|40",
                    "2|2|@2026-03-12|practice|40",
                ],
            ),
            Grid::from_rows(
                "Trials",
                &[
                    "week|session|phase|trial|score",
                    "||pre|1|2",
                    "1|1|practice|1|2",
                    "1|2|practice|1|3",
                    "2|1|practice|1|3",
                    "2|2|practice|1|4",
                ],
            ),
        ];
        let logbook = read("P07.xlsx", &grids, &ReadingSettings::default());
        assert_eq!(
            sessions_of(&logbook),
            [None, Some(1), Some(2), Some(3), Some(4)]
        );
        let numbers: Vec<Option<u32>> = logbook.sessions.iter().map(|s| s.number).collect();
        assert_eq!(numbers, [None, Some(1), Some(2), Some(3), Some(4)]);
        assert!(logbook.problems.iter().any(|problem| {
            problem
                .settle
                .ends_with("session 1 of week 2 is practice session 3.")
        }));
    }

    /// The trials name the session's day instead of its week.
    #[test]
    fn days_tell_the_weeks_apart() {
        let grids = [
            Grid::from_rows(
                "Sessions",
                &[
                    "week|session|date|phase|minutes",
                    "1|1|@2026-03-03|practice|40",
                    "2|1|@2026-03-10|practice|40",
                ],
            ),
            Grid::from_rows(
                "Trials",
                &[
                    "session|date|phase|trial|score",
                    "1|@2026-03-03|practice|1|2",
                    "1|@2026-03-10|practice|1|3",
                ],
            ),
        ];
        let logbook = read("P07.xlsx", &grids, &ReadingSettings::default());
        assert_eq!(sessions_of(&logbook), [Some(1), Some(2)]);
    }

    #[test]
    fn numbers_that_run_through_or_a_week_mistyped_stay_as_they_are() {
        let grids = [Grid::from_rows(
            "Trials",
            &[
                "week|session|phase|trial|score",
                "1|1|practice|1|2",
                "1|2|practice|1|3",
                "1|3|practice|1|3",
                "2|3|practice|2|3",
                "2|4|practice|1|4",
            ],
        )];
        let logbook = read("P07.xlsx", &grids, &ReadingSettings::default());
        assert_eq!(
            sessions_of(&logbook),
            [Some(1), Some(2), Some(3), Some(3), Some(4)]
        );
    }
}
