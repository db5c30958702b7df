//! What the checks for unrecorded feedback and schedule share.

use super::practice;
use crate::checks::wording::{in_force, percent};
use crate::checks::{Check, Findings, Seen};
use crate::logbook::model::Session;

/// Reports where fewer than the share that the course asks for of the practice sessions record something: the share is the fact `share`.
pub(super) fn report(
    seen: &Seen,
    findings: &mut Findings,
    check: &Check,
    share: &str,
    what: &str,
    recorded: impl Fn(&Session) -> bool,
    next: &str,
) {
    let Some(share) = seen.facts.number(share) else {
        findings.could_not(check.id, "no practice session is recorded");
        return;
    };
    if share + 1e-9 >= seen.thresholds.recorded_share {
        return;
    }
    let mut places: Vec<_> = practice::rows(seen)
        .filter(|row| !recorded(row))
        .map(|row| row.place.clone())
        .collect();
    if places.is_empty() {
        places = practice::cells(seen);
    }
    let says = if share <= 0.0 {
        format!("No practice session records {what}")
    } else {
        format!("{} of the practice sessions record {what}", percent(share))
    };
    findings.add(
        check
            .finding(
                format!(
                    "{says}; at least {} are asked for ({}).",
                    percent(seen.thresholds.recorded_share),
                    in_force(seen.thresholds, "recorded_share")
                ),
                format!("{says}. {next}"),
            )
            .at(places, percent(share)),
    );
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::phase::Phase;

    /// Asserts that a check finds what five of eight sessions lack, but not what four lack.
    pub(in crate::checks::programme) fn below_half_is_found(
        check: &Check,
        fact: &'static str,
        clear: impl Fn(&mut Session),
    ) {
        let lacking = |lack: u8| {
            let mut sample = Sample::sound();
            for session in sample.sessions(Phase::PRACTICE).take(usize::from(lack)) {
                clear(session);
            }
            sample.with_number(fact, 1.0 - f64::from(lack) / 8.0)
        };
        let finding = only(lacking(5).found(check));
        assert_eq!(finding.places.len(), 5);
        assert!(finding.message.starts_with("38 %"), "{}", finding.message);
        assert_eq!(lacking(4).found(check), Vec::new());
        assert!(
            only(lacking(8).found(check))
                .message
                .starts_with("No practice session")
        );
        not_checked(&Sample::sound().without_fact(fact).run(check));
    }
}
