//! Facts of the About table. Coach and learner are never facts; of consent and screening only whether and when.

use super::catalogue::Entry;

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
