//! A later test against the pre-test.

use super::catalogue::Entry;
use super::subject::{NOT_SIMULATED, Subject, below, no_scores};
use super::value::{FactValue, Facts};
use super::writer::Writer;
use crate::phase::{Phase, PhaseKind};
use crate::stats::bootstrap::of_difference_of_means;
use crate::stats::change::{change, percent_change, percent_improvement};
use crate::stats::effect_size;
use crate::stats::nonoverlap::nap;
use crate::stats::permutation::of_means;
use crate::stats::t_test::welch;

const COMMON: &str = "common practice";
const EFRON: &str = "Efron 1987; Efron & Tibshirani 1993";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "difference",
        "score",
        "Later mean less pre-test mean.",
        COMMON,
    ),
    Entry::number(
        "percent",
        "%",
        "The difference in percent of the size of the pre-test mean.",
        COMMON,
    ),
    Entry::number(
        "improvement",
        "%",
        "Percent change, signed so that positive is better. Where nearest to a target is best, of the mean distance from the target.",
        COMMON,
    ),
    Entry::truth(
        "better",
        "The later mean is better than the pre-test mean; where nearest to a target is best, the mean distance from the target is smaller.",
        COMMON,
    ),
    Entry::number(
        "d",
        "standard deviations",
        "The difference over the pooled standard deviation of the two tests.",
        "Cohen 1988",
    ),
    Entry::number(
        "g",
        "standard deviations",
        "The difference over the pooled standard deviation, with the exact correction for few trials.",
        "Hedges 1981",
    ),
    Entry::number(
        "nap",
        "share",
        "Share, 0 to 1, of all pairs of a later and a pre-test trial in which the later one is better; ties count half.",
        "Parker & Vannest 2009",
    ),
    Entry::number(
        "low",
        "score",
        "Lower end of the interval of the difference, without assuming equal spread (95 % by default).",
        "Welch 1947",
    ),
    Entry::number(
        "high",
        "score",
        "Upper end of the interval of the difference, without assuming equal spread (95 % by default).",
        "Welch 1947",
    ),
    Entry::number(
        "boot_low",
        "score",
        "Lower end of the bias-corrected and accelerated bootstrap interval of the difference: of all resamples on a short scale, else of 2,000 seeded ones.",
        EFRON,
    ),
    Entry::number(
        "boot_high",
        "score",
        "Upper end of the bias-corrected and accelerated bootstrap interval of the difference: of all resamples on a short scale, else of 2,000 seeded ones.",
        EFRON,
    ),
    Entry::number(
        "p",
        "share",
        "Two-sided permutation test of the difference of means: exact where all arrangements can be counted, else by 9,999 seeded ones.",
        "Edgington & Onghena 2007",
    ),
    Entry::truth(
        "beyond_noise",
        "The interval low to high excludes 0.",
        "Welch 1947",
    ),
    Entry::number(
        "detectable",
        "score",
        "Half the width of the interval: the smallest difference that these trials could have shown, at the spread that they have.",
        "Welch 1947",
    ),
    Entry::truth(
        "one_day",
        "Each of the two tests was held on one day, so that a better or worse day looks like a change: p and the interval know nothing of that.",
        COMMON,
    ),
];

/// Pairs of trials that are compared one by one: 5,000 trials a test. Nobody records more; a hostile file could.
const MOST_PAIRS: usize = 25_000_000;

/// Records every later test against the pre-test: post-test, retention and transfer tests.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let before = subject.scores(Phase::PRE);
    let later_tests = subject.test_phases().into_iter().filter(|phase| {
        matches!(
            phase.kind,
            PhaseKind::Post | PhaseKind::Retention | PhaseKind::Transfer
        )
    });
    for phase in later_tests {
        let Some(mut writer) = subject.writer(facts, below("change", phase)) else {
            continue;
        };
        let after = subject.scores(phase);
        if before.is_empty() {
            writer.nothing_else(no_scores(Phase::PRE));
        } else if after.is_empty() {
            writer.nothing_else(no_scores(phase));
        } else {
            record_change(&mut writer, subject, phase, &before, &after);
        }
    }
}

fn record_change(
    writer: &mut Writer<'_>,
    subject: &Subject<'_>,
    phase: Phase,
    before: &[f64],
    after: &[f64],
) {
    let difference = change(before, after);
    writer.number("difference", difference);
    writer.number("percent", percent_change(before, after));
    let (compared_before, compared_after) = (subject.comparable(before), subject.comparable(after));
    let direction = subject.direction();
    writer.number(
        "improvement",
        percent_improvement(&compared_before, &compared_after, direction),
    );
    writer.truth(
        "better",
        change(&compared_before, &compared_after).map(|change| direction.orient(change) > 0.0),
    );
    writer.number("d", effect_size::d(before, after));
    writer.number("g", effect_size::g(before, after));
    if before.len().saturating_mul(after.len()) > MOST_PAIRS {
        writer.absent(
            "nap",
            "has more pairs of trials than can be compared in time",
        );
    } else {
        writer.number("nap", nap(&compared_before, &compared_after, direction));
    }

    let interval = welch(before, after, subject.settings.confidence).map(|test| test.interval);
    writer.number("low", interval.map(|interval| interval.low));
    writer.number("high", interval.map(|interval| interval.high));
    writer.truth(
        "beyond_noise",
        interval.map(|interval| !interval.contains(0.0)),
    );
    writer.number(
        "detectable",
        interval.map(|interval| (interval.high - interval.low) / 2.0),
    );

    record_resampled(writer, subject, phase, before, after);
    writer.value(
        "one_day",
        FactValue::Truth(is_one_day(subject, Phase::PRE) && is_one_day(subject, phase)),
    );
}

/// What is found by dealing or drawing the scores anew.
fn record_resampled(
    writer: &mut Writer<'_>,
    subject: &Subject<'_>,
    phase: Phase,
    before: &[f64],
    after: &[f64],
) {
    let namespace = phase.fact_name();
    let p = of_means(before, after, subject.stream(&namespace, "p"));
    writer.number("p", p.map(|permutation| permutation.p));
    if !subject.settings.simulate {
        writer.absent("boot_low", NOT_SIMULATED);
        writer.absent("boot_high", NOT_SIMULATED);
        return;
    }
    let bootstrap = of_difference_of_means(
        before,
        after,
        subject.settings.confidence,
        subject.stream(&namespace, "boot"),
    )
    .map(|bootstrap| bootstrap.bca);
    writer.number("boot_low", bootstrap.map(|interval| interval.low));
    writer.number("boot_high", bootstrap.map(|interval| interval.high));
}

/// Whether a test was held on one day. Sessions without a date are taken to be on different days.
fn is_one_day(subject: &Subject<'_>, phase: Phase) -> bool {
    let sessions = subject
        .blocks
        .block(phase)
        .map_or(&[][..], |block| block.sessions.as_slice());
    match sessions {
        [] | [_] => true,
        [first, rest @ ..] => {
            first.date.is_some() && rest.iter().all(|session| session.date == first.date)
        }
    }
}
