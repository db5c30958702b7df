//! What the checks for an unsupported stage share: one speaks of the start, one of the end.

use super::diagnosis::Diagnosis;
use crate::checks::{Check, Findings, Seen};
use crate::judgement::{Moment, Speaks, Verdict};
use crate::wording::shortened;

/// Reports a stage against which the record speaks; where nothing can be said of it, that is said.
pub(super) fn report(seen: &Seen, findings: &mut Findings, check: &Check, moment: Moment) {
    let diagnosis = Diagnosis::of(seen, moment);
    let verdict = diagnosis.verdict;
    match verdict.verdict {
        Verdict::NotSupported => {}
        Verdict::Supported | Verdict::Undecided => return,
        Verdict::NoEvidence => {
            findings.could_not(check.id, "fewer than three signs are recorded");
            return;
        }
        Verdict::NotDiagnosed | Verdict::Unknown => {
            findings.could_not(
                check.id,
                format!("no stage of a known model is named {}", diagnosis.when),
            );
            return;
        }
    }
    let (when, text) = (diagnosis.when, shortened(diagnosis.text()));
    let against = diagnosis.signs(Speaks::Against);
    let favour = diagnosis.signs(Speaks::For);
    let mut sentences = vec![
        format!("You diagnosed “{text}” {when}."),
        verdict.sentence.clone(),
    ];
    if !against.is_empty() {
        sentences.push(format!("Pointing elsewhere: {against}"));
    }
    if !favour.is_empty() {
        sentences.push(format!("Pointing to your stage: {favour}"));
    }
    sentences.push("Say which of your evidence decides, or reconsider the stage; your own observation counts where the record has no sign for it.".to_owned());
    let comment = sentences.join(" ");
    let mut places = vec![diagnosis.place(seen)];
    places.extend(
        seen.logbook
            .about
            .stage_reason
            .iter()
            .map(|reason| reason.place.clone()),
    );
    findings.add(
        check
            .finding(format!("“{text}” {when}: {}", verdict.sentence), comment)
            .at(places, diagnosis.text()),
    );
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only, stage};

    /// Asserts that a check finds what the verdict of its moment says, and nothing of the other moment.
    pub(in crate::checks::stage) fn follows_the_verdict(check: &Check, moment: Moment) {
        let with = |verdict, at| {
            let mut sample = Sample::sound();
            match at {
                Moment::Start => sample.judgements.start = stage(verdict),
                Moment::End => sample.judgements.end = stage(verdict),
            }
            sample
        };
        let other = if moment == Moment::Start {
            Moment::End
        } else {
            Moment::Start
        };
        let finding = only(with(Verdict::NotSupported, moment).found(check));
        assert!(
            finding
                .comment
                .contains("Pointing elsewhere: spread of trials (Spread 1.2)."),
            "{}",
            finding.comment
        );
        assert_eq!(finding.places.len(), 1);
        assert_eq!(with(Verdict::NotSupported, other).found(check), Vec::new());
        assert_eq!(with(Verdict::Undecided, moment).found(check), Vec::new());
        assert_eq!(with(Verdict::Supported, moment).found(check), Vec::new());
        not_checked(&with(Verdict::NoEvidence, moment).run(check));
        not_checked(&with(Verdict::NotDiagnosed, moment).run(check));
    }
}
