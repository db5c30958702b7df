//! Two markers of one report differ by more than the tolerance.

use super::entered::{CriterionMarks, MarksSeen, Role};
use crate::checks::check::PlacedFindings;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Run, Weight};
use crate::number::{plain, readable};

/// Two markers of one report differ by more than the tolerance.
pub const CHECK: Check = Check {
    id: "marks.second-differs",
    weight: Weight::Query,
    title: "two markers who differ",
    explanation: Explanation {
        looks_at: "Reports with a second marker: the sum of the criteria that both marked, in percent of what these are out of.",
        matters: "A difference beyond the tolerance says that the mark depends on who gave it; many in one direction are a matter of standards, not of single reports.",
        example: "28 and 33 of 40 where the tolerance is 5 percent.",
        remedy: "Where everything is marked twice, adjudicate; in a sample, look at the marker's whole run.",
        source: "common practice",
    },
    thresholds: &["tolerance"],
    run: Run::Marks(run),
};

fn run(seen: &MarksSeen, findings: &mut PlacedFindings) {
    let mut any = false;
    for pair in seen.pairs {
        let both: Vec<&CriterionMarks> = pair
            .criteria
            .iter()
            .filter(|criterion| {
                criterion.entry(Role::First).is_some() && criterion.entry(Role::Second).is_some()
            })
            .collect();
        let sum = |role| -> f64 {
            both.iter()
                .filter_map(|criterion| criterion.entry(role))
                .map(|entry| entry.mark)
                .sum()
        };
        let out_of: f64 = both.iter().map(|criterion| criterion.out_of).sum();
        if both.is_empty() || out_of <= 0.0 {
            continue;
        }
        any = true;
        let (first, second) = (sum(Role::First), sum(Role::Second));
        let percent = 100.0 * (first - second).abs() / out_of;
        // The moderator's mark has settled it.
        let settled = both
            .iter()
            .all(|criterion| criterion.entry(Role::Moderator).is_some());
        if percent <= seen.thresholds.tolerance + 1e-9 || settled {
            continue;
        }
        let who = |role| {
            both.iter()
                .find_map(|criterion| criterion.entry(role))
                .map_or("", |entry| entry.marker.as_str())
        };
        let part = if both.len() == pair.criteria.len() {
            ""
        } else {
            " over the criteria that both marked"
        };
        let (first, second, out_of) = (plain(first), plain(second), plain(out_of));
        findings.add(
            Some(&pair.pair),
            CHECK
                .finding(
                    format!(
                        "{} gave {first} and {} gave {second} of {out_of}{part}: {} percent apart ({}).",
                        who(Role::First),
                        who(Role::Second),
                        readable(percent),
                        in_force(seen.thresholds, "tolerance")
                    ),
                    format!("Where every report is marked twice, the moderator's mark in out/moderation.xlsx settles {first} and {second} of {out_of}. In a sample the first mark stands, and it is the marker's whole run that is looked at: see the sheet Proposals."),
                )
                .at(both.iter().flat_map(|criterion| criterion.places()).collect(), format!("{first} / {second}")),
        );
    }
    if !any {
        findings.could_not(CHECK.id, "no report has two markers");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::marks::sample::{Sample, only};

    /// A second marker of the first pair, who gives this much to its first criterion and the same to its second: 15 of 20 by the first.
    fn with_second(mark: f64) -> Sample {
        let mut sample = Sample::marked();
        for (criterion, mark) in sample.pairs[0].criteria.iter_mut().zip([mark, 8.0]) {
            let mut entry = criterion.entries[0].clone();
            (entry.role, entry.marker, entry.mark) = (Role::Second, "Bea".into(), mark);
            criterion.entries.push(entry);
        }
        sample
    }

    #[test]
    fn more_than_a_twentieth_apart_is_found_and_a_twentieth_is_not() {
        assert!(with_second(8.0).found(&CHECK).is_empty());
        let found = only(with_second(8.5).found(&CHECK));
        assert_eq!(
            found.finding.message,
            "Ann gave 15 and Bea gave 16.5 of 20: 7.5 percent apart (tolerance = 5)."
        );
    }

    #[test]
    fn what_the_moderator_has_settled_is_settled() {
        let mut sample = with_second(9.0);
        for criterion in &mut sample.pairs[0].criteria {
            let mut entry = criterion.entries[0].clone();
            entry.role = Role::Moderator;
            criterion.entries.push(entry);
        }
        assert!(sample.found(&CHECK).is_empty());
    }

    #[test]
    fn without_a_second_marker_it_is_not_checked() {
        Sample::marked().not_checked(&CHECK);
    }
}
