//! A text where a number should stand.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A text where a number should stand.
pub const CHECK: Check = Check {
    id: "data.not-a-number",
    weight: Weight::Error,
    title: "a text where a number should stand",
    explanation: Explanation {
        looks_at: "Every cell that should hold a number: scores, ratings, values of claims. Units, percent signs, decimal commas and what stands for a missing trial are understood.",
        matters: "The trial enters no number: a mean is then over fewer trials than the report says.",
        example: "A score cell that holds “good”.",
        remedy: "Enter the number that was recorded; leave the cell empty where none was.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(seen, findings, &CHECK, ProblemKind::NotANumber, |problem| {
        format!(
            "{}, which is no number, so it could not be used. If a score was recorded, enter it; if the trial was not attempted, leave the cell empty and say so in the notes.",
            cell_holds(problem)
        )
    });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::data::problems::tests::reports;

    #[test]
    fn a_text_in_a_number_cell_is_reported_as_it_stands() {
        let finding = reports(&CHECK, ProblemKind::NotANumber);
        assert_eq!(finding.weight, Weight::Error);
        assert_eq!(finding.stands, "abc");
    }
}
