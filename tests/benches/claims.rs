//! What recomputing the twenty claims of a typical pair costs: where all of them follow, and where none does and every slip is tried.

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

mod typical;

use divan::Bencher;
use evenhand::claims::{ClaimSettings, RecomputedClaim, Verdict, recompute};
use evenhand::facts::Record;
use evenhand::logbook::model::Logbook;

fn main() {
    divan::main();
}

fn recomputed(logbook: &Logbook) -> Vec<RecomputedClaim> {
    recompute(logbook, &Record::new(logbook), &ClaimSettings::default())
}

/// What the trials give for each claim.
fn right() -> Vec<f64> {
    recomputed(&typical::logbook(|_| 0.0))
        .iter()
        .map(|claim| claim.value.unwrap())
        .collect()
}

fn bench(bencher: Bencher<'_, '_>, logbook: &Logbook, follow: usize) {
    let record = Record::new(logbook);
    let settings = ClaimSettings::default();
    let agree = recompute(logbook, &record, &settings)
        .iter()
        .filter(|claim| claim.verdict == Verdict::Agrees)
        .count();
    assert_eq!(agree, follow);
    bencher.bench_local(|| recompute(logbook, &record, &settings));
}

#[divan::bench]
fn twenty_claims_that_follow(bencher: Bencher<'_, '_>) {
    let right = right();
    bench(bencher, &typical::logbook(|place| right[place]), 20);
}

/// Numbers off by a little at two decimals: some happen to be what a slip gives, most are not.
#[divan::bench]
fn twenty_wrong_claims(bencher: Bencher<'_, '_>) {
    let right = right();
    let wrong = |place: usize| ((right[place] * 1.07 + 0.13) * 100.0).round() / 100.0;
    bench(bencher, &typical::logbook(wrong), 0);
}

/// Numbers with so many digits that no slip gives them: every pair of slips is tried in vain.
#[divan::bench]
fn twenty_claims_that_nothing_explains(bencher: Bencher<'_, '_>) {
    let right = right();
    let wrong = |place: usize| right[place] * 1.071_234_5 + 0.131_234_5;
    bench(bencher, &typical::logbook(wrong), 0);
}
