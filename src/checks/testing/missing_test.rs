//! What the checks for a missing test share: each misses another one.

use crate::checks::seen::TableName;
use crate::checks::{Check, Findings, Seen};
use crate::phase::{BlockName, Phase};
use crate::place::Place;

/// Reports a test of the primary measure that has no scored trial. Where nothing at all is scored there is nothing to say of tests.
pub(super) fn report_if_missing(
    seen: &Seen,
    findings: &mut Findings,
    check: &Check,
    phase: Phase,
    comment: &str,
) {
    if !seen.has_scores() {
        findings.could_not(check.id, "no trial has a score");
        return;
    }
    let test = seen.block(0, phase);
    if test.is_some_and(|test| test.n() > 0) {
        return;
    }
    if let Some(why) = seen.left_open() {
        findings.could_not(check.id, why);
        return;
    }
    let recorded: Vec<Place> = test.map_or_else(Vec::new, |test| {
        let rows = test.block.trials().map(|trial| trial.row);
        rows.filter_map(|row| seen.place(row)).collect()
    });
    let of = seen
        .logbook
        .measures
        .first()
        .map(|measure| seen.of_measure(measure))
        .unwrap_or_default();
    let name = phase.title();
    let (says, places) = if recorded.is_empty() {
        (
            format!("No trial of a {name}{of} is recorded."),
            vec![seen.where_missing(TableName::Trials)],
        )
    } else {
        (
            format!("No trial of the {name}{of} has a score that counts."),
            recorded,
        )
    };
    findings.add(
        check
            .finding(says, comment)
            .at(places, format!("no {name}"))
            .about(Some(0), BlockName::Phase(phase)),
    );
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;

    /// Asserts that a check misses a test that is not there or not scored, and nothing else.
    pub(in crate::checks::testing) fn misses(check: &Check, phase: Phase) {
        assert_eq!(Sample::sound().found(check), Vec::new());
        let gone = only(Sample::sound().without(phase).found(check));
        assert_eq!(
            gone.places,
            [Sample::sound().logbook.tables.trials.unwrap()]
        );
        let mut unscored = Sample::sound();
        for trial in unscored.trials(phase) {
            trial.score = Score::Missing;
        }
        assert_eq!(only(unscored.found(check)).places.len(), 10);
        let mut one = Sample::sound().without(phase);
        let mut trial = Sample::sound().logbook.trials[0].clone();
        trial.phase = Some(phase);
        trial.session = Some(40);
        one.logbook.trials.push(trial);
        assert_eq!(
            one.found(check),
            Vec::new(),
            "one scored trial is a test, if a short one"
        );
        not_checked(&Sample::sound().without_trials().run(check));
    }
}
