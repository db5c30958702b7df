//! Where tests lie on their scale: what the checks for ceiling and floor share.

use crate::checks::wording::{in_force, the_phase};
use crate::checks::{Check, Findings, Seen};
use crate::number::readable;
use crate::wording::capitalised;

/// Reports every scored test whose mean lies where `at_end` says, by the one threshold of the check; `close_to` says what that means for the
/// pair, beginning where a mean is "close to the best".
pub(super) fn report(
    seen: &Seen,
    findings: &mut Findings,
    check: &Check,
    at_end: impl Fn(f64) -> bool,
    close_to: &str,
) {
    let mut any = false;
    for test in seen.tests() {
        let scores = test.block.scores();
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        let Some(level) = test.measure.level(mean).filter(|level| level.is_finite()) else {
            continue;
        };
        any = true;
        if !at_end(level) {
            continue;
        }
        let mean = readable(mean);
        let test_has = capitalised(&format!(
            "{}{} has a mean of {mean}",
            the_phase(test.block.phase),
            seen.of_measure(test.measure)
        ));
        let threshold: String = check
            .thresholds
            .iter()
            .map(|key| in_force(seen.thresholds, key))
            .collect();
        let message = format!(
            "{test_has}, at {} of its scale (0 worst, 1 best; {threshold}).",
            readable(level)
        );
        findings.add(
            check
                .finding(message, format!("{test_has}, {close_to}"))
                .at(seen.cells(test.block), format!("mean {mean}")),
        );
    }
    if !any {
        findings.could_not(check.id, "no scored test has a scale with both ends");
    }
}
