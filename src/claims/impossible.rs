//! Whether any scores of the measure's scale and number can have a claimed mean or standard deviation.

use super::material::{Material, SessionMaterial};
use crate::logbook::Logbook;
use crate::logbook::model::{Claim, ClaimMeasure};
use crate::number::{Bound, readable};
use crate::phase::BlockName;
use crate::statistic::Statistic;
use crate::stats::whole_number::{AtDecimals, Divisor, Rounding, SteppedScale};

/// Whether the claim is a mean or sd that no scores of the measure's scale and the block's number can have: by the recorded number, else by
/// the number claimed for that block. False wherever it can't be said.
pub fn is_impossible(claim: &Claim, material: &Material<'_>) -> bool {
    decided(claim, material).unwrap_or(false)
}

fn decided(claim: &Claim, material: &Material<'_>) -> Option<bool> {
    let statistic = claim
        .statistic
        .filter(|statistic| matches!(statistic, Statistic::Mean | Statistic::Sd))?;
    let stated = claim
        .value
        .filter(|stated| stated.bound == Bound::Exactly)?;
    let ClaimMeasure::Known(measure) = claim.measure else {
        return None;
    };
    let block = claim.phase?;
    let scale = material.scale(measure)?;
    let step = scale.step?;
    let sessions: Vec<&SessionMaterial> = material
        .sessions(measure, block)
        .map(|(_, session)| session)
        .collect();
    let scored = sessions
        .iter()
        .flat_map(|session| &session.trials)
        .filter(|trial| trial.score.is_some());
    let (mut recorded, mut raters) = (0_usize, 1_u32);
    for trial in scored {
        if trial.off_step {
            // Scores between the steps have means between the steps.
            return None;
        }
        recorded += 1;
        let ratings = u32::try_from(trial.ratings.len()).ok()?.max(1);
        raters = least_common_multiple(raters, ratings)?;
    }
    let n = if recorded > 0 {
        recorded
    } else {
        claimed_n(material.logbook, measure, block)?
    };
    let scale = SteppedScale::new(scale.lowest, scale.highest, step, raters).ok()?;
    let at = AtDecimals {
        value: stated.value,
        decimals: stated.decimals,
    };
    let possible = if statistic == Statistic::Mean {
        scale.mean_is_possible(n, at, Rounding::Either)
    } else {
        scale.sd_is_possible(n, None, at, Divisor::NMinusOne, Rounding::Either)
    };
    possible.ok().map(|possible| !possible)
}

/// The number of trials that the report claims for a block.
fn claimed_n(logbook: &Logbook, measure: usize, block: BlockName) -> Option<usize> {
    let n = logbook
        .claims
        .iter()
        .find(|claim| {
            claim.statistic == Some(Statistic::N)
                && claim.measure == ClaimMeasure::Known(measure)
                && claim.phase == Some(block)
        })?
        .value?
        .value;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "whole and between 1 and 100,000"
    )]
    (n.fract() == 0.0 && (1.0..=100_000.0).contains(&n)).then_some(n as usize)
}

fn least_common_multiple(a: u32, b: u32) -> Option<u32> {
    let (mut x, mut y) = (a, b);
    while y > 0 {
        (x, y) = (y, x % y);
    }
    a.checked_div(x)?.checked_mul(b)
}

/// What is said of an impossible number: `no 10 scores on this scale (steps of 1) have that mean; the nearest are 2.9 and 3`.
pub fn about(claim: &Claim, logbook: &Logbook, scores: usize) -> String {
    let what = if claim.statistic == Some(Statistic::Sd) {
        "that standard deviation"
    } else {
        "that mean"
    };
    let measure = match claim.measure {
        ClaimMeasure::Known(measure) => logbook.measures.get(measure),
        _ => None,
    };
    let recorded = (scores > 0).then_some(scores);
    let n = recorded.or_else(|| {
        let ClaimMeasure::Known(measure) = claim.measure else {
            return None;
        };
        claimed_n(logbook, measure, claim.phase?)
    });
    let (Some(measure), Some(n)) = (measure, n) else {
        return format!("no scores of this scale have {what}");
    };
    let step = measure.step.map_or_else(String::new, |step| {
        format!(" (steps of {})", readable(step))
    });
    let nearest = measure
        .step
        .filter(|_| claim.statistic == Some(Statistic::Mean) && !has_raters(claim, logbook))
        .and_then(|step| SteppedScale::new(measure.lowest, measure.highest, step, 1).ok())
        .and_then(|scale| {
            let stated = claim.value.as_ref()?;
            let found = scale.neighbouring_means(n, stated.value).ok()?;
            Some(match (found.below?, found.above?) {
                (below, above) if below < above => {
                    format!(
                        "; the nearest are {} and {}",
                        readable(below),
                        readable(above)
                    )
                }
                _ => String::new(),
            })
        })
        .unwrap_or_default();
    format!("no {n} scores on this scale{step} have {what}{nearest}")
}

/// Whether ratings of one trial may have been averaged, so that means lie between whole steps.
fn has_raters(claim: &Claim, logbook: &Logbook) -> bool {
    let mut raters = logbook
        .trials
        .iter()
        .filter(|trial| claim.measure == ClaimMeasure::Known(trial.measure))
        .map(|trial| &trial.rater);
    let first = raters.next();
    raters.any(|rater| Some(rater) != first)
}
