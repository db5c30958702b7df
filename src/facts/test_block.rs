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
