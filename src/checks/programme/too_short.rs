//! A programme shorter than the course asks for.

use super::practice;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::plain;
use crate::place::Place;
use crate::wording::amount;

/// A programme shorter than the course asks for.
pub const CHECK: Check = Check {
    id: "programme.too-short",
    weight: Weight::Concern,
    title: "a programme that is too short",
    explanation: Explanation {
        looks_at: "Begun weeks from start to end in About, both days counted; without them, from the first to the last day of practice.",
        matters: "Skill changes over weeks of spaced practice; in a few days one sees adaptation to the task and the tests.",
        example: "Six sessions from Monday to the Saturday after next: two weeks, where three are asked for.",
        remedy: "Plan the programme over the weeks that the course asks for, and say in the evaluation what a longer one would add.",
        source: "Shea et al. 2000 on practice spread over days",
    },
    thresholds: &["weeks"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let Some(weeks) = seen.facts.number("programme.weeks") else {
        findings.could_not(
            CHECK.id,
            "neither start and end nor the days of practice are recorded",
        );
        return;
    };
    let asked = seen.thresholds.weeks;
    if weeks >= asked {
        return;
    }
    let about = &seen.logbook.about;
    let mut places: Vec<Place> = [&about.start, &about.end]
        .into_iter()
        .flatten()
        .map(|date| date.place.clone())
        .collect();
    if places.len() < 2 {
        let days = practice::days(seen);
        places.extend(
            [days.first(), days.last()]
                .into_iter()
                .flatten()
                .map(|(_, place)| place.clone()),
        );
    }
    let length = amount(weeks, "week");
    findings.add(
        CHECK
            .finding(
                format!("The programme took {length}; {} are asked for ({}).", plain(asked), in_force(seen.thresholds, "weeks")),
                format!("Your programme took {length}, fewer than the {} that the course asks for. In so short a time much of a change is getting used to the task. Say in your evaluation what could and could not be expected, and how you would spread practice over more weeks.", plain(asked)),
            )
            .at(places, plain(weeks)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn two_weeks_are_found_at_start_and_end_and_three_are_not() {
        let sample = Sample::sound().with_number("programme.weeks", 2.0);
        let finding = only(sample.found(&CHECK));
        let about = &sample.logbook.about;
        let ends = [&about.start, &about.end].map(|date| date.as_ref().unwrap().place.clone());
        assert_eq!(finding.places, ends);
        assert_eq!(
            Sample::sound()
                .with_number("programme.weeks", 3.0)
                .found(&CHECK),
            Vec::new()
        );
    }

    #[test]
    fn without_dates_it_is_not_checked() {
        not_checked(&Sample::sound().without_fact("programme.weeks").run(&CHECK));
    }
}
