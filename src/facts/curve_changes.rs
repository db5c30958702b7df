//! The largest dip and rise of a practice curve, and what learners without anything sudden about them show by chance.

use std::borrow::Cow;

use super::curve::{Curve, TOO_FEW};
use super::subject::{NOT_SIMULATED, Subject};
use super::value::Reason;
use super::writer::{IntoReason, Writer};
use crate::logbook::model::{Better, Measure};
use crate::stats::Undefined;
use crate::stats::smooth_learner::{
    Chances, Change, Changes, ScoreScale, chances, changes, sudden_rise,
};

/// The largest dip and rise, the spread about the rise, and how often a smooth learner shows as much.
pub(super) fn record_changes(writer: &mut Writer<'_>, curve: &Curve, subject: &Subject<'_>) {
    let sessions: Vec<&[f64]> = curve.comparable.iter().map(Vec::as_slice).collect();
    let found = match changes(&sessions, subject.direction()) {
        Ok(found) => found,
        Err(undefined) => {
            let reason = match undefined {
                Undefined::TooFew { .. } => Cow::Borrowed(TOO_FEW),
                other => other.into_reason(),
            };
            for fact in CHANGES {
                writer.absent(fact, reason.clone());
            }
            return;
        }
    };
    let dip = found.dip.ok_or(NO_DIP);
    let rise = found.rise.ok_or(NO_RISE);
    let number_of = |change: Change| {
        let number = curve.numbers.get(change.session).copied().flatten();
        number.map(f64::from).ok_or("the session has no number")
    };
    writer.number("dip", dip.map(|dip| dip.size));
    writer.number("dip_session", dip.and_then(number_of));
    writer.number("rise", rise.map(|rise| rise.size));
    writer.number("rise_session", rise.and_then(number_of));
    let variability = rise
        .map_err(IntoReason::into_reason)
        .and_then(|_| found.variability.map_err(IntoReason::into_reason));
    writer.number(
        "variability_before",
        variability.clone().map(|spread| spread.before),
    );
    writer.number(
        "variability_after",
        variability.clone().map(|spread| spread.after),
    );
    let not_simulated = if !subject.settings.simulate {
        Some(NOT_SIMULATED)
    } else if !subject.is_primary {
        Some("simulated for the primary measure only")
    } else {
        None
    };
    if let Some(reason) = not_simulated {
        for fact in ["dip_p", "rise_p", "sudden_p", "variability_p"] {
            writer.absent(fact, reason);
        }
        return;
    }
    record_chances(writer, &sessions, &found, subject);
}

/// How often learners without anything sudden about them show as much.
fn record_chances(
    writer: &mut Writer<'_>,
    sessions: &[&[f64]],
    found: &Changes,
    subject: &Subject<'_>,
) {
    let direction = subject.direction();
    let scale = score_scale(subject.measure);
    let stream = |fact| subject.stream("curve", fact);
    let found_chances = chances(
        sessions,
        direction,
        scale,
        LEARNERS,
        &mut stream("smooth_learner"),
    );
    let chance = |of: fn(&Chances) -> Result<f64, Undefined>| {
        found_chances
            .as_ref()
            .map_err(|undefined| *undefined)
            .and_then(of)
            .map_err(IntoReason::into_reason)
    };
    let unless_none = |p: Result<f64, Reason>, change: Option<Change>, none: &'static str| {
        if change.is_some() {
            p
        } else {
            Err(none.into_reason())
        }
    };
    writer.number("dip_p", unless_none(chance(|of| of.dip), found.dip, NO_DIP));
    writer.number(
        "rise_p",
        unless_none(chance(|of| of.rise), found.rise, NO_RISE),
    );
    let sudden = sudden_rise(
        sessions,
        direction,
        scale,
        STEPLESS_LEARNERS,
        &mut stream("sudden_rise"),
    );
    writer.number(
        "sudden_p",
        unless_none(sudden.map_err(IntoReason::into_reason), found.rise, NO_RISE),
    );
    writer.number(
        "variability_p",
        unless_none(chance(|of| of.variability), found.rise, NO_RISE),
    );
}

