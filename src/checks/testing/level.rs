//! Where tests lie on their scale: what the checks for ceiling and floor share.

use crate::checks::seen::TestBlock;
use crate::checks::{Check, Findings, Seen};

/// Reports every scored test whose mean lies where `at_end` says; `finding` gives message and comment from the block, its mean and level.
pub(super) fn report(
    seen: &Seen,
    findings: &mut Findings,
    check: &Check,
    at_end: impl Fn(f64) -> bool,
    words: impl Fn(TestBlock, f64, f64) -> (String, String),
) {
    let mut any = false;
    for test in seen.tests() {
        let scores = test.block.scores();
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        let Some(level) = test.measure.level(mean).filter(|level| level.is_finite()) else {
            continue;
        };
        any = true;
        if at_end(level) {
            let (message, comment) = words(test, mean, level);
            findings.add(check.finding(message, comment).at(
                seen.cells(test.block),
                format!("mean {}", crate::number::readable(mean)),
            ));
        }
    }
    if !any {
        findings.could_not(check.id, "no scored test has a scale with both ends");
    }
}
