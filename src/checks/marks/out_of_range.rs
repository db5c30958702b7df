//! A mark outside its criterion's range, or between its steps.

use super::entered::MarksSeen;
use crate::checks::check::PlacedFindings;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::plain;

/// A mark outside its criterion's range, or between its steps.
pub const CHECK: Check = Check {
    id: "marks.out-of-range",
    weight: Weight::Error,
    title: "a mark out of range",
    explanation: Explanation {
        looks_at: "Every mark entered: whether it lies from 0 to the criterion's marks and on the step that the rubric sets.",
        matters: "A 75 for 7.5, or marks of another criterion's column, would go straight into a total.",
        example: "12 in a criterion of 10 marks.",
        remedy: "Correct the mark in the workbook and take it back again.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let criteria = || {
        seen.pairs
            .iter()
            .flat_map(|pair| pair.criteria.iter().map(move |criterion| (pair, criterion)))
    };
    if criteria().all(|(_, criterion)| criterion.entries.is_empty()) {
        findings.could_not(CHECK.id, "no mark has been entered");
    }
    for (pair, criterion) in criteria() {
        for entry in &criterion.entries {
            let within = (0.0..=criterion.out_of).contains(&entry.mark);
            let on_step = criterion
                .step
                .filter(|step| *step > 0.0)
                .is_none_or(|step| {
                    let steps = entry.mark / step;
                    (steps - steps.round()).abs() < 1e-6
                });
            if within && on_step {
                continue;
            }
            let mark = plain(entry.mark);
            let why = if within {
                let step = criterion.step.map(plain).unwrap_or_default();
                format!("marks go in steps of {step}")
            } else {
                format!("the criterion has {} marks", plain(criterion.out_of))
            };
            findings.add(
                Some(&pair.pair),
                CHECK
                    .finding(
                        format!(
                            "{} entered {mark} for {}: {why}.",
                            entry.marker,
                            criterion.title()
                        ),
                        format!("Check the mark {mark} for {}: {why}.", criterion.title()),
                    )
                    .at(
                        entry.place.iter().cloned().collect(),
                        format!("{} {mark}", criterion.title()),
                    ),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::sample::{Sample, only};

    #[test]
    fn marks_beyond_the_range_and_between_steps_are_found_in_their_cell() {
        for mark in [12.0, -1.0, 7.3] {
            let sample = Sample::with_mark(mark);
            let found = only(sample.found(&CHECK));
            let place = sample.pairs[0].criteria[0].entries[0]
                .place
                .clone()
                .unwrap();
            assert_eq!(found.finding.places, [place]);
        }
        assert!(Sample::with_mark(f64::NAN).found(&CHECK).len() == 1);
    }

    #[test]
    fn nothing_full_marks_and_half_marks_are_in_range() {
        for mark in [0.0, 10.0, 7.5] {
            assert!(Sample::with_mark(mark).found(&CHECK).is_empty());
        }
    }

    #[test]
    fn without_marks_it_is_not_checked() {
        Sample::empty().not_checked(&CHECK);
    }
}
