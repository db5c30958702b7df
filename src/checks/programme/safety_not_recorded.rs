//! Consent or screening is not recorded.

use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::{Recorded, Sourced};
use crate::place::Place;
use crate::wording::listed;

/// Consent or screening is not recorded.
pub const CHECK: Check = Check {
    id: "programme.safety-not-recorded",
    weight: Weight::Concern,
    title: "consent or screening is not recorded",
    explanation: Explanation {
        looks_at: "Whether About records informed consent and the readiness-to-exercise screening with yes or a date. Only that is read; health answers are never kept.",
        matters: "Someone is asked to train: consent and screening come first, and a programme shows that they did. What is required, and who decides, is for local rules and qualified people.",
        example: "Screening left empty in About.",
        remedy: "Record both with a date; where one is missing, ask whoever is responsible for safety on the course before training goes on.",
        source: "common practice; the rules of the place have the last word",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.logbook.tables.about.is_none() {
        findings.could_not(CHECK.id, "there is no About table");
        return;
    }
    let about = &seen.logbook.about;
    let mut missing = Vec::new();
    let mut places: Vec<Place> = Vec::new();
    for (name, entry) in [("consent", &about.consent), ("screening", &about.screening)] {
        match entry {
            Some(Sourced {
                value: Recorded::No,
                place,
            }) => {
                missing.push(format!("{name} is recorded as no"));
                places.push(place.clone());
            }
            None => missing.push(format!("{name} is not recorded")),
            Some(_) => {}
        }
    }
    if missing.is_empty() {
        return;
    }
    if places.is_empty() {
        places.push(seen.where_missing(TableName::About));
    }
    let missing = listed(&missing);
    findings.add(
        CHECK
            .finding(
                format!("In About, {missing}."),
                format!("In your logbook {missing}. Before anyone trains, informed consent and a screening for readiness to exercise belong on record (yes or a date; no health details). Which form they take is set by the rules of your institution: ask the person responsible for safety there, and have any doubt about someone's health settled by a qualified person first."),
            )
            .at(places, missing),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn what_is_not_recorded_or_no_is_found_in_one_finding() {
        let mut sample = Sample::sound();
        sample.logbook.about.screening = None;
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.message, "In About, screening is not recorded.");
        assert_eq!(
            finding.places,
            [sample.logbook.tables.about.clone().unwrap()]
        );
        let place = {
            let consent = sample.logbook.about.consent.as_mut().unwrap();
            consent.value = Recorded::No;
            consent.place.clone()
        };
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places, [place]);
        assert!(finding.comment.contains("rules of your institution"));
    }

    #[test]
    fn a_date_is_a_record() {
        let mut sample = Sample::sound();
        let day = jiff::civil::date(2026, 3, 1);
        sample.logbook.about.consent.as_mut().unwrap().value = Recorded::On(day);
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_about_it_is_not_checked() {
        let mut sample = Sample::sound();
        sample.logbook.tables.about = None;
        not_checked(&sample.run(&CHECK));
    }
}
