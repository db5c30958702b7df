//! One test: the statistics of its block, its conditions and its day.

use std::borrow::Cow;

use super::block_summary::BlockSummary;
use super::calendar::{days_between, first_day};
use super::catalogue::Entry;
use super::conditions::Conditions;
use super::record::Block;
use super::subject::Subject;
use super::value::{Facts, Reason};
use super::writer::{IntoReason, Writer, namespace_of};
use crate::logbook::model::{Better, Measure, MeasureKind};
use crate::number::{EXACT, close};
use crate::stats::summary;

const COMMON: &str = "common practice";
const ERRORS: &str = "Schutz & Roy 1973";
const RADIAL: &str = "Hancock, Butler & Fischman 1995";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number("n", "trials", "Trials whose score counts.", COMMON),
    Entry::number(
        "missing",
        "trials",
        "Recorded trials without a score that counts.",
        COMMON,
    ),
    Entry::number(
        "sessions",
        "sessions",
        "Sessions over which the test was held.",
        COMMON,
    ),
    Entry::number("mean", "score", "Mean of the scores.", COMMON),
    Entry::number("median", "score", "Median of the scores.", COMMON),
    Entry::number(
        "sd",
        "score",
        "Sample standard deviation of the scores, n − 1 in the denominator; needs two.",
        COMMON,
    ),
    Entry::number("minimum", "score", "Smallest score.", COMMON),
    Entry::number("maximum", "score", "Largest score.", COMMON),
    Entry::number(
        "level",
        "share",
        "Where the mean lies on the scale: 0 the worst end, 1 the best. Absent for open scales and where nearest to a target is best.",
        COMMON,
    ),
    Entry::number(
        "cv",
        "%",
        "Coefficient of variation, 100 times the standard deviation over the mean. Only where zero means none of it: counts, unsigned errors and quantities, none of them negative.",
        COMMON,
    ),
    Entry::number(
        "success_rate",
        "%",
        "Share of trials that succeeded, 0 to 100: scores of 1 for kind success, else scores at or above the target, at or below it where lower is better.",
        COMMON,
    ),
    Entry::number(
        "ce",
        "score",
        "Constant error: mean of the scores less the target. Absent for unsigned errors.",
        ERRORS,
    ),
    Entry::number(
        "ae",
        "score",
        "Absolute error: mean distance of the scores from the target.",
        ERRORS,
    ),
    Entry::number(
        "ve",
        "score",
        "Variable error: spread of the scores about their own mean, n in the denominator. Absent for unsigned errors.",
        ERRORS,
    ),
    Entry::number(
        "rmse",
        "score",
        "Total error: root of the mean squared distance of the scores from the target.",
        ERRORS,
    ),
    Entry::number(
        "mre",
        "length",
        "Mean radial error: mean distance of the landing points from the target.",
        RADIAL,
    ),
    Entry::number(
        "sre",
        "length",
        "Centroid error: distance of the landing points' centroid from the target.",
        RADIAL,
    ),
    Entry::number(
        "bve",
        "length",
        "Bivariate variable error: spread of the landing points about their centroid, n in the denominator.",
        RADIAL,
    ),
    Entry::text(
        "condition",
        "The condition recorded for the test's trials; several are separated by semicolons, in the order in which they appear.",
        "the logbook's Trials table",
    ),
    Entry::date(
        "date",
        "The test's first day.",
        "the logbook's Sessions and Trials tables",
    ),
    Entry::number(
        "days_after",
        "days",
        "Whole days from the last day of practice before the test to the test's first day.",
        COMMON,
    ),
];

/// Records the facts of every test: of those recorded, and why there are none of the others.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    for phase in subject.test_phases() {
        let Some(mut writer) = subject.writer(facts, namespace_of(phase)) else {
            continue;
        };
        match subject.blocks.block(phase) {
            Some(block) => record_block(&mut writer, block, subject),
            None => writer.nothing_else(Cow::Owned(format!("no {} is recorded", phase.title()))),
        }
    }
}

