//! A pair of the roster that handed nothing in.

use crate::checks::check::PlacedFindings;
use crate::checks::seen::{CohortSeen, HandInNote};
use crate::checks::{Check, Explanation, Run, Weight};

/// A pair of the roster without a hand-in.
pub const CHECK: Check = Check {
    id: "data.missing-submission",
    weight: Weight::Error,
    title: "a pair without a hand-in",
    explanation: Explanation {
        looks_at: "The roster's pairs against the hand-ins that could be matched to one. Pairs whose students are all excused, withdrawn or to resubmit are not missing.",
        matters: "A pair that is overlooked is never marked.",
        example: "P12 is on the roster, and no file names it.",
        remedy: "Hand in the logbook, or tell the instructor under which name it was handed in.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Cohort(run),
};

fn run(seen: &CohortSeen, findings: &mut PlacedFindings) {
    for note in seen.hand_ins {
        if let HandInNote::Missing { pair, roster } = note {
            let finding = CHECK
                .finding(
                    format!("No hand-in was found for {pair}, which is on the roster."),
                    "We have no logbook from you. If you handed one in, tell your instructor the file's name; if not, ask what is still possible.",
                )
                .at(roster.iter().cloned().collect(), "no hand-in");
            findings.add(Some(pair), finding);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::cohort_found;

    #[test]
    fn a_pair_without_a_hand_in_is_found() {
        let note = HandInNote::Missing {
            pair: "P12".into(),
            roster: None,
        };
        let found = cohort_found(&CHECK, &[note]);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].pair.as_deref(), Some("P12"));
        assert_eq!(found[0].finding.weight, Weight::Error);
        assert!(cohort_found(&CHECK, &[]).is_empty());
    }
}
