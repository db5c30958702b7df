//! No stage of learning is named, at the start or at the end.

use super::diagnosis::Diagnosis;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::judgement::Verdict;
use crate::wording::listed;

/// No stage of learning is named, at the start or at the end.
pub const CHECK: Check = Check {
    id: "stage.not-diagnosed",
    weight: Weight::Query,
    title: "no stage of learning named",
    explanation: Explanation {
        looks_at: "Whether About names the learner's stage of learning before and after the programme.",
        matters: "The diagnosis is what practice and feedback are fitted to; without it nobody can see why the programme looked as it did.",
        example: "“stage after” is left empty.",
        remedy: "Name the stage at start and end, in the words of one model, and say which evidence decided.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.logbook.tables.about.is_none() {
        findings.could_not(CHECK.id, "there is no About table");
        return;
    }
    let missing = Diagnosis::with(seen, Verdict::NotDiagnosed);
    if missing.is_empty() {
        return;
    }
    let when: Vec<&str> = missing.iter().map(|diagnosis| diagnosis.when).collect();
    let when = listed(&when);
    let mut places: Vec<_> = missing
        .iter()
        .map(|diagnosis| diagnosis.place(seen))
        .collect();
    places.dedup();
    findings.add(
        CHECK
            .finding(
                format!("No stage of learning is named {when}."),
                format!("Your logbook names no stage of learning {when}. Name it in the words of one model, and say which of your observations (errors, consistency, attention, what lasted) decided: practice and feedback are fitted to it."),
            )
            .at(places, format!("none {when}")),
    );
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only, stage};
    use crate::logbook::Logbook;

    fn without(clear: impl Fn(&mut Logbook), start: Verdict, end: Verdict) -> Sample {
        let mut sample = Sample::sound();
        clear(&mut sample.logbook);
        sample.judgements.start = stage(start);
        sample.judgements.end = stage(end);
        sample
    }

    #[test]
    fn one_missing_diagnosis_or_two_are_one_finding() {
        let one = without(
            |book| book.about.stage_after = None,
            Verdict::Supported,
            Verdict::NotDiagnosed,
        );
        assert_eq!(
            only(one.found(&CHECK)).message,
            "No stage of learning is named at the end."
        );
        let two = without(|_| (), Verdict::NotDiagnosed, Verdict::NotDiagnosed);
        assert!(
            only(two.found(&CHECK))
                .message
                .contains("at the start and at the end")
        );
        assert_eq!(Sample::sound().found(&CHECK), Vec::new());
    }

    #[test]
    fn without_about_it_is_not_checked() {
        let clear = |book: &mut Logbook| book.tables.about = None;
        not_checked(&without(clear, Verdict::NotDiagnosed, Verdict::NotDiagnosed).run(&CHECK));
    }
}
