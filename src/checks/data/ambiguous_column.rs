//! A header, phase or column that could be two things.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A header, phase or column that could be two things.
pub const CHECK: Check = Check {
    id: "data.ambiguous-column",
    weight: Weight::Query,
    title: "a column that could be two things",
    explanation: Explanation {
        looks_at: "Headers and phase names that fit two readings, and two columns that both read as one, such as two columns of scores.",
        matters: "Which of the two is meant decides which numbers are recomputed: a guess made in silence could put wrong figures into every check.",
        example: "Two columns, “Score” and “Points”, beside each other: the first is read.",
        remedy: "Keep one column for each thing, with the name of the blank logbook.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(
        seen,
        findings,
        &CHECK,
        ProblemKind::AmbiguousColumn,
        |problem| {
            format!(
                "{} and can be read in two ways. Tell your marker which one you meant, and in your next logbook give each column one name and one purpose.",
                cell_holds(problem)
            )
        },
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::data::problems::tests::reports;

    #[test]
    fn a_column_of_two_readings_is_reported_with_its_cell() {
        reports(&CHECK, ProblemKind::AmbiguousColumn);
    }
}
