//! The practice curve: the sessions' means, their shape, and what a learner with a smooth curve would show by chance.

use std::borrow::Cow;
use std::ops::Range;

use super::catalogue::Entry;
use super::curve_changes::record_changes;
use super::subject::Subject;
use super::value::{Facts, Reason};
use super::writer::{IntoReason, Writer};
use crate::stats::curve_shape::{FEWEST_SESSIONS, curve_shapes};
use crate::stats::regression::line;
use crate::stats::trend::mann_kendall;
use crate::stats::{Undefined, summary};

const COMMON: &str = "common practice";
const TREND: &str = "Mann 1945; Kendall 1975";
const SHAPES: &str = "Hurvich & Tsai 1989; Burnham & Anderson 2002";
const SIMULATED: &str = "seeded simulation of 2,000 smooth learners: best monotone fit (Barlow et al. 1972) with this pair's spread, sessions and trials";

pub(super) const ENTRIES: &[Entry] = &[
    Entry::number(
        "sessions",
        "sessions",
        "Practice sessions with a score that counts.",
        COMMON,
    ),
    Entry::number(
        "tau",
        "",
        "Kendall's tau-b of the sessions' means with their order; negative where scores fall. Where nearest to a target is best, of mean distances from the target.",
        TREND,
    ),
    Entry::number("tau_p", "share", "Two-sided p of that trend.", TREND),
    Entry::number(
        "slope",
        "score a session",
        "Least squares slope of the sessions' means on session number.",
        COMMON,
    ),
    Entry::text(
        "shape",
        "The candidate shape with the lowest AICc: flat, linear, exponential, power, logistic or step. Six sessions at least.",
        SHAPES,
    ),
    Entry::number(
        "shape_weight",
        "share",
        "Akaike weight of that shape among the candidates, 0 to 1: near 1 it stands alone, below about 0.9 others fit as well.",
        SHAPES,
    ),
    Entry::number(
        "nonlinear_gain",
        "AICc",
        "AICc of the best straight or flat line less that of the best other shape: positive where a bend or a step is worth its parameters.",
        SHAPES,
    ),
    Entry::number(
        "dip",
        "score",
        "Largest change for the worse from one session to the next, as a positive number.",
        COMMON,
    ),
    Entry::number(
        "dip_session",
        "session",
        "The later of the two sessions of the largest dip.",
        COMMON,
    ),
    Entry::number(
        "dip_p",
        "share",
        "How often a learner with a smooth practice curve shows a dip at least as large.",
        SIMULATED,
    ),
    Entry::number(
        "rise",
        "score",
        "Largest change for the better from one session to the next, as a positive number.",
        COMMON,
    ),
    Entry::number(
        "rise_session",
        "session",
        "The later of the two sessions of the largest rise.",
        COMMON,
    ),
    Entry::number(
        "rise_p",
        "share",
        "How often a learner with a smooth practice curve shows a rise at least as large. Where it is not small, a sudden jump means nothing; that it is small alone is no evidence of one (see sudden_p).",
        SIMULATED,
    ),
    Entry::number(
        "sudden_p",
        "share",
        "How often a learner whose curve bends but has no step shows a rise as large as the largest one here: small where the rise is sudden. rise_p is not small then, since the best monotone fit contains the rise itself. A jump of 1.5 trial standard deviations gives less than 0.05 in 3 records of ten with 8 sessions of 10 trials, 4 of ten with 12 of 10, 8 of ten with 12 of 20, and in fewer where days differ; learners without a jump do in at most 5 of a hundred.",
        "seeded simulation of 1,000 learners without a step: the steepest flat, straight, power or exponential curve that these sessions don't rule out, with this pair's spread of trials and of days",
    ),
    Entry::number(
        "variability_before",
        "score",
        "Mean standard deviation within the two sessions before the largest rise.",
        COMMON,
    ),
    Entry::number(
        "variability_after",
        "score",
        "Mean standard deviation within the session of the largest rise and the next.",
        COMMON,
    ),
    Entry::number(
        "variability_p",
        "share",
        "How often a learner with a smooth practice curve shows as much more variability before the largest rise than after it.",
        SIMULATED,
    ),
    Entry::number(
        "lag1",
        "",
        "Lag-1 autocorrelation of the sessions' means.",
        "Box & Jenkins 1976",
    ),
    Entry::number(
        "sd_early",
        "score",
        "Mean standard deviation within the sessions of the first half of practice; four sessions at least, a middle one in neither half.",
        COMMON,
    ),
    Entry::number(
        "sd_late",
        "score",
        "Mean standard deviation within the sessions of the second half of practice; four sessions at least, a middle one in neither half.",
        COMMON,
    ),
    Entry::number(
        "gain_early",
        "score a session",
        "Slope of the sessions' means over the first half of practice, positive for the better; six sessions at least, a middle one in both halves.",
        COMMON,
    ),
    Entry::number(
        "gain_late",
        "score a session",
        "Slope of the sessions' means over the second half of practice, positive for the better; six sessions at least, a middle one in both halves.",
        COMMON,
    ),
];

/// Sessions up to which a curve is worked through. Nobody holds more; a hostile file could claim as many as it has rows, and a trend
/// compares each with each.
const MOST_SESSIONS: usize = 1_000;
/// Sessions of practice that a half needs for a spread of its own.
const FEWEST_FOR_SPREADS: usize = 4;

