//! How practice was laid out: length, sessions, gaps, feedback, schedule.

use super::catalogue::Entry;

const SESSIONS: &str = "the logbook's Sessions and Trials tables";
const COMMON: &str = "common practice";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "weeks",
        "weeks",
        "Begun weeks from start to end in About, both days included; else from the first to the last day of practice.",
        COMMON,
    ),
    Entry::number(
        "sessions",
        "sessions",
        "Practice sessions: those in the Sessions table and those with recorded practice trials, each counted once.",
        SESSIONS,
    ),
    Entry::number(
        "sessions_per_week",
        "sessions",
        "Practice sessions divided by weeks.",
        COMMON,
    ),
    Entry::number(
        "longest_gap_days",
        "days",
        "Longest time between two practice days that follow each other: 1 from one day to the next.",
        COMMON,
    ),
    Entry::number(
        "minutes",
        "minutes",
        "Minutes of practice, summed over the practice sessions that record them.",
        SESSIONS,
    ),
    Entry::number(
        "feedback_share",
        "share",
        "Share of trials followed by feedback, 0 to 1: the mean over the practice sessions that record it. A session without feedback is 0.",
        "Salmoni, Schmidt & Walter 1984 on frequency of feedback",
    ),
    Entry::number(
        "feedback_share_early",
        "share",
        "The same over the first half of the practice sessions that record it; needs four.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::number(
        "feedback_share_late",
        "share",
        "The same over the second half of the practice sessions that record it; needs four. A middle session counts in neither half.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::truth(
        "feedback_faded",
        "Feedback followed fewer trials in the second half of practice than in the first.",
        "Winstein & Schmidt 1990 on fading of feedback",
    ),
    Entry::number(
        "feedback_recorded",
        "share",
        "Share of the practice sessions, 0 to 1, that record their feedback.",
        SESSIONS,
    ),
    Entry::number(
        "schedule_recorded",
        "share",
        "Share of the practice sessions, 0 to 1, that record their order or their variety.",
        SESSIONS,
    ),
    Entry::text(
        "order",
        "Order of tasks within practice: blocked, serial or random; mixed where sessions differ.",
        "Shea & Morgan 1979 on contextual interference",
    ),
    Entry::text(
        "variety",
        "Practice of the task: constant or variable; mixed where sessions differ.",
        "Schmidt 1975 on variability of practice",
    ),
    Entry::text(
        "part",
        "Whole, part or simplified practice as recorded; mixed where sessions differ.",
        "Naylor & Briggs 1963 on part and whole practice",
    ),
    Entry::date("first_practice", "First day of practice.", SESSIONS),
    Entry::date("last_practice", "Last day of practice.", SESSIONS),
];
