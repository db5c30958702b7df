//! A hand-in that is no pair's, or could be several pairs'.

use crate::checks::check::PlacedFindings;
use crate::checks::seen::{CohortSeen, HandInNote};
use crate::checks::{Check, Explanation, Finding, Run, Weight};
use crate::wording::{counted, listed};

/// A hand-in that is no pair's, or could be several pairs'.
pub const CHECK: Check = Check {
    id: "data.unmatched-submission",
    weight: Weight::Query,
    title: "a hand-in whose pair is not known",
    explanation: Explanation {
        looks_at: "The pair in About, else the pair ids, student ids and names of the roster in the file's or folder's name. Files that hold no table, such as reports and pictures, are named together.",
        matters: "Work that belongs to nobody is marked for nobody; work that is given to the wrong pair is worse.",
        example: "“final version.xlsx” without a pair in its About table.",
        remedy: "For the instructor: assign it in cohort.toml under [assign], for example \"final version.xlsx\" = \"P07\". For the pair: write your pair's id into About.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Cohort(run),
};

/// Whether a finding of this check is about one hand-in, which the instructor can assign; the others are about files without a table.
pub fn is_to_assign(finding: &Finding) -> bool {
    finding.check == CHECK.id && finding.message.contains("[assign]")
}

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    for note in seen.hand_ins {
        if let HandInNote::Unmatched { hand_in, could_be } = note {
            let why = if could_be.is_empty() {
                "names no pair of the roster".to_owned()
            } else {
                format!("could belong to {}", listed(could_be))
            };
            let finding = CHECK
                .finding(
                    format!("{hand_in} {why}; it has been left aside until it is assigned in cohort.toml under [assign]."),
                    "We could not tell whose logbook this is. Write your pair's id into the About table and into the file's name.",
                )
                .at(vec![hand_in.clone()], listed(could_be));
            findings.add(None, finding);
        }
        if let HandInNote::WithoutTable { files } = note {
            let finding = CHECK
                .finding(
                    format!(
                        "{} among the submissions {} no table that could be read, and {} passed over.",
                        counted(files.len(), "file"),
                        if files.len() == 1 { "holds" } else { "hold" },
                        if files.len() == 1 { "was" } else { "were" },
                    ),
                    "What you handed in holds no table. Hand in the logbook itself, as .xlsx, .ods or .csv.",
                )
                .at(files.iter().take(MOST_NAMED).cloned().collect(), String::new());
            findings.add(None, finding);
        }
    }
}

/// Files without a table that are named one by one.
const MOST_NAMED: usize = 50;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::cohort_found;
    use crate::place::Place;

    #[test]
    fn a_hand_in_of_no_pair_and_one_of_two_are_both_found() {
        let note = |could_be: &[&str]| HandInNote::Unmatched {
            hand_in: Place::file("final.xlsx"),
            could_be: could_be.iter().map(|pair| (*pair).to_owned()).collect(),
        };
        let found = cohort_found(&CHECK, &[note(&[]), note(&["P01", "P02"])]);
        assert_eq!(found.len(), 2);
        assert!(found.iter().all(|placed| placed.pair.is_none()));
        assert!(
            found
                .iter()
                .any(|placed| placed.finding.message.contains("P01 and P02"))
        );
        assert!(cohort_found(&CHECK, &[]).is_empty());
    }

    #[test]
    fn files_without_a_table_are_named_once_together() {
        let note = HandInNote::WithoutTable {
            files: vec![Place::file("P01 report.pdf"), Place::file("photo.jpg")],
        };
        let found = cohort_found(&CHECK, &[note]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].finding.places.len(), 2);
        assert!(found[0].finding.message.starts_with("2 files among"));
    }
}
