//! Claims that speak of an improvement since the pre-test, and what the trials give for the same comparison.

use crate::checks::Seen;
use crate::checks::seen::TestBlock;
use crate::logbook::model::{Better, Claim, ClaimMeasure, Measure};
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::place::Place;
use crate::statistic::Statistic;
use crate::stats::{Undefined, summary, t_test};

/// The claims of one measure and comparison that speak of an improvement.
pub(super) struct Improvement<'a> {
    /// Indices into the logbook's claims, in reading order; never empty.
    pub claims: Vec<usize>,
    pub before: TestBlock<'a>,
    pub after: TestBlock<'a>,
}

/// Which claims are meant.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Claimed {
    /// Changes and effect sizes.
    Changes,
    /// Shares of the gain too.
    ChangesAndGains,
}

/// Every measure and comparison of which a claim speaks of an improvement, and whose two blocks both have scores.
pub(super) fn improvements<'a>(seen: &Seen<'a>, which: Claimed) -> Vec<Improvement<'a>> {
    let mut found: Vec<Improvement<'a>> = Vec::new();
    for (index, claim) in seen.logbook.claims.iter().enumerate() {
        let Some((measure, phase)) = improvement(seen, claim, which) else {
            continue;
        };
        let (Some(before), Some(after)) =
            (seen.block(measure, Phase::PRE), seen.block(measure, phase))
        else {
            continue;
        };
        if before.n() == 0 || after.n() == 0 {
            continue;
        }
        let same = |known: &&mut Improvement| {
            known.before.index == measure && known.after.block.phase == phase
        };
        match found.iter_mut().find(same) {
            Some(known) => known.claims.push(index),
            None => found.push(Improvement {
                claims: vec![index],
                before,
                after,
            }),
        }
    }
    found
}

/// The measure and later test of a claim, where its stated value speaks for an improvement against the pre-test.
fn improvement(seen: &Seen, claim: &Claim, which: Claimed) -> Option<(usize, Phase)> {
    let ClaimMeasure::Known(index) = claim.measure else {
        return None;
    };
    let measure = seen.logbook.measures.get(index)?;
    let stated = claim.value?.value;
    let gain =
        |kind| (which == Claimed::ChangesAndGains).then_some((Phase::first(kind), stated > 0.0));
    let (phase, better) = match claim.statistic? {
        Statistic::RetainedGain => gain(PhaseKind::Retention)?,
        Statistic::TransferredGain => gain(PhaseKind::Transfer)?,
        statistic => {
            let (Some(BlockName::Phase(later)), Some(BlockName::Phase(Phase::PRE))) =
                (claim.phase, claim.versus)
            else {
                return None;
            };
            let later_test = matches!(
                later.kind,
                PhaseKind::Post | PhaseKind::Retention | PhaseKind::Transfer
            );
            (
                later_test.then_some(later)?,
                speaks_for(statistic, stated, measure)?,
            )
        }
    };
    better.then_some((index, phase))
}

/// Whether a stated value is on the better side; none for statistics that have no better side.
fn speaks_for(statistic: Statistic, stated: f64, measure: &Measure) -> Option<bool> {
    match statistic {
        Statistic::Change
        | Statistic::PercentChange
        | Statistic::D
        | Statistic::G
        | Statistic::GlassDelta => {
            match measure.better {
                Better::Higher => Some(stated > 0.0),
                Better::Lower => Some(stated < 0.0),
                // Later minus earlier says nothing of the distance from a target.
                Better::Target => None,
            }
        }
        Statistic::PercentImprovement | Statistic::Tau => Some(stated > 0.0),
        Statistic::Nap => Some(stated > 0.5),
        _ => None,
    }
}

/// What the trials give for a comparison, turned so that positive is better.
pub(super) struct Change {
    pub before: f64,
    pub after: f64,
    /// Difference of means, positive where it is better.
    pub better_by: f64,
    /// The Welch interval of it at the level in force; why there is none.
    pub interval: Result<(f64, f64), Undefined>,
}

impl Change {
    /// Of two blocks of one measure; none where one has no score.
    pub fn of(seen: &Seen, before: TestBlock, after: TestBlock) -> Option<Self> {
        let measure = before.measure;
        let comparable = |test: TestBlock| -> Vec<f64> {
            test.block
                .scores()
                .into_iter()
                .map(|score| measure.comparable(score))
                .collect()
        };
        let (earlier, later) = (comparable(before), comparable(after));
        let (mean_before, mean_after) =
            (summary::mean(&earlier).ok()?, summary::mean(&later).ok()?);
        let sign = if measure.higher_is_better() {
            1.0
        } else {
            -1.0
        };
        let interval = t_test::welch(&earlier, &later, seen.thresholds.beyond_noise).map(|test| {
            let (low, high) = (sign * test.interval.low, sign * test.interval.high);
            (low.min(high), low.max(high))
        });
        Some(Self {
            before: mean_before,
            after: mean_after,
            better_by: sign * (mean_after - mean_before),
            interval,
        })
    }

    /// Whether the interval lies on the better side; none where there is no interval.
    pub fn is_beyond_noise(&self) -> Option<bool> {
        self.interval.as_ref().ok().map(|(low, _)| *low > 0.0)
    }
}

impl Improvement<'_> {
    /// The claims' cells, the first one's first, then the later block's and the pre-test's.
    pub fn places(&self, seen: &Seen) -> Vec<Place> {
        let claims = self
            .claims
            .iter()
            .filter_map(|index| seen.logbook.claims.get(*index));
        let mut places: Vec<Place> = claims.map(|claim| claim.place.clone()).collect();
        places.extend(seen.cells(self.after.block));
        places.extend(seen.cells(self.before.block));
        places
    }

    /// What the claims state: `change 0.4 and d 0.5`.
    pub fn stated(&self, seen: &Seen) -> String {
        let claims = self
            .claims
            .iter()
            .filter_map(|index| seen.logbook.claims.get(*index));
        let stated: Vec<String> = claims
            .map(|claim| {
                format!(
                    "{} {}",
                    claim.statistic_text.trim(),
                    claim.value_text.trim()
                )
            })
            .collect();
        crate::wording::listed(&stated)
    }

    /// A sentence to add where each block is one day: days differ too, which no interval of trials holds.
    pub fn one_day(&self) -> &'static str {
        let one = |test: TestBlock| test.block.sessions.len() == 1;
        if one(self.before) && one(self.after) {
            " Each test was held on one day; days differ too, and that is not in this interval."
        } else {
            ""
        }
    }
}

/// `of distance` and the like are left to the caller; this is the pair of tests: `from the pre-test to the post-test`.
pub(super) fn from_to(after: TestBlock) -> String {
    format!(
        "from the pre-test to {}",
        crate::checks::wording::the_phase(after.block.phase)
    )
}
