//! What the facts of one typical pair cost.

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

mod typical;

use divan::Bencher;
use evenhand::facts::{FactSettings, Record, block_rows, compute};

fn main() {
    divan::main();
}

#[divan::bench]
fn record(bencher: Bencher<'_, '_>) {
    let logbook = typical::logbook(|_| 0.0);
    bencher.bench_local(|| Record::new(&logbook));
}

#[divan::bench]
fn rows_of_blocks(bencher: Bencher<'_, '_>) {
    let logbook = typical::logbook(|_| 0.0);
    let record = Record::new(&logbook);
    bencher.bench_local(|| block_rows(&logbook, &record));
}

/// With 2,000 bootstrap samples and 2,000 simulated learners.
#[divan::bench]
fn all_facts(bencher: Bencher<'_, '_>) {
    let logbook = typical::logbook(|_| 0.0);
    let record = Record::new(&logbook);
    let settings = FactSettings::default();
    bencher.bench_local(|| compute("P1", &logbook, &record, &settings));
}

#[divan::bench]
fn all_facts_without_resampling(bencher: Bencher<'_, '_>) {
    let logbook = typical::logbook(|_| 0.0);
    let record = Record::new(&logbook);
    let settings = FactSettings {
        simulate: false,
        ..FactSettings::default()
    };
    bencher.bench_local(|| compute("P1", &logbook, &record, &settings));
}
