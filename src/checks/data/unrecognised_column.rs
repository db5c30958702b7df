//! A column with a header that no table of the logbook has.

use super::problems::{cell_holds, report};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A header that no table has.
pub const CHECK: Check = Check {
    id: "data.unrecognised-column",
    weight: Weight::Query,
    title: "a column that could not be recognised",
    explanation: Explanation {
        looks_at: "The headers of every table, against the names and spellings that the program knows and those that the course added under [columns] in cohort.toml.",
        matters: "What stands in a column that nobody recognises enters no number and no check, and may be what the report relies on.",
        example: "A column headed “Pts adj.” beside the scores.",
        remedy: "Use the column names of the blank logbook, or say in a note what the column holds.",
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
        ProblemKind::UnrecognisedColumn,
        |problem| {
            let holds = cell_holds(problem);
            if problem.names_column() {
                format!(
                    "{holds}, which is none of the logbook's column names, so the column was left out. If it matters for your report, rename it as in the blank logbook or say what it holds."
                )
            } else {
                format!(
                    "{holds}, and no column name of the logbook stands above it, so the numbers there were left out. If they matter for your report, give them headers as in the blank logbook or say what they are."
                )
            }
        },
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::data::problems::tests::reports;
    use crate::checks::sample::{Sample, only};
    use crate::logbook::problem::Problem;
    use crate::place::Place;

    #[test]
    fn a_header_that_no_table_has_is_reported_with_its_cell() {
        let finding = reports(&CHECK, ProblemKind::UnrecognisedColumn);
        assert!(finding.comment.contains("P07.xlsx Trials!F4 holds “abc”"));
        assert!(finding.comment.contains("so the column was left out"));
    }

    #[test]
    fn a_number_without_a_header_is_not_told_as_one() {
        let mut sample = Sample::sound();
        let place = Place::cell("P07.xlsx".into(), "Notes".into(), 3, 1);
        let kind = ProblemKind::UnrecognisedColumn;
        let problem = Problem::at(kind, place, "12", "4 rows of numbers.", "Nothing was read.");
        sample.logbook.problems.push(problem);
        let comment = only(sample.found(&CHECK)).comment;
        assert!(comment.contains("no column name of the logbook stands above it"));
    }
}
