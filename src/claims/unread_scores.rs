//! Claims that would be right had scores counted that could not be read: neither a slip nor an error, as far as anybody can tell.

use super::evaluate::Evaluator;
use super::material::Material;
use super::recompute::plainly;
use super::verdict::{RecomputedClaim, Verdict};
use crate::facts::Record;
use crate::facts::record::Why;
use crate::logbook::Logbook;
use crate::logbook::model::{Claim, Score};
use crate::phase::{BlockName, Phase};
use crate::statistic::{Shape, Statistic};

/// Scores tried in the place of one that could not be read.
const TRIED: u32 = 32;

/// Larger logbooks are left as they are: each score tried is the whole of it, sorted again.
const MOST_TRIALS: usize = 5_000;

/// Marks the wrong claims that a score within the measure's scale (where it has no ends, within the scores recorded) would make right, were
/// it in the place of those that could not be read. Claims that a slip other than one of copying gives are left to that slip.
pub(super) fn mark(logbook: &Logbook, record: &Record, recomputed: &mut [RecomputedClaim]) {
    let unreadable: Vec<usize> = record
        .set_aside
        .iter()
        .filter(|row| row.why == Why::Unreadable)
        .map(|row| row.row)
        .collect();
    let open: Vec<usize> = (0..recomputed.len())
        .filter(|at| recomputed.get(*at).is_some_and(may_be_open))
        .collect();
    if unreadable.is_empty() || open.is_empty() || logbook.trials.len() > MOST_TRIALS {
        return;
    }
    for measure in 0..logbook.measures.len() {
        let rows: Vec<usize> = unreadable
            .iter()
            .copied()
            .filter(|row| {
                logbook
                    .trials
                    .get(*row)
                    .is_some_and(|trial| trial.measure == measure)
            })
            .collect();
        mark_measure(logbook, measure, &rows, &open, recomputed);
    }
}

/// Wrong, and nothing but a slip of copying gives it.
fn may_be_open(claim: &RecomputedClaim) -> bool {
    claim.verdict == Verdict::Differs
        && claim
            .explanations
            .iter()
            .all(|by| by.slips.iter().any(|slip| slip.is_of_copying()))
}

fn mark_measure(
    logbook: &Logbook,
    measure: usize,
    rows: &[usize],
    open: &[usize],
    recomputed: &mut [RecomputedClaim],
) {
    let Some((lowest, highest)) = range(logbook, measure) else {
        return;
    };
    if rows.is_empty() {
        return;
    }
    // The value of each open claim with the last score tried.
    let mut before: Vec<Option<f64>> = vec![None; open.len()];
    let mut with = logbook.clone();
    for step in 0..=TRIED {
        let score = lowest + (highest - lowest) * f64::from(step) / f64::from(TRIED);
        for row in rows {
            if let Some(trial) = with.trials.get_mut(*row) {
                trial.score = Score::Number(score);
            }
        }
        let record = Record::new(&with);
        let material = Material::new(&with, &record);
        let mut evaluator = Evaluator::new(&material);
        for (at, before) in open.iter().zip(&mut before) {
            let Some(result) = recomputed.get_mut(*at) else {
                continue;
            };
            let Some(claim) = logbook.claims.get(result.claim) else {
                continue;
            };
            let (tried, _) = plainly(result.claim, claim, &mut evaluator);
            let value = tried.value.ok();
            let passed = claim
                .statistic
                .is_some_and(moves_smoothly)
                .then_some(claim.value.as_ref())
                .flatten()
                .zip(before.zip(value))
                .is_some_and(|(stated, (a, b))| (a - stated.value) * (b - stated.value) <= 0.0);
            if tried.verdict == Verdict::Agrees || passed {
                result.unread = rows_of(logbook, claim, rows).max(1);
                result.explanations.clear();
                result.confidence = None;
            }
            *before = value;
        }
    }
}

/// How many of these rows belong to the blocks of which a claim speaks.
fn rows_of(logbook: &Logbook, claim: &Claim, rows: &[usize]) -> usize {
    let phase_of = |block: BlockName| match block {
        BlockName::Phase(phase) => phase,
        BlockName::PracticeSession(_) => Phase::PRACTICE,
    };
    let later = claim.phase.map_or(Phase::POST, phase_of);
    let compares = claim
        .statistic
        .is_some_and(|statistic| statistic.shape() != Shape::OneBlock);
    let earlier = claim
        .versus
        .map(phase_of)
        .or(compares.then_some(Phase::PRE));
    rows.iter()
        .filter_map(|row| logbook.trials.get(*row)?.phase)
        .filter(|phase| *phase == later || Some(*phase) == earlier)
        .count()
}

/// The ends of a measure's scale; where it has none, the extremes of the scores recorded.
fn range(logbook: &Logbook, measure: usize) -> Option<(f64, f64)> {
    let scale = logbook.measures.get(measure)?;
    let scores = || {
        logbook
            .trials
            .iter()
            .filter(|trial| trial.measure == measure)
            .filter_map(|trial| match trial.score {
                Score::Number(score) => Some(score),
                _ => None,
            })
    };
    let lowest = scale.lowest.or_else(|| scores().reduce(f64::min))?;
    let highest = scale.highest.or_else(|| scores().reduce(f64::max))?;
    (lowest < highest).then_some((lowest, highest))
}

/// Whether a statistic passes through everything between two of its values as one score moves.
fn moves_smoothly(statistic: Statistic) -> bool {
    matches!(
        statistic,
        Statistic::Sum
            | Statistic::Mean
            | Statistic::Median
            | Statistic::Sd
            | Statistic::Variance
            | Statistic::Se
            | Statistic::Cv
            | Statistic::Change
            | Statistic::PercentChange
            | Statistic::PercentImprovement
            | Statistic::D
            | Statistic::G
            | Statistic::GlassDelta
    )
}

#[cfg(test)]
mod tests {
    use super::super::testing::Made;
    use super::*;

    /// Nine scores and “off the mat”: with 22 in its place, which a pair may well have counted, ten scores have the mean 24.21.
    fn with_unreadable(typed: &str) -> RecomputedClaim {
        let mut made = Made::times();
        let scores = [20.1, 25.3, 31.4, 18.9, 22.0, 27.7, 24.5, 26.2, 24.0];
        for (number, score) in (1..).zip(scores) {
            made.row(0, "retention", 1, number).score = Score::Number(score);
        }
        made.row(0, "retention", 1, 10).score = Score::Unreadable("off the mat".into());
        // One of practice is none of the block of which the claim speaks.
        made.row(0, "practice", 2, 1).score = Score::Unreadable("?".into());
        made.claims("mean", "retention", typed).last()
    }

    #[test]
    fn a_mean_that_counts_the_unreadable_score_is_no_slip() {
        let open = with_unreadable("24.21");
        assert_eq!((open.verdict, open.unread), (Verdict::Differs, 1));
        assert!(open.explanations.is_empty());
        // No time between the shortest and the longest gives it.
        assert_eq!(with_unreadable("44.21").unread, 0);
        // The nine that could be read have the mean 24.46.
        assert_eq!(with_unreadable("24.46").verdict, Verdict::Agrees);
    }
}
