//! A long time between two practice sessions.

use super::practice;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::plain;
use crate::wording::listed;

/// A long time between two practice sessions.
pub const CHECK: Check = Check {
    id: "programme.long-gap",
    weight: Weight::Concern,
    title: "a long gap in practice",
    explanation: Explanation {
        looks_at: "Days between practice days that follow each other.",
        matters: "A long break divides a programme in two: what was lost over it is part of the practice curve, and looks like a plateau or a dip.",
        example: "No practice between 14 March and 2 April, 19 days.",
        remedy: "Say what happened, and look at the sessions after the break on their own.",
        source: "common practice",
    },
    thresholds: &["long_gap_days"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let days = practice::days(seen);
    if days.len() < 2 {
        findings.could_not(CHECK.id, "fewer than two practice days are recorded");
        return;
    }
    let longest = seen.thresholds.long_gap_days;
    let mut says = Vec::new();
    let mut places = Vec::new();
    for pair in days.windows(2) {
        if let [(before, left), (after, resumed)] = pair {
            let gap = (*after - *before).get_days();
            if f64::from(gap) > longest {
                says.push(format!("{gap} days from {before} to {after}"));
                places.extend([resumed.clone(), left.clone()]);
            }
        }
    }
    if says.is_empty() {
        return;
    }
    let says = listed(&says);
    findings.add(
        CHECK
            .finding(
                format!("Practice was interrupted: {says}, longer than {} days ({}).", plain(longest), in_force(seen.thresholds, "long_gap_days")),
                format!("There is a long gap in your practice: {says}. What was forgotten over it is part of your curve. Say what happened, and look at the sessions after it on their own before you speak of a plateau or a dip."),
            )
            .at(places, says),
    );
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    /// The last practice session, of 25 March, moved; the one before is of 22 March.
    fn last_practice_on(day: jiff::civil::Date) -> Sample {
        let mut sample = Sample::sound();
        sample.redate(9, day);
        sample
    }

    #[test]
    fn fifteen_days_are_found_at_both_ends_and_fourteen_are_not() {
        let mut sample = last_practice_on(date(2026, 4, 6));
        let finding = only(sample.found(&CHECK));
        assert!(
            finding.message.contains("15 days from 2026-03-22"),
            "{}",
            finding.message
        );
        let last = sample
            .sessions(Phase::PRACTICE)
            .last()
            .unwrap()
            .date_place
            .clone()
            .unwrap();
        assert_eq!(finding.places[0], last);
        assert_eq!(finding.places.len(), 2);
        assert_eq!(last_practice_on(date(2026, 4, 5)).found(&CHECK), Vec::new());
    }

    #[test]
    fn without_dates_it_is_not_checked() {
        let mut sample = Sample::sound().without(Phase::PRACTICE);
        sample.logbook.sessions.clear();
        not_checked(&sample.run(&CHECK));
    }
}
