//! The tests together: how many, how large, under which conditions.

use super::catalogue::Entry;
use super::conditions::Conditions;
use super::subject::Subject;
use super::value::Facts;
use crate::logbook::model::{Feedback, Logbook};
use crate::phase::{Phase, PhaseKind};

const TRIALS: &str = "the logbook's Trials table";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "count",
        "tests",
        "Tests with at least one score that counts.",
        TRIALS,
    ),
    Entry::number(
        "smallest_n",
        "trials",
        "Scored trials of the smallest of these tests.",
        TRIALS,
    ),
    Entry::truth(
        "same_conditions",
        "Pre-test and post-test, and pre-test and retention test, have a condition in common wherever both record one. Conditions are compared without case, spaces and punctuation.",
        "common practice",
    ),
    Entry::truth(
        "transfer_novel",
        "The transfer test has a condition that was neither practised nor tested before; where it records none, About says what was novel.",
        "common practice",
    ),
    Entry::truth(
        "feedback_given",
        "Results were given during a test: a test's session records feedback on results, or both. Absent where no test's session records its feedback.",
        "Salmoni, Schmidt & Walter 1984",
    ),
];

/// Records the facts of the tests together.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "tests") else {
        return;
    };
    let sizes: Vec<usize> = subject
        .tests()
        .map(|block| block.scores().len())
        .filter(|n| *n > 0)
        .collect();
    writer.count("count", sizes.len());
    match sizes.iter().min() {
        Some(smallest) => writer.count("smallest_n", *smallest),
        None => writer.absent("smallest_n", "no test has a score that counts"),
    }
    writer.truth("same_conditions", same_conditions(subject));
    writer.truth("transfer_novel", transfer_novel(subject));
    writer.truth("feedback_given", feedback_given(subject.logbook));
}

fn conditions_of(subject: &Subject<'_>, phase: Phase) -> Conditions {
    subject
        .blocks
        .block(phase)
        .map(|block| Conditions::of(block, subject.logbook))
        .unwrap_or_default()
}

