//! Facts of the About table. Coach and learner are never facts; of consent and screening only whether and when.

use std::sync::Arc;

use super::catalogue::Entry;
use super::value::{FactValue, Facts};
use super::writer::Writer;
use crate::logbook::model::{Logbook, Recorded};

const SOURCE: &str = "the logbook's About table";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::text("pair", "The pair's id as handed in.", SOURCE),
    Entry::text("skill", "The target skill.", SOURCE),
    Entry::date("start", "First day of the programme.", SOURCE),
    Entry::date("end", "Last day of the programme.", SOURCE),
    Entry::text(
        "stage_before",
        "The learner's stage of learning as the pair diagnosed it at the start, in their words.",
        SOURCE,
    ),
    Entry::text(
        "stage_after",
        "The stage as the pair diagnosed it at the end, in their words.",
        SOURCE,
    ),
    Entry::text(
        "stage_reason",
        "The pair's reason for its diagnosis.",
        SOURCE,
    ),
    Entry::text(
        "theory",
        "The theory that the report says its data support, in the pair's words.",
        SOURCE,
    ),
    Entry::text("theory_reason", "The pair's reason for the theory.", SOURCE),
    Entry::text(
        "experience",
        "The learner's earlier experience, as typed.",
        SOURCE,
    ),
    Entry::text(
        "experience_kind",
        "Earlier experience in one of three words: none, related skill, this skill; absent where the text begins with none of them.",
        SOURCE,
    ),
    Entry::text(
        "novel_context",
        "What the transfer test changed, as typed.",
        SOURCE,
    ),
    Entry::truth(
        "learning_claimed",
        "The report says that a lasting change took place.",
        SOURCE,
    ),
    Entry::truth(
        "consent",
        "Informed consent is recorded: yes or a date.",
        SOURCE,
    ),
    Entry::date(
        "consent_date",
        "The day of informed consent, where a day is recorded.",
        SOURCE,
    ),
    Entry::truth(
        "screening",
        "The readiness-to-exercise screening is recorded: yes or a date.",
        SOURCE,
    ),
    Entry::date(
        "screening_date",
        "The day of the screening, where a day is recorded.",
        SOURCE,
    ),
];

/// Records the facts of the About table.
pub(super) fn record(facts: &mut Facts, logbook: &Logbook) {
    let Some(mut writer) = Writer::new(facts, None, "about") else {
        return;
    };
    let about = &logbook.about;
    if logbook.tables.about.is_none() {
        writer.nothing_else("there is no About table");
    } else {
        writer.nothing_else("is not stated in the About table");
    }
    let texts = [
        ("pair", &about.pair),
        ("skill", &about.skill),
        ("stage_before", &about.stage_before),
        ("stage_after", &about.stage_after),
        ("stage_reason", &about.stage_reason),
        ("theory", &about.theory),
        ("theory_reason", &about.theory_reason),
        ("experience", &about.experience),
        ("novel_context", &about.novel_context),
    ];
    for (fact, text) in texts {
        if let Some(text) = text {
            writer.value(fact, FactValue::Text(text.value.clone()));
        }
    }
    for (fact, day) in [("start", &about.start), ("end", &about.end)] {
        if let Some(day) = day {
            writer.value(fact, FactValue::Date(day.value));
        }
    }
    if let Some(experience) = &about.experience {
        writer.text(
            "experience_kind",
            experience_kind(&experience.value)
                .map(Arc::from)
                .ok_or("the text begins with none of the three words"),
        );
    }
    if let Some(claimed) = &about.learning_claimed {
        writer.value("learning_claimed", FactValue::Truth(claimed.value));
    }
    let recorded = [
        ("consent", "consent_date", &about.consent),
        ("screening", "screening_date", &about.screening),
    ];
    for (fact, day, recorded) in recorded {
        if let Some(recorded) = recorded {
            writer.value(fact, FactValue::Truth(recorded.value != Recorded::No));
            if let Recorded::On(date) = recorded.value {
                writer.value(day, FactValue::Date(date));
            }
        }
    }
}

/// With which of the three words a description of earlier experience begins.
fn experience_kind(text: &str) -> Option<&'static str> {
    let words: String = text
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { ' ' })
        .collect::<String>()
        .to_lowercase();
    let words: Vec<&str> = words.split_whitespace().take(2).collect();
    match words.as_slice() {
        ["none", ..] => Some("none"),
        ["related", "skill"] => Some("related skill"),
        ["this", "skill"] => Some("this skill"),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::facts::sample;
    use crate::logbook::model::{Measure, Sourced};
    use crate::place::Place;

    fn sourced<T>(value: T) -> Sourced<T> {
        Sourced {
            value,
            place: Place::file("invented.csv"),
        }
    }

    #[test]
    fn what_about_states_is_a_fact_but_for_who_the_people_are() {
        let mut logbook = sample::logbook(vec![Measure::undescribed()], Vec::new());
        logbook.tables.about = Some(Place::file("invented.csv"));
        logbook.about.coach = Some(sourced("Ada".into()));
        logbook.about.learner = Some(sourced("Ben".into()));
        logbook.about.skill = Some(sourced("free throw".into()));
        logbook.about.start = Some(sourced(date(2026, 3, 2)));
        logbook.about.experience = Some(sourced("Related skill: netball".into()));
        logbook.about.consent = Some(sourced(Recorded::On(date(2026, 3, 1))));
        logbook.about.screening = Some(sourced(Recorded::No));
        let mut facts = Facts::default();
        record(&mut facts, &logbook);
        assert_eq!(facts.text("about.skill"), Some("free throw"));
        assert_eq!(facts.text("about.experience_kind"), Some("related skill"));
        assert_eq!(facts.truth("about.consent"), Some(true));
        assert_eq!(facts.truth("about.screening"), Some(false));
        assert_eq!(
            facts.get("about.consent_date"),
            Some(&FactValue::Date(date(2026, 3, 1)))
        );
        assert_eq!(facts.get("about.screening_date"), None);
        assert_eq!(
            facts.why_absent("about.theory"),
            Some("is not stated in the About table")
        );
        assert!(!facts.iter().any(|(_, value)| matches!(
            value,
            FactValue::Text(text) if matches!(text.as_ref(), "Ada" | "Ben")
        )));
    }

    #[test]
    fn experience_is_one_of_three_words_or_open() {
        assert_eq!(experience_kind("None"), Some("none"));
        assert_eq!(experience_kind("this skill, two years"), Some("this skill"));
        assert_eq!(experience_kind("played for a club"), None);
    }
}
