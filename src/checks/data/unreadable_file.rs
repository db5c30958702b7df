//! A file that could not be read, or is not what its ending says.

use super::problems::{message, of_kind, report};
use crate::checks::check::PlacedFindings;
use crate::checks::seen::{CohortSeen, HandInNote};
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;

/// A file that could not be read, or is not what its ending says.
pub const CHECK: Check = Check {
    id: "data.unreadable-file",
    weight: Weight::Error,
    title: "a file that could not be read",
    explanation: Explanation {
        looks_at: "Every file of a hand-in: whether it opens, is not encrypted or damaged, lies within the limits of cohort.toml, and holds what its ending says. A readable file with the wrong ending is read by its content, and is a query.",
        matters: "Nothing in a file that can't be opened is checked, and the pair may not know that its work did not arrive.",
        example: "A workbook saved with a password; a text file named .xlsx.",
        remedy: "Open the file once more on your own machine, save it without a password as .xlsx, .ods or .csv, and hand it in again.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::PairAndCohort(run, run_cohort),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(seen, findings, &CHECK, ProblemKind::UnreadableFile, |_| {
        comment()
    });
    for problem in of_kind(seen, ProblemKind::WrongEnding) {
        findings.add(
            CHECK
                .finding(
                    message(problem),
                    "The file's name ends as another kind of file's does. It could be read all the same; save it under the right ending next time, so that everyone can open it.",
                )
                .weighing(Weight::Query)
                .at(problem.places.clone(), problem.text.clone()),
        );
    }
}

fn run_cohort(seen: &CohortSeen, findings: &mut PlacedFindings) {
    for note in seen.hand_ins {
        if let HandInNote::Unreadable { pair, file, says } = note {
            let finding = CHECK
                .finding(says.clone(), comment())
                .at(vec![file.clone()], says.clone());
            findings.add(pair.as_deref(), finding);
        } else if let HandInNote::Noticed { file, says } = note {
            let finding = CHECK
                .finding(
                    says.clone(),
                    "The file's name is not one that every computer takes. Give it a plain name next time.",
                )
                .weighing(Weight::Query)
                .at(vec![file.clone()], says.clone());
            findings.add(None, finding);
        }
    }
}

fn comment() -> String {
    "We could not open this file, so nothing in it has been checked yet. Please open it on your own machine, save it without a password as .xlsx, .ods or .csv, and hand it in again.".to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::data::problems::tests::reports;
    use crate::checks::sample::cohort_found;
    use crate::place::Place;

    #[test]
    fn an_unreadable_file_is_an_error_and_a_wrong_ending_a_query() {
        assert_eq!(
            reports(&CHECK, ProblemKind::UnreadableFile).weight,
            Weight::Error
        );
        assert_eq!(
            reports(&CHECK, ProblemKind::WrongEnding).weight,
            Weight::Query
        );
    }

    #[test]
    fn a_hand_in_that_never_opened_is_found_with_its_pair() {
        let note = HandInNote::Unreadable {
            pair: Some("P03".into()),
            file: Place::file("P03.xlsx"),
            says: "The workbook is encrypted.".into(),
        };
        let found = cohort_found(&CHECK, &[note]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].pair.as_deref(), Some("P03"));
        assert_eq!(found[0].finding.places, [Place::file("P03.xlsx")]);
        assert!(cohort_found(&CHECK, &[]).is_empty());
    }

    #[test]
    fn a_name_that_misleads_is_a_query() {
        let note = HandInNote::Noticed {
            file: Place::file("P03.zip"),
            says: "the zip holds a file named ../x.csv, which would lead outside it".into(),
        };
        let found = cohort_found(&CHECK, &[note]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].finding.weight, Weight::Query);
        assert_eq!(found[0].finding.places, [Place::file("P03.zip")]);
    }
}
