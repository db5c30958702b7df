//! Most practice sessions don't say in which order or variety tasks were practised.

use super::recorded_share::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::Session;

/// Most practice sessions don't say in which order or variety tasks were practised.
pub const CHECK: Check = Check {
    id: "programme.schedule-not-recorded",
    weight: Weight::Concern,
    title: "the practice schedule is not recorded",
    explanation: Explanation {
        looks_at: "The share of practice sessions whose order (blocked, serial, random) or variety (constant, variable) is recorded.",
        matters: "Blocked practice tends to look better while it lasts, and varied or random practice afterwards: without the schedule a practice curve can't be read.",
        example: "Eight practice sessions without an entry under order or variety.",
        remedy: "Note for each session whether tasks came in blocks, in turn or in random order, and whether the task varied.",
        source: "Shea & Morgan 1979; Schmidt 1975",
    },
    thresholds: &["recorded_share"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(
        seen,
        findings,
        &CHECK,
        "programme.schedule_recorded",
        "order or variety of practice",
        |row: &Session| row.order.is_some() || row.variety.is_some(),
        "Note for each session whether tasks came in blocks, in turn or in random order, and whether the task varied: a practice curve reads quite differently under each.",
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::programme::recorded_share::tests::below_half_is_found;

    #[test]
    fn fewer_than_half_of_the_sessions_are_found_with_the_rows_that_lack_it() {
        below_half_is_found(&CHECK, "programme.schedule_recorded", |row| {
            row.order = None;
            row.variety = None;
        });
    }

    #[test]
    fn either_order_or_variety_is_enough() {
        let mut sample = crate::checks::sample::Sample::sound();
        for session in &mut sample.logbook.sessions {
            session.order = None;
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
    }
}
