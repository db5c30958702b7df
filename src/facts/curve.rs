//! The practice curve: the sessions' means, their shape, and what a learner with a smooth curve would show by chance.

use super::catalogue::Entry;

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
        "How often a learner with a smooth practice curve shows a rise at least as large.",
        SIMULATED,
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