/// Facts of the largest changes.
const CHANGES: [&str; 10] = [
    "dip",
    "dip_session",
    "dip_p",
    "rise",
    "rise_session",
    "rise_p",
    "sudden_p",
    "variability_before",
    "variability_after",
    "variability_p",
];
const NO_DIP: &str = "no session was worse than the one before";
const NO_RISE: &str = "no session was better than the one before";
/// Smooth learners simulated for a practice curve.
const LEARNERS: usize = 2_000;
/// Learners without a step: a p of 0.05 is known to within 0.007, at half the cost.
const STEPLESS_LEARNERS: usize = 1_000;

/// Which comparable scores exist: distances from the target, where nearest to it is best, end at 0.
fn score_scale(measure: &Measure) -> ScoreScale {
    let (lowest, highest) = match measure.better {
        Better::Higher | Better::Lower => (measure.lowest, measure.highest),
        Better::Target => {
            let farthest = measure
                .lowest
                .zip(measure.highest)
                .map(|(low, high)| measure.comparable(low).max(measure.comparable(high)));
            (Some(0.0), farthest)
        }
    };
    ScoreScale {
        lowest,
        highest,
        step: measure.step,
    }
}

#[cfg(test)]
mod tests {
    use crate::facts::sample::{logbook, measure, practice};
    use crate::facts::{FactSettings, Facts, Record, compute};
    use crate::logbook::model::{Measure, MeasureKind};

    /// Sessions numbered from 2, since the pre-test was session 1, each with two trials a point apart about these means.
    fn facts_of(measure: Measure, means: &[f64], simulate: bool) -> Facts {
        let rows = (2..)
            .zip(means)
            .flat_map(|(session, mean)| practice(session, 2, &[mean - 0.5, mean + 0.5]));
        let logbook = logbook(vec![measure], rows.collect());
        let settings = FactSettings {
            simulate,
            ..FactSettings::default()
        };
        compute("P1", &logbook, &Record::new(&logbook), &settings)
    }

    #[test]
    fn a_steady_learner_has_no_dip_and_no_chance_of_one() {
        let means = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0];
        let facts = facts_of(Measure::undescribed(), &means, true);
        for fact in ["curve.dip", "curve.dip_session", "curve.dip_p"] {
            assert_eq!(
                facts.why_absent(fact),
                Some("no session was worse than the one before"),
                "{fact}"
            );
        }
        assert_eq!(facts.number("curve.rise"), Some(1.0));
    }

    #[test]
    fn a_fall_is_the_rise_where_lower_is_better() {
        let means = [9.0, 8.0, 7.0, 3.0, 5.0, 4.0];
        let facts = facts_of(measure("distance", MeasureKind::Error), &means, false);
        assert_eq!(facts.number("curve.rise"), Some(4.0));
        assert_eq!(facts.number("curve.rise_session"), Some(5.0));
        assert_eq!(facts.number("curve.dip"), Some(2.0));
        assert_eq!(facts.number("curve.dip_session"), Some(6.0));
        assert_eq!(
            facts.why_absent("curve.rise_p"),
            Some("was not simulated in this run")
        );
    }

    #[test]
    fn distances_rise_and_dip_where_nearest_to_the_target_is_best() {
        // Distances from 0: 6, 5, 4, 1, 3, 2.
        let means = [-6.0, 5.0, -4.0, 1.0, 3.0, -2.0];
        let facts = facts_of(measure("timing", MeasureKind::SignedError), &means, false);
        assert_eq!(facts.number("curve.rise"), Some(3.0));
        assert_eq!(facts.number("curve.rise_session"), Some(5.0));
        assert_eq!(facts.number("curve.dip"), Some(2.0));
    }
}
