//! A criterion without a mark.

use super::entered::MarksSeen;
use crate::checks::check::PlacedFindings;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::wording::{counted, listed};

/// A criterion without a mark.
pub const CHECK: Check = Check {
    id: "marks.missing",
    weight: Weight::Error,
    title: "a criterion without a mark",
    explanation: Explanation {
        looks_at: "Every criterion of every pair that is to be marked: whether a first marker or the moderator entered a mark. A pair for which nothing was entered yet is a query.",
        matters: "A pair with an empty criterion can't be handed back, and an empty cell is easily taken for zero.",
        example: "P09 has marks for five of six criteria.",
        remedy: "Enter the mark; zero is a mark, and an empty cell is none.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    if seen.pairs.is_empty() {
        findings.could_not(CHECK.id, "no pair is to be marked");
        return;
    }
    for pair in seen.pairs {
        let missing: Vec<String> = pair
            .criteria
            .iter()
            .filter(|criterion| criterion.standing().is_none())
            .map(super::entered::CriterionMarks::title)
            .collect();
        if missing.is_empty() {
            continue;
        }
        let begun = pair
            .criteria
            .iter()
            .any(|criterion| !criterion.entries.is_empty());
        let list = listed(&missing);
        let finding = if begun {
            CHECK.finding(
                format!(
                    "{} without a mark: {list}.",
                    counted_criteria(missing.len())
                ),
                format!("Enter the marks for {list}; zero is a mark, an empty cell is none."),
            )
        } else {
            CHECK
                .finding(
                    "Nothing has been entered yet.",
                    "This pair waits for its first mark.",
                )
                .weighing(Weight::Query)
        };
        findings.add(Some(&pair.pair), finding.at(Vec::new(), list));
    }
}

fn counted_criteria(n: usize) -> String {
    if n == 1 {
        counted(1, "criterion")
    } else {
        format!("{n} criteria")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::sample::{Sample, only};

    #[test]
    fn an_empty_criterion_beside_others_is_an_error_and_an_empty_pair_waits() {
        let mut sample = Sample::marked();
        assert!(sample.found(&CHECK).is_empty());
        sample.pairs[1].criteria[0].entries.clear();
        let found = only(sample.found(&CHECK));
        assert_eq!(found.pair.as_deref(), Some("P02"));
        assert_eq!(found.finding.weight, Weight::Error);
        assert_eq!(
            found.finding.message,
            "1 criterion without a mark: testing."
        );
        sample.pairs[1].criteria[1].entries.clear();
        assert_eq!(only(sample.found(&CHECK)).finding.weight, Weight::Query);
    }

    #[test]
    fn a_moderators_mark_is_a_mark() {
        let mut sample = Sample::marked();
        sample.pairs[0].criteria[0].entries[0].role = super::super::entered::Role::Moderator;
        assert!(sample.found(&CHECK).is_empty());
    }

    #[test]
    fn without_pairs_it_is_not_checked() {
        Sample::empty().not_checked(&CHECK);
    }
}