fn record_block(writer: &mut Writer<'_>, block: &Block, subject: &Subject<'_>) {
    let summary = BlockSummary::of(&block.sessions, subject.measure);
    writer.count("n", summary.n);
    writer.count("missing", summary.missing);
    writer.count("sessions", block.sessions.len());
    if summary.n == 0 {
        writer.nothing_else("no trial has a score that counts");
    } else {
        record_scores(writer, summary, block, subject);
    }
    let conditions = Conditions::of(block, subject.logbook);
    writer.text(
        "condition",
        conditions.text().ok_or("no condition is recorded"),
    );
    let day = first_day(block.phase, subject.logbook, subject.record);
    writer.date("date", day.ok_or("the test has no date"));
    let days_after = day.ok_or("the test has no date").and_then(|day| {
        let practised = subject
            .calendar
            .last_day_until(day)
            .ok_or("no dated practice comes before the test")?;
        Ok(f64::from(days_between(practised, day)))
    });
    writer.number("days_after", days_after);
}

fn record_scores(
    writer: &mut Writer<'_>,
    summary: BlockSummary,
    block: &Block,
    subject: &Subject<'_>,
) {
    let scores = block.scores();
    writer.number("level", level(&summary, subject.measure));
    writer.number("cv", coefficient_of_variation(&scores, subject.measure));
    writer.number("success_rate", success_rate(&scores, subject.measure));
    let numbers = [
        ("mean", summary.mean),
        ("median", summary.median),
        ("sd", summary.sd),
        ("minimum", summary.minimum),
        ("maximum", summary.maximum),
        ("ce", summary.ce),
        ("ae", summary.ae),
        ("ve", summary.ve),
        ("rmse", summary.rmse),
        ("mre", summary.mre),
        ("sre", summary.sre),
        ("bve", summary.bve),
    ];
    for (fact, number) in numbers {
        writer.number(fact, number);
    }
}

fn level(summary: &BlockSummary, measure: &Measure) -> Result<f64, Reason> {
    if measure.better == Better::Target {
        return Err(Cow::Borrowed(
            "nearest to the target is best: neither end of the scale is",
        ));
    }
    measure
        .level(summary.mean.clone()?)
        .ok_or(Cow::Borrowed("the scale has no two ends"))
}

/// Only where zero means none of it, so that a spread in percent of the mean has a meaning.
fn coefficient_of_variation(scores: &[f64], measure: &Measure) -> Result<f64, Reason> {
    let has_zero = matches!(
        measure.kind,
        MeasureKind::Count | MeasureKind::Error | MeasureKind::Quantity
    );
    if !has_zero || scores.iter().any(|score| *score < 0.0) {
        return Err(Cow::Borrowed("the scale has no true zero"));
    }
    summary::coefficient_of_variation(scores).map_err(IntoReason::into_reason)
}