/// Pre-test against post- and retention test, wherever both record a condition.
fn same_conditions(subject: &Subject<'_>) -> Result<bool, &'static str> {
    let before = conditions_of(subject, Phase::PRE);
    let after: Vec<Conditions> = [Phase::POST, Phase::RETENTION]
        .into_iter()
        .map(|phase| conditions_of(subject, phase))
        .filter(|conditions| !conditions.is_empty())
        .collect();
    if before.is_empty() || after.is_empty() {
        return Err("conditions of a pre-test and a later test are not recorded");
    }
    Ok(after.iter().all(|conditions| conditions.meets(&before)))
}

/// Whether the first transfer test has a condition that no other trial had, or else says what was novel.
fn transfer_novel(subject: &Subject<'_>) -> Result<bool, &'static str> {
    let Some(transfer) = subject.blocks.block(Phase::TRANSFER) else {
        return Err("no transfer test is recorded");
    };
    let novel = Conditions::of(transfer, subject.logbook);
    if novel.is_empty() {
        return Ok(subject.logbook.about.novel_context.is_some());
    }
    let mut known = Conditions::default();
    let others = subject.blocks.blocks.iter().filter(|block| {
        !matches!(
            block.phase.kind,
            PhaseKind::Transfer | PhaseKind::Familiarisation
        )
    });
    for block in others {
        known.extend(&Conditions::of(block, subject.logbook));
    }
    Ok(novel.exceeds(&known))
}

/// Whether a test's session gave feedback on results.
fn feedback_given(logbook: &Logbook) -> Result<bool, &'static str> {
    let mut recorded = logbook
        .sessions
        .iter()
        .filter(|session| session.phase.is_some_and(|phase| phase.kind.is_test()))
        .filter_map(|session| session.feedback)
        .peekable();
    if recorded.peek().is_none() {
        return Err("no test's session records its feedback");
    }
    Ok(recorded.any(|feedback| matches!(feedback, Feedback::Results | Feedback::Both)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{self, logbook, session, test};
    use crate::facts::{FactSettings, compute};
    use crate::logbook::model::{Measure, Score};
    use crate::place::Place;

    fn facts_of(logbook: &Logbook) -> Facts {
        let settings = FactSettings {
            simulate: false,
            ..FactSettings::default()
        };
        compute(
            "P1",
            logbook,
            &crate::facts::Record::new(logbook),
            &settings,
        )
    }

    fn programme(retention_condition: &str) -> Logbook {
        let mut rows = test(PhaseKind::Pre, 1, "3 m, Ball A", &[1.0, 2.0, 3.0]);
        rows.extend(sample::practice(1, 3, &[1.0]));
        rows.extend(test(PhaseKind::Post, 20, "3m ball a", &[2.0, 3.0]));
        rows.extend(test(
            PhaseKind::Retention,
            27,
            retention_condition,
            &[2.0, 2.0, 2.0],
        ));
        logbook(vec![Measure::undescribed()], rows)
    }

    #[test]
    fn tests_are_counted_with_their_trials() {
        let mut logbook = programme("");
        for trial in logbook
            .trials
            .iter_mut()
            .filter(|t| t.phase == Some(Phase::RETENTION))
        {
            trial.score = Score::Missing;
        }
        let facts = facts_of(&logbook);
        assert_eq!(facts.number("tests.count"), Some(2.0));
        assert_eq!(facts.number("tests.smallest_n"), Some(2.0));
        assert_eq!(facts.number("retention.n"), Some(0.0));
        assert_eq!(facts.number("retention.mean"), None);
    }

    #[test]
    fn conditions_are_the_same_unless_a_later_test_shares_none() {
        let same = |logbook: &Logbook| facts_of(logbook).truth("tests.same_conditions");
        assert_eq!(same(&programme("3 m; ball A")), Some(true));
        assert_eq!(same(&programme("")), Some(true));
        assert_eq!(same(&programme("4 m")), Some(false));
        let mut silent = programme("3 m");
        for trial in &mut silent.trials {
            trial.condition = None;
        }
        assert_eq!(same(&silent), None);
    }

    #[test]
    fn a_transfer_test_is_novel_by_its_condition_or_by_what_about_says() {
        let mut logbook = programme("3 m, ball A");
        let novel = |logbook: &Logbook| facts_of(logbook).truth("tests.transfer_novel");
        assert_eq!(novel(&logbook), None);
        let transfer = |condition| {
            test(PhaseKind::Transfer, 28, condition, &[1.0])
                .into_iter()
                .map(|row| row.0)
        };
        let trials = logbook.trials.clone();
        logbook.trials.extend(transfer("3 m – ball A"));
        assert_eq!(novel(&logbook), Some(false));
        logbook.trials.clone_from(&trials);
        logbook.trials.extend(transfer("5 m, ball A"));
        assert_eq!(novel(&logbook), Some(true));
        logbook.trials = trials;
        logbook.trials.extend(transfer(""));
        assert_eq!(novel(&logbook), Some(false));
        logbook.about.novel_context = Some(crate::logbook::model::Sourced {
            value: "a moving target".into(),
            place: Place::file("invented.csv"),
        });
        assert_eq!(novel(&logbook), Some(true));
    }

    #[test]
    fn feedback_in_a_test_is_seen_in_its_session() {
        let mut logbook = programme("");
        let given = |logbook: &Logbook| facts_of(logbook).truth("tests.feedback_given");
        assert_eq!(given(&logbook), None);
        let mut pre = session(1, 1, Phase::PRE);
        pre.feedback = Some(Feedback::None);
        let mut practice = session(2, 3, Phase::PRACTICE);
        practice.feedback = Some(Feedback::Results);
        logbook.sessions = vec![pre, practice];
        assert_eq!(given(&logbook), Some(false));
        let mut post = session(3, 20, Phase::POST);
        post.feedback = Some(Feedback::Both);
        logbook.sessions.push(post);
        assert_eq!(given(&logbook), Some(true));
    }
}
