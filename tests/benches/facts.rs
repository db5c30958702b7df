//! What the facts of one typical pair cost: four tests of ten trials rated 1 to 4, and ten practice sessions of ten.

use std::sync::Arc;

use divan::Bencher;
use evenhand::facts::{FactSettings, Record, block_rows, compute};
use evenhand::logbook::model::{About, Logbook, Measure, MeasureKind, Score, Tables, Trial};
use evenhand::phase::{Phase, PhaseKind};
use evenhand::place::Place;
use jiff::civil::date;

fn main() {
    divan::main();
}

/// Ratings that rise with the session, from a fixed sequence of digits.
fn typical_pair() -> Logbook {
    let tests = [
        (PhaseKind::Pre, 0_u32),
        (PhaseKind::Post, 6),
        (PhaseKind::Retention, 5),
        (PhaseKind::Transfer, 3),
    ];
    let mut trials = Vec::new();
    for (kind, level) in tests {
        add_block(&mut trials, Phase::first(kind), None, level);
    }
    for session in 1..=10 {
        add_block(
            &mut trials,
            Phase::PRACTICE,
            Some(session),
            session * 6 / 10,
        );
    }
    Logbook {
        name: Arc::from("P1.xlsx"),
        files: Vec::new(),
        about: About::default(),
        measures: vec![Measure {
            kind: MeasureKind::Rating,
            lowest: Some(1.0),
            highest: Some(4.0),
            step: Some(1.0),
            ..Measure::undescribed()
        }],
        sessions: Vec::new(),
        trials,
        technique: Vec::new(),
        claims: Vec::new(),
        tables: Tables::default(),
        problems: Vec::new(),
    }
}

fn add_block(trials: &mut Vec<Trial>, phase: Phase, session: Option<u32>, level: u32) {
    for number in 1..=10_u32 {
        // Digits of a linear congruential sequence stand for the scatter of trials.
        let place = u32::try_from(trials.len()).unwrap_or(0);
        let digit = place.wrapping_mul(1_103_515_245).wrapping_add(12_345) >> 16;
        let rating = 1 + (level + digit % 5).min(9) / 3;
        trials.push(Trial {
            measure: 0,
            phase: Some(phase),
            session,
            date: session
                .and_then(|session| i8::try_from(session).ok())
                .map(|day| date(2026, 3, day * 2)),
            number: Some(number),
            score: Score::Number(f64::from(rating)),
            landing: None,
            condition: Some(Arc::from("3 m")),
            rater: None,
            estimate: None,
            hidden: false,
            place: Place::file("P1.xlsx"),
        });
    }
}

#[divan::bench]
fn record(bencher: Bencher) {
    let logbook = typical_pair();
    bencher.bench_local(|| Record::new(&logbook));
}

#[divan::bench]
fn rows_of_blocks(bencher: Bencher) {
    let logbook = typical_pair();
    let record = Record::new(&logbook);
    bencher.bench_local(|| block_rows(&logbook, &record));
}

/// With 2,000 bootstrap samples and 2,000 simulated learners.
#[divan::bench]
fn all_facts(bencher: Bencher) {
    let logbook = typical_pair();
    let record = Record::new(&logbook);
    let settings = FactSettings::default();
    bencher.bench_local(|| compute("P1", &logbook, &record, &settings));
}

#[divan::bench]
fn all_facts_without_resampling(bencher: Bencher) {
    let logbook = typical_pair();
    let record = Record::new(&logbook);
    let settings = FactSettings {
        simulate: false,
        ..FactSettings::default()
    };
    bencher.bench_local(|| compute("P1", &logbook, &record, &settings));
}
