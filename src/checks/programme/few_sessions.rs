//! Fewer practice sessions than the course asks for.

use super::practice;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::number::plain;
use crate::wording::amount;

/// Fewer practice sessions than the course asks for.
pub const CHECK: Check = Check {
    id: "programme.few-sessions",
    weight: Weight::Concern,
    title: "few practice sessions",
    explanation: Explanation {
        looks_at: "Practice sessions in the Sessions table and in the trials, each counted once.",
        matters: "With few sessions there is little practice to explain a change, and too few points to see the shape of a practice curve.",
        example: "Four practice sessions, where six are asked for.",
        remedy: "Plan more, shorter sessions, and record every one of them.",
        source: "common practice",
    },
    thresholds: &["sessions"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let sessions = seen
        .facts
        .number("programme.sessions")
        .filter(|sessions| *sessions > 0.0);
    let Some(sessions) = sessions else {
        findings.could_not(CHECK.id, "no practice session is recorded");
        return;
    };
    let asked = seen.thresholds.sessions;
    if sessions >= asked {
        return;
    }
    let recorded = amount(sessions, "practice session");
    let are = if sessions > 1.0 { "are" } else { "is" };
    findings.add(
        CHECK
            .finding(
                format!("{recorded} {are} recorded; {} are asked for ({}).", plain(asked), in_force(seen.thresholds, "sessions")),
                format!("Your logbook records {recorded}, fewer than the {} that the course asks for. That is little practice to explain a change, and too few points to show the shape of progress. If there were more, add them; if not, say what that means for your conclusions.", plain(asked)),
            )
            .at(practice::cells(seen), plain(sessions)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn five_are_found_with_their_rows_and_six_are_not() {
        let finding = only(
            Sample::sound()
                .with_number("programme.sessions", 5.0)
                .found(&CHECK),
        );
        assert_eq!(
            finding.places.len(),
            8,
            "the sample has a row for each of eight"
        );
        assert!(
            finding
                .message
                .starts_with("5 practice sessions are recorded; 6")
        );
        assert_eq!(
            Sample::sound()
                .with_number("programme.sessions", 6.0)
                .found(&CHECK),
            Vec::new()
        );
    }

    #[test]
    fn without_practice_it_is_not_checked() {
        not_checked(
            &Sample::sound()
                .without_fact("programme.sessions")
                .run(&CHECK),
        );
        not_checked(
            &Sample::sound()
                .with_number("programme.sessions", 0.0)
                .run(&CHECK),
        );
    }
}
