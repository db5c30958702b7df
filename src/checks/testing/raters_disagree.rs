//! Two raters, or two observers of technique, agree little.

use super::two_raters::TwoRaters;
use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::MeasureKind;
use crate::number::readable;
use crate::stats::agreement::cohen::{Weights, cohen_kappa};
use crate::wording::{counted, listed};

/// Two raters, or two observers of technique, agree little.
pub const CHECK: Check = Check {
    id: "testing.raters-disagree",
    weight: Weight::Concern,
    title: "raters who agree little",
    explanation: Explanation {
        looks_at: "Trials of all tests that two raters scored, for measures that are ratings, and elements of technique that two observers rated: quadratic weighted kappa, 1 for full agreement and 0 for what chance gives, where at least as many were rated twice as raters_least asks.",
        matters: "Where two people see different things in the same trial, a change in the ratings may be a change in the rating.",
        example: "Coach and second rater score the same 12 trials with a weighted kappa of 0.2.",
        remedy: "Agree on what each score looks like, with examples on video, rate again without seeing each other's scores, and report the agreement.",
        source: "Cohen 1968",
    },
    thresholds: &["raters_kappa", "raters_least"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for (index, measure) in seen.logbook.measures.iter().enumerate() {
        if measure.kind == MeasureKind::Rating {
            let both = TwoRaters::of_trials(seen, index);
            any |= look(
                seen,
                findings,
                &both,
                "test trial",
                &seen.of_measure(measure),
            );
        }
    }
    let both = TwoRaters::of_technique(seen);
    any |= look(seen, findings, &both, "rating", " of technique");
    if !any {
        findings.could_not(
            CHECK.id,
            format!(
                "too little was rated by two people for agreement to be judged ({})",
                in_force(seen.thresholds, "raters_least")
            ),
        );
    }
}

/// Whether agreement could be judged; where it is low, that is a finding.
fn look(seen: &Seen, findings: &mut Findings, both: &TwoRaters, thing: &str, of: &str) -> bool {
    let n = both.first.len();
    if (n as f64) < seen.thresholds.raters_least {
        return false;
    }
    // One category throughout has no kappa: there is agreement, but none beyond chance to speak of.
    let Ok(kappa) = cohen_kappa(&both.first, &both.second, Weights::Quadratic) else {
        return false;
    };
    if kappa.kappa < seen.thresholds.raters_kappa {
        let names = listed(&both.names);
        let trials = counted(n, thing);
        let kappa = readable(kappa.kappa);
        findings.add(
            CHECK
                .finding(
                    format!("Over the {trials}{of} that both scored, {names} agree with a weighted kappa of {kappa} ({}).", in_force(seen.thresholds, "raters_kappa")),
                    format!("{names} scored the same {trials}{of} and often differed (weighted kappa {kappa}; 1 is full agreement, 0 what chance gives). Part of the change in your ratings may be a change in the rating. Agree on what each score looks like, rate again without seeing each other's scores, and report how far you agree."),
                )
                .at(both.places.clone(), format!("kappa {kappa}")),
        );
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Score;

    /// The second rater's scores run against the first's: 4 for 1, 3 for 2.
    fn opposed() -> Sample {
        let mut sample = Sample::sound();
        for trial in &mut sample.logbook.trials {
            if let (Some("second"), Score::Number(score)) = (trial.rater.as_deref(), &trial.score) {
                trial.score = Score::Number(5.0 - score);
            }
        }
        sample
    }

    #[test]
    fn opposed_raters_are_found_with_both_cells_of_each_trial() {
        let finding = only(opposed().found(&CHECK));
        assert_eq!(finding.places.len(), 24);
        assert!(
            finding.message.contains("coach and second"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn raters_who_agree_are_not_found() {
        let findings = Sample::sound().run(&CHECK);
        assert!(findings.found.is_empty() && findings.not_checked.is_empty());
    }

    #[test]
    fn observers_of_technique_are_looked_at_too() {
        let mut sample = Sample::sound();
        sample.thresholds.raters_least = 4.0;
        for row in &mut sample.logbook.technique {
            if row.observer.as_deref() == Some("second") {
                row.rating = row.rating.map(|rating| 4.0 - rating);
            }
        }
        assert!(only(sample.found(&CHECK)).message.contains("technique"));
    }

    #[test]
    fn too_few_trials_rated_twice_are_not_judged() {
        let mut sample = opposed();
        sample.thresholds.raters_least = 13.0;
        not_checked(&sample.run(&CHECK));
    }
}
