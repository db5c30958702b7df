//! Two or more hand-ins of one pair.

use crate::checks::check::PlacedFindings;
use crate::checks::seen::{CohortSeen, HandInNote};
use crate::checks::{Check, Explanation, Run, Weight};
use crate::wording::listed;

/// Two or more hand-ins of one pair.
pub const CHECK: Check = Check {
    id: "data.duplicate-submission",
    weight: Weight::Query,
    title: "several hand-ins of one pair",
    explanation: Explanation {
        looks_at: "Pairs with more than one hand-in. The newest counts where their names carry a version or a time; else the first in natural order, until [assign] in cohort.toml names one.",
        matters: "If the wrong version is marked, the marks are for work that the pair has since corrected.",
        example: "P07-v1.xlsx and P07-v2.xlsx: the second counts.",
        remedy: "Tell the instructor which version counts, and hand in one only.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    for note in seen.hand_ins {
        if let HandInNote::Duplicate {
            pair,
            counts,
            others,
            because,
        } = note
        {
            let names: Vec<String> = others.iter().map(ToString::to_string).collect();
            let places: Vec<_> = std::iter::once(counts).chain(others).cloned().collect();
            let finding = CHECK
                .finding(
                    format!(
                        "{pair} has {} hand-ins. {counts} counts, because {because}; left aside: {}.",
                        places.len(),
                        listed(&names)
                    ),
                    format!("You handed in more than one logbook; {counts} is the one we looked at. Tell us if another one should count."),
                )
                .at(places, names.join("; "));
            findings.add(Some(pair), finding);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::cohort_found;
    use crate::place::Place;

    #[test]
    fn both_files_are_named_and_the_one_that_counts_comes_first() {
        let note = HandInNote::Duplicate {
            pair: "P07".into(),
            counts: Place::file("P07-v2.xlsx"),
            others: vec![Place::file("P07-v1.xlsx")],
            because: "its name carries the latest version".into(),
        };
        let found = cohort_found(&CHECK, &[note]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].pair.as_deref(), Some("P07"));
        let places = &found[0].finding.places;
        assert_eq!(
            places[..],
            [Place::file("P07-v2.xlsx"), Place::file("P07-v1.xlsx")]
        );
        assert!(cohort_found(&CHECK, &[]).is_empty());
    }
}
