//! The learner's own estimates against the scores.

use std::borrow::Cow;

use jiff::civil::Date;

use super::catalogue::Entry;
use super::record::ScoredTrial;
use super::subject::Subject;
use super::value::Facts;
use super::writer::IntoReason;
use crate::phase::PhaseKind;
use crate::stats::permutation::of_means;
use crate::stats::summary;

const SOURCE: &str = "Schmidt & White 1972";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "n",
        "trials",
        "Scored trials for which the learner guessed the score.",
        SOURCE,
    ),
    Entry::number(
        "error_first",
        "score",
        "Mean distance between guess and score in the first session with guesses.",
        SOURCE,
    ),
    Entry::number(
        "error_last",
        "score",
        "Mean distance between guess and score in the last session with guesses, another than the first. The transfer test doesn't count: its context is new.",
        SOURCE,
    ),
    Entry::number(
        "p",
        "share",
        "Two-sided permutation test of the distances in that first session against those in that last one: how often the same distances, dealt out at random, differ as much.",
        "Edgington & Onghena 2007",
    ),
];

/// One session with guesses: when it was, and how far off they were.
struct Session {
    date: Option<Date>,
    distances: Vec<f64>,
}

/// Records how far the learner's guesses were from the scores.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "estimate") else {
        return;
    };
    let sessions = sessions(subject);
    if sessions.is_empty() {
        writer.nothing_else("the learner's guesses are not recorded");
        return;
    }
    writer.count(
        "n",
        sessions.iter().map(|session| session.distances.len()).sum(),
    );
    let mean = |session: Option<&Session>| {
        session
            .ok_or("only one session records the learner's guesses")
            .and_then(|session| {
                summary::mean(&session.distances).map_err(|_| "no guess can be compared")
            })
    };
    writer.number("error_first", mean(sessions.first()));
    writer.number(
        "error_last",
        mean(sessions.last().filter(|_| sessions.len() > 1)),
    );
    let ends = sessions
        .first()
        .zip(sessions.last())
        .filter(|_| sessions.len() > 1)
        .ok_or(Cow::Borrowed(
            "only one session records the learner's guesses",
        ));
    writer.number(
        "p",
        ends.and_then(|(first, last)| {
            let stream = subject.stream("estimate", "p");
            of_means(&first.distances, &last.distances, stream)
                .map(|test| test.p)
                .map_err(IntoReason::into_reason)
        }),
    );
}

/// The sessions with guesses, in order of time, else of phase and number.
fn sessions(subject: &Subject<'_>) -> Vec<Session> {
    let mut sessions: Vec<Session> = subject
        .blocks
        .blocks
        .iter()
        .filter(|block| {
            !matches!(
                block.phase.kind,
                PhaseKind::Familiarisation | PhaseKind::Transfer
            )
        })
        .flat_map(|block| &block.sessions)
        .map(|session| Session {
            date: session.date,
            distances: session
                .trials
                .iter()
                .filter_map(|trial| Some((trial.score? - guess(trial, subject)?).abs()))
                .collect(),
        })
        .filter(|session| !session.distances.is_empty())
        .collect();
    if sessions.iter().all(|session| session.date.is_some()) {
        sessions.sort_by_key(|session| session.date);
    }
    sessions
}

/// The learner's guess, beside whichever rating of the trial it stands first.
fn guess(trial: &ScoredTrial, subject: &Subject<'_>) -> Option<f64> {
    std::iter::once(trial.row)
        .chain(trial.ratings.iter().map(|rating| rating.row))
        .find_map(|row| subject.logbook.trials.get(row)?.estimate)
        .filter(|guess| guess.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{Row, logbook};
    use crate::facts::{FactSettings, Record, compute};
    use crate::logbook::model::Measure;
    use crate::phase::Phase;

    #[test]
    fn the_first_and_the_last_session_with_guesses() {
        let rows = vec![
            Row::pre(1, 2.0).on(2026, 3, 1),
            Row::practice(1, 1, 2.0).on(2026, 3, 2).guessed(4.0),
            Row::practice(1, 2, 3.0).on(2026, 3, 2).guessed(2.0),
            Row::practice(2, 1, 3.0).on(2026, 3, 9).guessed(3.5),
            Row::new(Phase::first(PhaseKind::Mid), None, 1, 3.0)
                .on(2026, 3, 5)
                .guessed(1.0),
            Row::new(Phase::TRANSFER, None, 1, 3.0)
                .on(2026, 3, 20)
                .guessed(0.0),
        ];
        let logbook = logbook(vec![Measure::undescribed()], rows);
        let facts = compute(
            "P1",
            &logbook,
            &Record::new(&logbook),
            &FactSettings::default(),
        );
        assert_eq!(facts.number("estimate.n"), Some(4.0));
        assert_eq!(facts.number("estimate.error_first"), Some(1.5));
        assert_eq!(facts.number("estimate.error_last"), Some(0.5));
    }
}