fn success_rate(scores: &[f64], measure: &Measure) -> Result<f64, Reason> {
    let succeeded = |score: f64| match (measure.kind, measure.target, measure.better) {
        (MeasureKind::Success, ..) => Ok((score - 1.0).abs() <= EXACT),
        (_, None, _) => Err("the measure has no target that a trial could reach"),
        (_, Some(target), Better::Lower) => Ok(score <= target || close(score, target)),
        (_, Some(target), _) => Ok(score >= target || close(score, target)),
    };
    let mut successes = 0_usize;
    for score in scores {
        successes += usize::from(succeeded(*score)?);
    }
    Ok(100.0 * successes as f64 / scores.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::sample::{self, Row, logbook, measure, session, test};
    use crate::facts::{FactSettings, Record, compute};
    use crate::logbook::model::Logbook;
    use crate::phase::{Phase, PhaseKind};

    fn facts_of(logbook: &Logbook) -> Facts {
        let settings = FactSettings {
            simulate: false,
            ..FactSettings::default()
        };
        compute("P1", logbook, &Record::new(logbook), &settings)
    }

    fn pre_of(measure: Measure, scores: &[f64]) -> Facts {
        facts_of(&logbook(vec![measure], test(PhaseKind::Pre, 1, "", scores)))
    }

    #[test]
    fn the_level_is_1_at_the_best_end() {
        let scale = |better| Measure {
            better,
            lowest: Some(0.0),
            highest: Some(10.0),
            ..measure("score", MeasureKind::Quantity)
        };
        let level = |better| pre_of(scale(better), &[2.0, 3.0]).number("pre.level");
        assert_eq!(level(Better::Higher), Some(0.25));
        assert_eq!(level(Better::Lower), Some(0.75));
        assert_eq!(level(Better::Target), None);
        let open = pre_of(Measure::undescribed(), &[2.0]);
        assert_eq!(
            open.why_absent("pre.level"),
            Some("the scale has no two ends")
        );
    }

    #[test]
    fn a_coefficient_of_variation_needs_a_true_zero() {
        let cv = |kind, scores: &[f64]| pre_of(measure("score", kind), scores).number("pre.cv");
        // SciPy 1.17: 100 * scipy.stats.variation([2, 4], ddof=1)
        let expected = 47.140_452_079_103_17;
        for kind in [
            MeasureKind::Count,
            MeasureKind::Error,
            MeasureKind::Quantity,
        ] {
            assert!(cv(kind, &[2.0, 4.0]).is_some_and(|cv| close(cv, expected)));
        }
        assert_eq!(cv(MeasureKind::Rating, &[2.0, 4.0]), None);
        assert_eq!(cv(MeasureKind::SignedError, &[2.0, 4.0]), None);
        assert_eq!(cv(MeasureKind::Quantity, &[-2.0, 4.0]), None);
        assert_eq!(cv(MeasureKind::Count, &[0.0, 0.0]), None);
    }

    #[test]
    fn success_is_reaching_the_target_from_the_worse_side() {
        let with_target = |better| Measure {
            better,
            target: Some(3.0),
            ..measure("score", MeasureKind::Quantity)
        };
        let scores = [1.0, 3.0, 4.0, 5.0];
        let rate = |measure| pre_of(measure, &scores).number("pre.success_rate");
        assert_eq!(rate(with_target(Better::Higher)), Some(75.0));
        assert_eq!(rate(with_target(Better::Lower)), Some(50.0));
        assert_eq!(rate(Measure::undescribed()), None);
        let successes = pre_of(measure("hit", MeasureKind::Success), &[1.0, 0.0, 0.0, 0.0]);
        assert_eq!(successes.number("pre.success_rate"), Some(25.0));
    }

    #[test]
    fn days_are_counted_from_the_last_practice_before_the_test() {
        let mut rows = sample::practice(1, 3, &[1.0]);
        rows.extend(sample::practice(2, 10, &[1.0]));
        rows.extend(test(PhaseKind::Mid, 8, "", &[1.0]));
        rows.extend(test(PhaseKind::Post, 10, "", &[1.0]));
        rows.push(Row::new(Phase::RETENTION, Some(9), 1, 1.0));
        rows.extend(test(PhaseKind::Pre, 2, "", &[1.0]));
        let mut logbook = logbook(vec![Measure::undescribed()], rows);
        // The retention test's day stands in the Sessions table only.
        logbook.sessions = vec![session(9, 17, Phase::RETENTION)];
        let facts = facts_of(&logbook);
        assert_eq!(facts.number("mid.days_after"), Some(5.0));
        assert_eq!(facts.number("post.days_after"), Some(0.0));
        assert_eq!(facts.number("retention.days_after"), Some(7.0));
        assert_eq!(
            facts.why_absent("pre.days_after"),
            Some("no dated practice comes before the test")
        );
    }
}
