//! A formula whose range leaves out or adds rows to the block that it names.

use crate::checks::numbers::claimed::consequences;
use crate::checks::numbers::of_claim;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::{Claim, FormulaRange, Score};
use crate::place::Place;
use crate::wording::{counted, listed};

/// A formula whose range leaves out or adds rows to the block that it names.
pub const CHECK: Check = Check {
    id: "data.formula-range",
    weight: Weight::Error,
    title: "a formula that does not cover its block",
    explanation: Explanation {
        looks_at: "Averages, sums, counts, standard deviations and the like beside or below trials: the cells that the formula refers to, against the scored trials of the block that it stands for.",
        matters: "The result looks like the block's and is another's: it stays wrong wherever the report uses it.",
        example: "=AVERAGE(D2:D10) below eleven trials in D2:D12.",
        remedy: "Let the formula cover the block's trials and nothing else, and check what was computed from it.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for (index, claim) in seen.logbook.claims.iter().enumerate() {
        let Some(range) = &claim.formula else {
            continue;
        };
        any = true;
        report(seen, findings, index, claim, range);
    }
    if !any {
        findings.could_not(CHECK.id, "no formula over the trials was found");
    }
}

/// Whether a range leaves out scored trials of its block, or takes in cells that are none of them.
pub(in crate::checks) fn is_faulty(seen: &Seen, range: &FormulaRange) -> bool {
    !range.extra.is_empty() || !left_out(seen, range).is_empty()
}

/// The cells of the trials that a range leaves out. One without a score changes nothing by being left out.
fn left_out(seen: &Seen, range: &FormulaRange) -> Vec<Place> {
    range
        .left_out
        .iter()
        .filter_map(|row| seen.logbook.trials.get(*row))
        .filter(|trial| matches!(trial.score, Score::Number(_)))
        .map(|trial| trial.place.clone())
        .collect()
}

fn report(seen: &Seen, findings: &mut Findings, index: usize, claim: &Claim, range: &FormulaRange) {
    let left_out = left_out(seen, range);
    let extra: Vec<Place> = range.extra.iter().map(|cell| cell.place.clone()).collect();
    if left_out.is_empty() && extra.is_empty() {
        return;
    }
    let mut faults = Vec::new();
    if !left_out.is_empty() {
        faults.push(format!(
            "leaves out {} of the block",
            counted(left_out.len(), "trial")
        ));
    }
    if !extra.is_empty() {
        faults.push(format!(
            "takes in {} that are no trials of it",
            counted(extra.len(), "cell")
        ));
    }
    let says = format!(
        "The formula ={} in {} {}",
        range.formula,
        claim.place,
        listed(&faults)
    );
    let mut places = vec![claim.place.clone()];
    places.extend(consequences(seen, index));
    places.extend(left_out);
    places.extend(extra);
    let mut finding = CHECK
        .finding(
            format!("{says}."),
            format!("{says}, so its result is not that of all the trials. Correct the range, then whatever in your report was computed from it."),
        )
        .at(places, format!("={}", range.formula));
    of_claim(seen, &mut finding, Some(index));
    findings.add(finding);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};
    use crate::logbook::model::Sourced;

    fn with_range(left_out: Vec<usize>, extra: Vec<Sourced<f64>>) -> Sample {
        let mut sample = Sample::sound();
        let taken = (0..10).filter(|row| !left_out.contains(row)).collect();
        sample.claim("mean", "1.7", 1.7);
        sample.logbook.claims[0].formula = Some(FormulaRange {
            formula: "AVERAGE(F2:F10)".into(),
            left_out,
            extra,
            taken,
        });
        sample
    }

    #[test]
    fn a_range_that_stops_early_names_the_trials_that_it_leaves_out() {
        let sample = with_range(vec![9], Vec::new());
        let finding = only(sample.found(&CHECK));
        let left_out = sample.logbook.trials[9].place.clone();
        assert_eq!(
            finding.places,
            [sample.logbook.claims[0].place.clone(), left_out]
        );
        assert!(finding.message.contains("leaves out 1 trial"));
        assert_eq!(finding.claimed.as_deref(), Some("1.7"));
    }

    #[test]
    fn a_range_that_takes_in_a_total_is_found() {
        let total = Sourced {
            value: 17.0,
            place: Place::cell("P07.xlsx".into(), "Trials".into(), 20, 5),
        };
        assert!(
            only(with_range(Vec::new(), vec![total]).found(&CHECK))
                .message
                .contains("takes in 1 cell")
        );
    }

    #[test]
    fn leaving_out_an_empty_cell_changes_nothing() {
        let mut sample = with_range(vec![9], Vec::new());
        sample.logbook.trials[9].score = Score::Missing;
        assert_eq!(sample.found(&CHECK), Vec::new());
        assert_eq!(with_range(Vec::new(), Vec::new()).found(&CHECK), Vec::new());
    }

    #[test]
    fn without_formulas_it_says_so() {
        not_checked(&Sample::sound().run(&CHECK));
    }
}
