//! The retention test came too soon after the last practice.

use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::plain;
use crate::phase::Phase;
use crate::wording::amount;

/// The retention test came too soon after the last practice.
pub const CHECK: Check = Check {
    id: "testing.retention-too-soon",
    weight: Weight::Concern,
    title: "a retention test too soon after practice",
    explanation: Explanation {
        looks_at: "Whole days from the last practice before the (first) retention test to that test.",
        matters: "Shortly after practice the score still holds what fades by itself (warm-up, feedback, what is in mind); what is left after a time shows learning.",
        example: "The retention test twenty minutes after the last practice, on the same day.",
        remedy: "Leave the time that the course asks for between the last practice and the retention test, and say how long it was.",
        source: "Kantak & Winstein 2012; a day or more is the usual interval",
    },
    thresholds: &["retention_days"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let Some(test) = seen.block(0, Phase::RETENTION) else {
        findings.could_not(CHECK.id, "there is no retention test");
        return;
    };
    let Some(days) = seen.facts.number("retention.days_after") else {
        findings.could_not(
            CHECK.id,
            "the days of practice and retention test are not both recorded",
        );
        return;
    };
    let asked = seen.thresholds.retention_days;
    if days >= asked {
        return;
    }
    let after = if days <= 0.0 {
        "on the day of the last practice".to_owned()
    } else {
        format!("{} after the last practice", amount(days, "day"))
    };
    findings.add(
        CHECK
            .finding(
                format!(
                    "The retention test was {after}; {} or more are asked for ({}).",
                    amount(asked, "day"),
                    in_force(seen.thresholds, "retention_days")
                ),
                format!("Your retention test was {after}. So soon, it still measures performance at the end of practice, and can't show what lasted. Leave {} or more next time; in this report, say that lasting change is still open.", amount(asked, "day")),
            )
            .at(date_cells(seen, test.block), plain(days)),
    );
}

/// The cells that date the test: in the Sessions table where it has a row, else its trials.
fn date_cells(seen: &Seen, block: &crate::facts::record::Block) -> Vec<crate::place::Place> {
    let dates: Vec<_> = seen
        .logbook
        .sessions
        .iter()
        .filter(|session| session.phase == Some(block.phase))
        .filter_map(|session| session.date_place.clone())
        .collect();
    if dates.is_empty() {
        seen.cells(block)
    } else {
        dates
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    fn after(days: f64) -> Sample {
        Sample::sound().with_number("retention.days_after", days)
    }

    #[test]
    fn the_same_day_is_found_in_its_date_cell_and_the_next_day_is_not() {
        let sample = after(0.0);
        let finding = only(sample.found(&CHECK));
        let session = sample
            .logbook
            .sessions
            .iter()
            .find(|session| session.phase == Some(Phase::RETENTION));
        assert_eq!(
            finding.places,
            [session.unwrap().date_place.clone().unwrap()]
        );
        assert!(
            finding.message.contains("1 day or more"),
            "{}",
            finding.message
        );
        assert_eq!(after(1.0).found(&CHECK), Vec::new());
    }

    #[test]
    fn a_course_that_asks_for_a_week_finds_six_days() {
        let mut sample = after(6.0);
        sample.thresholds.retention_days = 7.0;
        assert!(only(sample.found(&CHECK)).message.contains("6 days after"));
    }

    #[test]
    fn without_dates_or_without_the_test_it_is_not_checked() {
        not_checked(
            &Sample::sound()
                .without_fact("retention.days_after")
                .run(&CHECK),
        );
        not_checked(&Sample::sound().without(Phase::RETENTION).run(&CHECK));
    }
}