/// The practice sessions with a score that counts.
pub(super) struct Curve {
    /// The sessions' numbers as claims name them; none for one without a number among others with one.
    pub(super) numbers: Vec<Option<u32>>,
    /// Each session's scores as recorded.
    scores: Vec<Vec<f64>>,
    /// Each session's scores as they are compared: distances where nearest to a target is best.
    pub(super) comparable: Vec<Vec<f64>>,
    /// Means of these.
    means: Vec<f64>,
}

impl Curve {
    fn of(subject: &Subject<'_>) -> Self {
        let sessions: Vec<(Option<u32>, Vec<f64>)> = subject
            .blocks
            .practice()
            .iter()
            .map(|session| {
                let number = Some(session.practice_number).filter(|number| *number > 0);
                (number, session.scores())
            })
            .filter(|(_, scores)| !scores.is_empty())
            .collect();
        let comparable: Vec<Vec<f64>> = sessions
            .iter()
            .map(|(_, scores)| subject.comparable(scores))
            .collect();
        Self {
            means: comparable
                .iter()
                .filter_map(|scores| summary::mean(scores).ok())
                .collect(),
            comparable,
            numbers: sessions.iter().map(|(number, _)| *number).collect(),
            scores: sessions.into_iter().map(|(_, scores)| scores).collect(),
        }
    }

    fn len(&self) -> usize {
        self.means.len()
    }

    /// Slope of the sessions' recorded means on their numbers.
    fn slope(&self) -> Result<f64, Reason> {
        if self.len() < 3 {
            return Err(Cow::Borrowed("needs three practice sessions"));
        }
        let numbers: Option<Vec<f64>> = self.numbers.iter().map(|n| n.map(f64::from)).collect();
        let numbers = numbers
            .ok_or("a practice session has no number")
            .map_err(IntoReason::into_reason)?;
        let means: Result<Vec<f64>, Undefined> = self
            .scores
            .iter()
            .map(|scores| summary::mean(scores))
            .collect();
        means
            .and_then(|means| line(&numbers, &means))
            .map(|line| line.slope)
            .map_err(IntoReason::into_reason)
    }

    /// Slope of comparable means over some sessions, counted one by one.
    fn slope_of(&self, sessions: Range<usize>) -> Result<f64, Reason> {
        let means = self.means.get(sessions).unwrap_or_default();
        let order: Vec<f64> = (1..=means.len()).map(|place| place as f64).collect();
        line(&order, means)
            .map(|line| line.slope)
            .map_err(IntoReason::into_reason)
    }

    /// Mean standard deviation within some sessions.
    fn mean_sd(&self, sessions: Range<usize>) -> Result<f64, Reason> {
        let sds: Vec<f64> = self
            .comparable
            .get(sessions)
            .unwrap_or_default()
            .iter()
            .filter_map(|scores| summary::sd(scores).ok())
            .collect();
        summary::mean(&sds).map_err(|_| Cow::Borrowed("needs sessions of two trials at least"))
    }
}

/// Records the practice curve.
pub(super) fn record(facts: &mut Facts, subject: &Subject<'_>) {
    let Some(mut writer) = subject.writer(facts, "curve") else {
        return;
    };
    let curve = Curve::of(subject);
    writer.count("sessions", curve.len());
    if curve.len() == 0 {
        writer.nothing_else("no practice trial has a score that counts");
        return;
    }
    if curve.len() > MOST_SESSIONS {
        writer.nothing_else("has more practice sessions than anybody holds: more than 1,000");
        return;
    }
    let trend = mann_kendall(&curve.means);
    writer.number("tau", trend.map(|trend| trend.tau_b));
    writer.number("tau_p", trend.map(|trend| trend.p));
    writer.number("slope", curve.slope());
    writer.number("lag1", summary::lag1_autocorrelation(&curve.means));
    record_shape(&mut writer, &curve);
    record_changes(&mut writer, &curve, subject);
    record_halves(&mut writer, &curve, subject);
}

/// Why shape, dip and rise have no value in a short programme.
pub(super) const TOO_FEW: &str = "needs six practice sessions";

fn record_shape(writer: &mut Writer<'_>, curve: &Curve) {
    let shapes = curve_shapes(&curve.means).map_err(|undefined| match undefined {
        Undefined::TooFew { .. } => Cow::Borrowed(TOO_FEW),
        other => other.into_reason(),
    });
    let none = || Cow::Borrowed("no shape could be fitted");
    let best = shapes
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|shapes| shapes.best().ok_or_else(none));
    writer.text("shape", best.clone().map(|fit| fit.shape.name().into()));
    writer.number("shape_weight", best.map(|fit| fit.weight));
    writer.number("nonlinear_gain", shapes.map(|shapes| shapes.nonlinear_gain));
}

/// The first half of practice against the second.
fn record_halves(writer: &mut Writer<'_>, curve: &Curve, subject: &Subject<'_>) {
    let sessions = curve.len();
    let half = sessions / 2;
    if sessions < FEWEST_FOR_SPREADS {
        for fact in ["sd_early", "sd_late"] {
            writer.absent(fact, "needs four practice sessions");
        }
    } else {
        writer.number("sd_early", curve.mean_sd(0..half));
        writer.number("sd_late", curve.mean_sd(sessions - half..sessions));
    }
    if sessions < FEWEST_SESSIONS {
        for fact in ["gain_early", "gain_late"] {
            writer.absent(fact, TOO_FEW);
        }
    } else {
        let for_the_better = |slope: f64| subject.direction().orient(slope);
        writer.number(
            "gain_early",
            curve.slope_of(0..sessions - half).map(for_the_better),
        );
        writer.number(
            "gain_late",
            curve.slope_of(half..sessions).map(for_the_better),
        );
    }
}
