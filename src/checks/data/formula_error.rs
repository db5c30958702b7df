//! An error cell, or a formula that was never calculated.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// An error cell, or a formula that was never calculated.
pub const CHECK: Check = Check {
    id: "data.formula-error",
    weight: Weight::Error,
    title: "a formula that gives an error",
    explanation: Explanation {
        looks_at: "Cells that show an error (#DIV/0!, #REF!, #VALUE!), and formulas without a result that could not be worked out here.",
        matters: "An error cell has no value: it is neither a score nor a zero, and whatever is computed from it has none either.",
        example: "#DIV/0! where the mean of an empty block was asked for.",
        remedy: "Repair the formula, or leave the cell empty where there is nothing to compute.",
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
        ProblemKind::FormulaError,
        |problem| {
            format!(
                "{} instead of a number. It was left out, not counted as zero. Check what the formula refers to, and leave the cell empty where there is nothing to compute.",
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
    fn an_error_cell_is_reported_as_it_stands() {
        let finding = reports(&CHECK, ProblemKind::FormulaError);
        assert_eq!(finding.weight, Weight::Error);
    }
}
