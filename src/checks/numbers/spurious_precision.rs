//! More digits than the scale and the number of trials carry.

use crate::checks::wording::in_force;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::model::{Claim, ClaimMeasure, ClaimOrigin, Score};
use crate::number::{EXACT, Stated};
use crate::phase::BlockName;
use crate::statistic::Statistic;
use crate::stats::summary;
use crate::wording::listed;

/// More digits than the scale and the number of trials carry.
pub const CHECK: Check = Check {
    id: "numbers.spurious-precision",
    weight: Weight::Query,
    title: "more digits than the data carry",
    explanation: Explanation {
        looks_at: "The decimals of means, spreads, errors and changes in the Claims table, against what the data carry: the step of the scale over the number of trials, or for measured scores one decimal more than was recorded.",
        matters: "Digits that the data can't know look like accuracy and are none; a reader can't see which of them count.",
        example: "A mean of 2.33333 from twelve ratings in whole points.",
        remedy: "Round once, at the end, to one decimal more than the scores have, or two for a mean of ratings.",
        source: "common practice",
    },
    thresholds: &["spurious_digits"],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    let mut any = false;
    for index in 0..seen.logbook.measures.len() {
        let mut stated = Vec::new();
        let mut places = Vec::new();
        let mut carried_most = 0;
        for claim in &seen.logbook.claims {
            // A cell beside the trials shows what its formula gives; nobody chose its digits.
            if claim.measure != ClaimMeasure::Known(index)
                || claim.origin == ClaimOrigin::BesideTrials
            {
                continue;
            }
            let (Some(value), Some(carried)) = (claim.value, carried(seen, index, claim)) else {
                continue;
            };
            any = true;
            let beyond = i32::from(value.decimals) - carried;
            if f64::from(beyond) >= seen.thresholds.spurious_digits {
                stated.push(format!(
                    "{} {}",
                    claim.statistic_text.trim(),
                    claim.value_text.trim()
                ));
                places.push(claim.place.clone());
                carried_most = carried_most.max(carried);
            }
        }
        if stated.is_empty() {
            continue;
        }
        let list = listed(&stated);
        let decimals = if carried_most == 1 {
            "1 decimal".to_owned()
        } else {
            format!("{carried_most} decimals")
        };
        findings.add(
            CHECK
                .finding(
                    format!("{list}: the scores and their number carry {decimals} at most here ({}).", in_force(seen.thresholds, "spurious_digits")),
                    format!("You report {list}. Your scores and their number carry {decimals} at most; the rest comes from the division. Work with full precision and round once, at the end, so that every digit that you show means something."),
                )
                .at(places, list),
        );
    }
    if !any {
        findings.could_not(
            CHECK.id,
            "no claim of a mean, spread or change whose precision can be judged",
        );
    }
}

/// The decimals that a claim's data carry; none for statistics that are not in the measure's unit or a percentage of it.
fn carried(seen: &Seen, measure: usize, claim: &Claim) -> Option<i32> {
    let statistic = claim.statistic?;
    let in_unit = matches!(
        statistic,
        Statistic::Mean
            | Statistic::Median
            | Statistic::Sd
            | Statistic::Variance
            | Statistic::Se
            | Statistic::ConstantError
            | Statistic::AbsoluteError
            | Statistic::VariableError
            | Statistic::TotalError
            | Statistic::Change
    );
    let in_percent = matches!(
        statistic,
        Statistic::PercentChange | Statistic::PercentImprovement
    );
    if !in_unit && !in_percent {
        return None;
    }
    let scores = |name: BlockName| -> Vec<f64> {
        let record = seen.record.measures.get(measure);
        let sessions = record
            .map(|record| record.sessions(name))
            .unwrap_or_default();
        sessions
            .iter()
            .flat_map(|session| session.scores())
            .collect()
    };
    let later = scores(claim.phase?);
    let earlier = claim.versus.map(scores).unwrap_or_default();
    if later.is_empty() || (in_percent && earlier.is_empty()) {
        return None;
    }
    let least = if earlier.is_empty() {
        later.len()
    } else {
        later.len().min(earlier.len())
    };
    let grain = match seen
        .logbook
        .measures
        .get(measure)?
        .step
        .filter(|step| *step > 0.0)
    {
        Some(step) => step / least as f64,
        None => 10_f64.powi(-(recorded_decimals(seen, measure)? + 1)),
    };
    let grain = if in_percent {
        100.0 * grain
            / summary::mean(&earlier)
                .ok()
                .map(f64::abs)
                .filter(|mean| *mean > 0.0)?
    } else {
        grain
    };
    // A grain of 0.1 is carried by one decimal, of 0.083 by two.
    (0..16).find(|decimals| 10_f64.powi(-decimals) <= grain * (1.0 + EXACT))
}

/// The most decimals among a measure's recorded scores.
fn recorded_decimals(seen: &Seen, measure: usize) -> Option<i32> {
    let trials = seen
        .logbook
        .trials
        .iter()
        .filter(|trial| trial.measure == measure);
    trials
        .filter_map(|trial| match trial.score {
            Score::Number(score) => Some(i32::from(Stated::from_stored(score).decimals)),
            _ => None,
        })
        .max()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, not_checked, only};

    #[test]
    fn five_decimals_of_ten_whole_points_are_found_and_three_are_not() {
        let mut sample = Sample::sound();
        sample.claim("mean", "3.000", 3.0);
        sample.logbook.claims[0].value = Some(Stated::new(3.0, 3));
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.logbook.claims[0].value = Some(Stated::new(3.0, 4));
        let finding = only(sample.found(&CHECK));
        assert!(
            finding.message.contains("carry 1 decimal at most"),
            "{}",
            finding.message
        );
    }

    #[test]
    fn measured_scores_carry_one_decimal_more_than_was_recorded() {
        let mut sample = Sample::sound();
        sample.logbook.measures[0].step = None;
        sample.claim("sd", "0.667", 0.667);
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.claim("sd", "0.6667", 0.6667);
        assert_eq!(
            only(sample.found(&CHECK)).places,
            [sample.logbook.claims[1].place.clone()]
        );
    }

    #[test]
    fn averages_beside_the_trials_are_not_looked_at() {
        let mut sample = Sample::sound();
        sample.claim("mean", "3.000000", 3.0);
        sample.logbook.claims[0].value = Some(Stated::new(3.0, 6));
        sample.logbook.claims[0].origin = ClaimOrigin::BesideTrials;
        not_checked(&sample.run(&CHECK));
    }
}
