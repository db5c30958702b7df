//! What each procedure costs on the blocks of a typical pair: ten trials before, ten after.

use divan::{Bencher, black_box};
use evenhand::stats::{
    Direction, bootstrap, change, effect_size, error_scores, mann_whitney, nonoverlap, permutation,
    random::Stream, regression, summary, t_test, wilcoxon,
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
