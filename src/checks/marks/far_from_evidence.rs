//! A mark far from what the evidence earned, without a reason.

use super::entered::{CriterionMarks, MarksSeen};
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::{plain, readable};

/// A mark far from what the evidence earned, without a reason.
pub const CHECK: Check = Check {
    id: "marks.far-from-evidence",
    weight: Weight::Query,
    title: "a mark far from the evidence without a reason",
    explanation: Explanation {
        looks_at: "The mark that stands less the points that a person gave, against the points that the evidence earned; where the person's points were not entered, only what no number of them could explain.",
        matters: "A marker may know better than the evidence; a reason makes the difference one that can be followed, and the same for every pair.",
        example: "9 of 10 where the evidence earned 2 of 7 points, and no word on why.",
        remedy: "Write the reason beside the mark, or correct the mark or the judged points.",
        source: "common practice",
    },
    thresholds: &["far_from_evidence"],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let mut any = false;
    for pair in seen.pairs {
        for criterion in &pair.criteria {
            let Some((entry, distance, high)) = distance(criterion) else {
                continue;
            };
            any = true;
            let allowed = seen.thresholds.far_from_evidence / 100.0 * criterion.evidence_points;
            let has_reason = entry
                .reason
                .as_deref()
                .is_some_and(|reason| !reason.trim().is_empty());
            if distance <= allowed + 1e-9 || has_reason {
                continue;
            }
            let earned = criterion.suggested.map(plain).unwrap_or_default();
            let points = plain(criterion.evidence_points);
            let judged = match criterion.judged {
                Some(judged) => format!(
                    " and the judged points are {} of {}",
                    plain(judged),
                    plain(criterion.judged_out_of)
                ),
                None if criterion.judged_out_of > 0.0 => format!(
                    " and {} points are for a person to judge",
                    plain(criterion.judged_out_of)
                ),
                None => String::new(),
            };
            let side = if entry.mark > high { "more" } else { "less" };
            findings.add(
                Some(&pair.pair),
                CHECK
                    .finding(
                        format!(
                            "The mark for {} is {} of {}. The evidence earned {earned} of {points} points{judged}: the mark is {} {side} than that, and no reason is given (up to {} goes without one: {} % of the {points} points).",
                            criterion.title(),
                            plain(entry.mark),
                            plain(criterion.out_of),
                            readable(distance),
                            readable(allowed),
                            in_force(seen.thresholds, "far_from_evidence")
                        ),
                        format!("Say beside the mark for {} why it differs from the evidence, or correct one of them.", criterion.title()),
                    )
                    .at(entry.place.iter().cloned().collect(), format!("{} {}", criterion.title(), plain(entry.mark))),
            );
        }
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "no criterion has both a mark and decided evidence",
        );
    }
}

/// How far the mark that stands lies from the evidence, and the highest mark that would be no distance from it.
fn distance(criterion: &CriterionMarks) -> Option<(&super::entered::MarkEntry, f64, f64)> {
    let entry = criterion.standing()?;
    let suggested = criterion.suggested?;
    if criterion.evidence_points <= 0.0 {
        return None;
    }
    let (low, high) = match criterion.judged {
        Some(judged) => (suggested + judged, suggested + judged),
        None => (suggested, suggested + criterion.judged_out_of),
    };
    Some((
        entry,
        (low - entry.mark).max(entry.mark - high).max(0.0),
        high,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::sample::{Sample, only};

    #[test]
    fn more_than_a_fifth_of_the_points_away_needs_a_reason() {
        // A fifth of 7 points is 1.4: from 5.6 to 8.4.
        assert!(Sample::with_mark(8.4).found(&CHECK).is_empty());
        let mut sample = Sample::with_mark(9.0);
        let found = only(sample.found(&CHECK));
        assert!(
            found
                .finding
                .message
                .contains("the mark is 2 more than that"),
            "{}",
            found.finding.message
        );
        sample.pairs[0].criteria[0].entries[0].reason =
            Some("Tests described with unusual care.".into());
        assert!(sample.found(&CHECK).is_empty());
    }

    #[test]
    fn judged_points_that_nobody_entered_could_be_any() {
        let mut sample = Sample::with_mark(9.0);
        sample.pairs[0].criteria[0].judged = None;
        assert!(sample.found(&CHECK).is_empty());
        sample.pairs[0].criteria[0].entries[0].mark = 10.0;
        sample.pairs[0].criteria[0].suggested = Some(2.0);
        only(sample.found(&CHECK));
    }

    #[test]
    fn undecided_evidence_is_no_measure() {
        let mut sample = Sample::marked();
        for pair in &mut sample.pairs {
            for criterion in &mut pair.criteria {
                criterion.suggested = None;
            }
        }
        sample.not_checked(&CHECK);
    }
}
