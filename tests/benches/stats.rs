//! What each procedure costs on the blocks of a typical pair: ten trials before, ten after.

use divan::{Bencher, black_box};
use evenhand::stats::{
    Direction,
    agreement::cohen::{Weights, cohen_kappa},
    bootstrap, change, curve_shape, effect_size, error_scores, icc, mann_whitney, nonoverlap,
    permutation,
    random::Stream,
    regression,
    smooth_learner::{self, ScoreScale},
    summary, t_test, trend, variance_components,
    whole_number::{AtDecimals, Divisor, Rounding, SteppedScale},
    wilcoxon,
};

fn main() {
    divan::main();
}

const BEFORE: [f64; 10] = [1.0, 2.0, 2.0, 1.0, 3.0, 2.0, 2.0, 1.0, 2.0, 3.0];
const AFTER: [f64; 10] = [3.0, 3.0, 2.0, 4.0, 3.0, 4.0, 3.0, 2.0, 4.0, 3.0];
/// Distances in metres, to the centimetre.
const FAR: [f64; 10] = [3.42, 2.87, 4.10, 3.05, 2.66, 3.91, 3.33, 4.48, 2.95, 3.70];
const NEAR: [f64; 10] = [2.31, 2.96, 1.87, 2.44, 3.12, 1.95, 2.70, 2.08, 2.53, 2.21];

fn stream() -> Stream {
    Stream::new(1, "bench")
}

#[divan::bench]
fn mean_and_sd() -> Option<f64> {
    Some(summary::mean(black_box(&BEFORE)).ok()? + summary::sd(black_box(&BEFORE)).ok()?)
}

#[divan::bench]
fn mean_and_sd_of_decimals() -> Option<f64> {
    Some(summary::mean(black_box(&FAR)).ok()? + summary::sd(black_box(&FAR)).ok()?)
}

#[divan::bench]
fn lag1_autocorrelation() -> Option<f64> {
    summary::lag1_autocorrelation(black_box(&FAR)).ok()
}

#[divan::bench]
fn percent_change() -> Option<f64> {
    change::percent_change(black_box(&BEFORE), black_box(&AFTER)).ok()
}

#[divan::bench]
fn total_error() -> Option<f64> {
    error_scores::total_error(black_box(&FAR), 3.0).ok()
}

#[divan::bench]
fn hedges_g() -> Option<f64> {
    effect_size::g(black_box(&BEFORE), black_box(&AFTER)).ok()
}

#[divan::bench]
fn nap_with_interval() -> Option<f64> {
    let interval = nonoverlap::nap_interval(
        black_box(&BEFORE),
        black_box(&AFTER),
        Direction::Higher,
        0.95,
    );
    interval.ok().map(|interval| interval.low)
}

#[divan::bench]
fn welch() -> Option<f64> {
    let test = t_test::welch(black_box(&BEFORE), black_box(&AFTER), 0.95);
    test.ok().map(|test| test.p)
}

#[divan::bench]
fn mann_whitney_exact() -> Option<f64> {
    let test = mann_whitney::mann_whitney(black_box(&BEFORE), black_box(&AFTER));
    test.ok().map(|test| test.p)
}

#[divan::bench]
fn wilcoxon_exact() -> Option<f64> {
    let test = wilcoxon::wilcoxon(black_box(&BEFORE), black_box(&AFTER));
    test.ok().map(|test| test.p)
}

#[divan::bench]
fn line() -> Option<f64> {
    let line = regression::line(black_box(&BEFORE), black_box(&FAR));
    line.ok().map(|line| line.slope)
}

#[divan::bench]
fn permutation_of_ratings(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|stream| permutation::of_means(&BEFORE, &AFTER, stream));
}

#[divan::bench]
fn permutation_of_distances(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|stream| permutation::of_means(&FAR, &NEAR, stream));
}

#[divan::bench]
fn permutation_of_twenty_distances(bencher: Bencher) {
    let (far, near) = (FAR.repeat(2), NEAR.repeat(2));
    bencher
        .with_inputs(stream)
        .bench_values(|stream| permutation::of_means(&far, &near, stream));
}

#[divan::bench]
fn bootstrap_of_ratings(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|stream| bootstrap::of_difference_of_means(&BEFORE, &AFTER, 0.95, stream));
}

#[divan::bench]
fn bootstrap_of_distances(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|stream| bootstrap::of_difference_of_means(&FAR, &NEAR, 0.95, stream));
}

#[divan::bench]
fn ten_thousand_indices(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|mut stream| (0..10_000).map(|_| stream.index(10)).sum::<usize>());
}

