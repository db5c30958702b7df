//! A total close to the boundary of a level.

use super::entered::{Boundary, CriterionMarks, MarksSeen};
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::plain;
use crate::wording::amount;

/// A total close to the boundary of a level.
pub const CHECK: Check = Check {
    id: "marks.near-boundary",
    weight: Weight::Query,
    title: "a total near a boundary",
    explanation: Explanation {
        looks_at: "Complete totals against the boundaries of the levels and the pass mark.",
        matters: "Markers differ by more than a mark: near a boundary that decides the level, and a second look is fair.",
        example: "A total of 23.5 where a level begins at 24.",
        remedy: "Look at the report once more, whichever side of the boundary it is on, and let the total stand where the look confirms it.",
        source: "common practice",
    },
    thresholds: &["near_boundary"],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let mut any = false;
    for pair in seen.pairs {
        for (student, total) in
            pair.totals(|criterion| criterion.standing().map(|entry| entry.mark))
        {
            let Some(total) = total else { continue };
            let away = |boundary: &Boundary| (total - boundary.from).abs();
            let Some(nearest) = seen
                .boundaries
                .iter()
                .min_by(|a, b| away(a).total_cmp(&away(b)))
            else {
                continue;
            };
            any = true;
            if away(nearest) > seen.thresholds.near_boundary + 1e-9 {
                continue;
            }
            let of = student.map_or_else(String::new, |student| format!(" of {student}"));
            let by = amount(away(nearest), "mark");
            let exactly = away(nearest) < 1e-9;
            let lies = if exactly {
                format!("exactly on the boundary of {}", nearest.title)
            } else {
                let side = if total < nearest.from {
                    "below"
                } else {
                    "above"
                };
                format!("{by} {side} the boundary of {}", nearest.title)
            };
            let total = plain(total);
            findings.add(
                Some(&pair.pair),
                CHECK
                    .finding(
                        format!(
                            "The total{of}, {total}, is {lies} ({}) ({}).",
                            plain(nearest.from),
                            in_force(seen.thresholds, "near_boundary")
                        ),
                        format!(
                            "Look at this report once more: its total{of}, {total}, is {lies}."
                        ),
                    )
                    .at(
                        pair.criteria
                            .iter()
                            .flat_map(CriterionMarks::places)
                            .collect(),
                        total,
                    ),
            );
        }
    }
    if !any {
        findings.could_not(CHECK.id, "no total is complete, or there are no boundaries");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::sample::{Sample, only};

    #[test]
    fn a_total_within_a_mark_of_a_boundary_is_found_on_either_side() {
        // The sample's totals are 15, boundaries 8 and 18.
        let mut sample = Sample::marked();
        assert!(sample.found(&CHECK).is_empty());
        for (mark, side) in [
            (9.0, "0.5 marks below"),
            (10.0, "0.5 marks above"),
            (9.5, "exactly on"),
        ] {
            sample.pairs[0].criteria[0].entries[0].mark = mark;
            sample.pairs[0].criteria[1].entries[0].mark = 8.5;
            let found = only(sample.found(&CHECK));
            assert!(
                found.finding.message.contains(side),
                "{}",
                found.finding.message
            );
        }
    }

    #[test]
    fn each_student_has_a_total() {
        let mut sample = Sample::marked();
        let mut other = sample.pairs[0].criteria[1].clone();
        sample.pairs[0].criteria[1].student = Some("s1".into());
        other.student = Some("s2".into());
        other.entries[0].mark = 10.0;
        sample.pairs[0].criteria.push(other);
        let found = only(sample.found(&CHECK));
        assert!(
            found.finding.message.starts_with("The total of s2, 17,"),
            "{}",
            found.finding.message
        );
    }

    #[test]
    fn an_incomplete_total_has_no_level() {
        Sample::empty().not_checked(&CHECK);
    }
}
