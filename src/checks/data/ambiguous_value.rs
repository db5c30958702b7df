//! A value that could be read in two ways.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A value that could be read in two ways.
pub const CHECK: Check = Check {
    id: "data.ambiguous-value",
    weight: Weight::Query,
    title: "a value that could be read in two ways",
    explanation: Explanation {
        looks_at: "Numbers whose mark may divide thousands or decimals, raised digits that may be a power or a footnote, and words in score cells whose score nobody has fixed (miss, foul, X). The rest of the column settles what it can.",
        matters: "A miss is a result: whether it counts as the lowest score or as no trial at all changes the mean.",
        example: "“1,234” in a column without another decimal mark; “miss” where the course has not said what a miss scores.",
        remedy: "Write the score that the scale gives, and say in the method what a miss scores.",
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
        ProblemKind::AmbiguousValue,
        |problem| {
            format!(
                "{}, which can be read in more than one way. Say which score you meant, and write scores as plain numbers of your scale.",
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
    fn a_value_of_two_readings_is_reported_with_its_cell() {
        reports(&CHECK, ProblemKind::AmbiguousValue);
    }
}