#[divan::bench]
fn ten_thousand_normals(bencher: Bencher) {
    bencher
        .with_inputs(stream)
        .bench_values(|mut stream| (0..10_000).map(|_| stream.normal()).sum::<f64>());
}

/// Twelve practice sessions of ten trials each, rated 1 to 4, of a learner who improves.
fn practice() -> Vec<Vec<f64>> {
    let mut stream = stream();
    (0..12)
        .map(|session| {
            let mean = 1.5 + 1.8 * (1.0 - (-0.3 * f64::from(session)).exp());
            (0..10)
                .map(|_| (mean + 0.8 * stream.normal()).round().clamp(1.0, 4.0))
                .collect()
        })
        .collect()
}

const RATED: ScoreScale = ScoreScale {
    lowest: Some(1.0),
    highest: Some(4.0),
    step: Some(1.0),
};

fn means(sessions: &[Vec<f64>]) -> Vec<f64> {
    sessions
        .iter()
        .filter_map(|scores| summary::mean(scores).ok())
        .collect()
}

#[divan::bench(args = [true, false])]
fn two_thousand_smooth_learners(bencher: Bencher, rated: bool) {
    let sessions = practice();
    let slices: Vec<&[f64]> = sessions.iter().map(Vec::as_slice).collect();
    let scale = if rated { RATED } else { ScoreScale::default() };
    bencher.bench(|| {
        smooth_learner::chances(
            black_box(&slices),
            Direction::Higher,
            scale,
            2_000,
            &mut stream(),
        )
        .ok()
    });
}

#[divan::bench(args = [true, false])]
fn two_thousand_learners_without_a_step(bencher: Bencher, rated: bool) {
    let sessions = practice();
    let slices: Vec<&[f64]> = sessions.iter().map(Vec::as_slice).collect();
    let scale = if rated { RATED } else { ScoreScale::default() };
    bencher.bench(|| {
        smooth_learner::sudden_rise(
            black_box(&slices),
            Direction::Higher,
            scale,
            2_000,
            &mut stream(),
        )
        .ok()
    });
}

#[divan::bench]
fn candidate_shapes(bencher: Bencher) {
    let means = means(&practice());
    bencher.bench(|| curve_shape::curve_shapes(black_box(&means)).ok());
}

#[divan::bench]
fn mann_kendall(bencher: Bencher) {
    let means = means(&practice());
    bencher.bench(|| trend::mann_kendall(black_box(&means)).ok());
}

#[divan::bench]
fn quadratic_kappa() -> Option<f64> {
    let kappa = cohen_kappa(black_box(&BEFORE), black_box(&AFTER), Weights::Quadratic);
    Some(kappa.ok()?.kappa)
}

#[divan::bench]
fn intraclass_correlations(bencher: Bencher) {
    let table: Vec<Vec<f64>> = BEFORE
        .iter()
        .zip(&AFTER)
        .map(|(&a, &b)| vec![a, b])
        .collect();
    bencher.bench(|| icc::intraclass_correlations(black_box(&table)).ok());
}

#[divan::bench]
fn possible_mean_and_sd(bencher: Bencher) {
    let Ok(scale) = SteppedScale::new(Some(1.0), Some(4.0), 1.0, 1) else {
        return;
    };
    let stated = |value| AtDecimals { value, decimals: 2 };
    bencher.bench(|| {
        scale.sd_is_possible(
            10,
            Some(stated(black_box(2.3))),
            stated(0.95),
            Divisor::NMinusOne,
            Rounding::Either,
        )
    });
}

/// Two marks a pair, forty markers, a covariate: the cost grows with the number of marks.
#[divan::bench(args = [1_000, 10_000])]
fn variance_components(bencher: Bencher, marks: usize) {
    let mut stream = stream();
    let severities: Vec<f64> = (0..40).map(|_| 2.0 * stream.normal()).collect();
    let (mut scores, mut pairs, mut markers, mut evidence) = (vec![], vec![], vec![], vec![]);
    for pair in 0..marks / 2 {
        let (level, seen) = (4.0 * stream.normal(), 20.0 * stream.uniform());
        let first = stream.index(40);
        for marker in [first, (first + 1 + stream.index(39)) % 40] {
            let severity = severities.get(marker).copied().unwrap_or_default();
            scores.push(20.0 + seen + level + severity + 2.0 * stream.normal());
            pairs.push(pair);
            markers.push(marker);
            evidence.push(seen);
        }
    }
    bencher.bench(|| {
        variance_components::variance_components(&scores, &pairs, &markers, &[&evidence]).ok()
    });
}
