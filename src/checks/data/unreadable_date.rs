//! A date that can't be read, or could be two dates.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A date that can't be read, or could be two dates.
pub const CHECK: Check = Check {
    id: "data.unreadable-date",
    weight: Weight::Query,
    title: "a date that could not be read",
    explanation: Explanation {
        looks_at: "Every cell that should hold a date. Day or month first is settled by the file's other dates and by date_order in cohort.toml.",
        matters: "Without its date nobody can tell whether practice was spread out, or how long after practice retention was tested.",
        example: "“31/2/26”, or “4/5/26” in a file where nothing shows which of them is the month.",
        remedy: "Write dates with the year first (2026-03-09) or with the month's name.",
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
        ProblemKind::UnreadableDate,
        |problem| {
            format!(
                "{}, which can't be read as one certain date. Write it as 2026-03-09 or with the month's name, so that the time between sessions and tests can be seen.",
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
    fn an_unreadable_date_is_reported_with_its_cell() {
        reports(&CHECK, ProblemKind::UnreadableDate);
    }
}
