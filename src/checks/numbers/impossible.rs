//! No set of scores of that scale and number has that mean or standard deviation.

use super::claimed::finding;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::claims::Verdict;

/// No set of scores of that scale and number has that mean or standard deviation.
pub const CHECK: Check = Check {
    id: "numbers.impossible",
    weight: Weight::Error,
    title: "a number that no scores can give",
    explanation: Explanation {
        looks_at: "Claimed means and standard deviations of measures with a step that no slip explains: whether any scores of that scale and number could have them, under either way of rounding.",
        matters: "Ten whole ratings have a mean in tenths: 2.37 can't be one, whatever the trials were. Usually n or a digit is wrong.",
        example: "A mean of 2.97 from five whole ratings; the nearest possible are 2.8 and 3.0.",
        remedy: "Check the number for typing, and how many trials went into it.",
        source: "Brown & Heathers 2017 (means); Anaya 2016 and Allard 2018 (standard deviations)",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if !seen
        .logbook
        .measures
        .iter()
        .any(|measure| measure.step.is_some())
    {
        findings.could_not(CHECK.id, "no measure has a step");
        return;
    }
    if seen.claims.is_empty() {
        findings.could_not(CHECK.id, "there are no claims");
        return;
    }
    for (place, claim) in seen.claims.iter().enumerate() {
        if claim.verdict == Verdict::Impossible && claim.consequence_of.is_none() {
            findings.found.extend(finding(seen, &CHECK, place));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::number::Stated;

    #[test]
    fn a_mean_between_the_possible_ones_is_found() {
        let mut sample = Sample::sound();
        sample.claim("mean", "2.97", 2.97);
        let finding = only(sample.found(&CHECK));
        assert!(
            finding.message.contains("no 10 scores on this scale"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn a_wrong_mean_that_is_possible_is_not() {
        let mut sample = Sample::sound();
        sample.claim("mean", "2.90", 2.9);
        sample.logbook.claims[0].value = Some(Stated::new(2.9, 2));
        assert_eq!(sample.found(&CHECK), Vec::new());
    }

    #[test]
    fn without_steps_or_claims_it_is_not_checked() {
        not_checked(&Sample::sound().run(&CHECK));
        let mut sample = Sample::sound();
        sample.claim("mean", "2.97", 2.97);
        sample.logbook.measures[0].step = None;
        not_checked(&sample.run(&CHECK));
    }
}
