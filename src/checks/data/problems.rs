//! Findings made from what reading could not settle: each kind of problem is one check.

use crate::checks::{Check, Findings, Seen};
use crate::logbook::problem::{Problem, ProblemKind};
use crate::wording::shortened;

/// One finding for each problem of a kind; `comment` says what the pair can do about it.
pub(super) fn report(
    seen: &Seen,
    findings: &mut Findings,
    check: &Check,
    kind: ProblemKind,
    comment: impl Fn(&Problem) -> String,
) {
    for problem in of_kind(seen, kind) {
        findings.add(
            check
                .finding(message(problem), comment(problem))
                .at(problem.places.clone(), problem.text.clone()),
        );
    }
}

/// The problems of a kind, in reading order.
pub(super) fn of_kind<'a>(seen: &Seen<'a>, kind: ProblemKind) -> impl Iterator<Item = &'a Problem> {
    let problems = &seen.logbook.problems;
    problems.iter().filter(move |problem| problem.kind == kind)
}

/// What was seen, and how it was read.
pub(super) fn message(problem: &Problem) -> String {
    if problem.settle.is_empty() {
        problem.says.clone()
    } else {
        format!("{} {}", problem.says, problem.settle)
    }
}

/// The first cell and the text in it, for a comment: `Trials!F4 holds “abc”`.
pub(super) fn cell_holds(problem: &Problem) -> String {
    let place = problem
        .places
        .first()
        .map_or_else(|| "A cell".to_owned(), ToString::to_string);
    if problem.text.trim().is_empty() {
        place
    } else {
        format!("{place} holds “{}”", shortened(problem.text.trim()))
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::checks::Finding;
    use crate::checks::sample::{Sample, only};
    use crate::place::Place;

    /// Asserts that a check reports problems of this kind, with their cell, and no other; gives the finding.
    pub(in crate::checks::data) fn reports(check: &Check, kind: ProblemKind) -> Finding {
        const KINDS: [ProblemKind; 9] = [
            ProblemKind::UnreadableFile,
            ProblemKind::WrongEnding,
            ProblemKind::UnrecognisedColumn,
            ProblemKind::AmbiguousColumn,
            ProblemKind::NotANumber,
            ProblemKind::UnreadableDate,
            ProblemKind::AmbiguousValue,
            ProblemKind::HiddenData,
            ProblemKind::FormulaError,
        ];
        assert_eq!(Sample::sound().found(check), Vec::new());
        let place = Place::cell("P07.xlsx".into(), "Trials".into(), 3, 5);
        let with = |kind| {
            let mut sample = Sample::sound();
            sample.logbook.problems.push(Problem::at(
                kind,
                place.clone(),
                "abc",
                "A text stands there.",
                "It was left out.",
            ));
            sample.found(check)
        };
        for other in KINDS.into_iter().filter(|other| *other != kind) {
            let same_check = with(other).iter().all(|finding| finding.check == check.id);
            assert!(same_check, "{other:?}");
        }
        let finding = only(with(kind));
        assert_eq!(finding.places, [place]);
        assert_eq!(finding.message, "A text stands there. It was left out.");
        finding
    }
}
