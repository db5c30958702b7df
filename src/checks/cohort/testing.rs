//! Invented cohorts for the tests of this family: ninety trials a pair, as pre-test (0–10), seven practice sessions (10–80), post-test (80–90).

use std::ops::Range;

use jiff::civil::date;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

use super::trace::PairTrace;
use crate::checks::check::{Placed, PlacedFindings};
use crate::checks::seen::CohortSeen;
use crate::checks::{Check, Run};
use crate::facts::Record;
use crate::logbook::Logbook;
use crate::logbook::model::{About, Better, Measure, MeasureKind, Score, Tables, Trial};
use crate::phase::Phase;
use crate::place::Place;
use crate::thresholds::Thresholds;

pub(super) struct Cohort {
    measure: Measure,
    scores: Vec<Vec<f64>>,
    random: Random,
}

/// The seed of cohorts that need no other.
const SEED: u64 = 5;

/// A seeded stream.
struct Random(ChaCha8Rng);

impl Random {
    /// Evenly between 0 and 1.
    fn share(&mut self) -> f64 {
        f64::from(self.0.next_u32()) / f64::from(u32::MAX)
    }

    /// Near enough normal, with mean 0 and sd 1 (Irwin–Hall).
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.share()).sum::<f64>() - 6.0
    }
}

impl Cohort {
    /// Distances from a target in centimetres with one decimal, which shrink with practice.
    pub fn of_distances(pairs: usize) -> Self {
        let measure = Measure {
            name: "distance".into(),
            kind: MeasureKind::Error,
            better: Better::Lower,
            lowest: Some(0.0),
            ..Measure::undescribed()
        };
        Self::new(pairs, SEED, measure, |random, skill, at| {
            let level = 60.0 - 5.0 * skill - 0.25 * at;
            ((level + 8.0 * random.normal()).max(0.0) * 10.0).round() / 10.0
        })
    }

    /// Ratings from 1 to 4 in whole points, which rise with practice.
    pub fn of_ratings(pairs: usize) -> Self {
        let measure = Measure {
            name: "form".into(),
            kind: MeasureKind::Rating,
            lowest: Some(1.0),
            highest: Some(4.0),
            step: Some(1.0),
            ..Measure::undescribed()
        };
        Self::new(pairs, SEED, measure, |random, skill, at| {
            (2.0 + 0.3 * skill + 0.012 * at + 0.8 * random.normal())
                .round()
                .clamp(1.0, 4.0)
        })
    }

    /// Times in seconds with two decimals, which shorten with practice.
    pub fn of_times(pairs: usize, seed: u64) -> Self {
        let measure = Measure {
            name: "run time".into(),
            better: Better::Lower,
            ..Measure::undescribed()
        };
        Self::new(pairs, seed, measure, |random, skill, at| {
            let time = 9.0 - 0.6 * skill - 0.012 * at + 0.6 * random.normal();
            (time.max(0.5) * 100.0).round() / 100.0
        })
    }

    /// Ratings from 1 to 5 in whole points, which rise with practice.
    pub fn of_five_points(pairs: usize, seed: u64) -> Self {
        let measure = Measure {
            name: "form".into(),
            kind: MeasureKind::Rating,
            lowest: Some(1.0),
            highest: Some(5.0),
            step: Some(1.0),
            ..Measure::undescribed()
        };
        Self::new(pairs, seed, measure, |random, skill, at| {
            (2.2 + 0.4 * skill + 0.015 * at + 0.8 * random.normal())
                .round()
                .clamp(1.0, 5.0)
        })
    }

    fn new(
        pairs: usize,
        seed: u64,
        measure: Measure,
        score: impl Fn(&mut Random, f64, f64) -> f64,
    ) -> Self {
        let mut random = Random(ChaCha8Rng::seed_from_u64(seed));
        let scores = (0..pairs)
            .map(|_| {
                let skill = random.normal();
                (0..90_u8)
                    .map(|at| score(&mut random, skill, f64::from(at)))
                    .collect()
            })
            .collect();
        Self {
            measure,
            scores,
            random,
        }
    }

    /// Copies trials of one pair to another, in the same place.
    pub fn copy(&mut self, from: usize, to: usize, trials: Range<usize>) {
        let start = trials.start;
        self.copy_to(from, trials, to, start);
    }

    /// Copies trials of one pair to another, from some trial on.
    pub fn copy_to(&mut self, from: usize, trials: Range<usize>, to: usize, start: usize) {
        let copied = self.scores[from][trials].to_vec();
        self.scores[to][start..start + copied.len()].copy_from_slice(&copied);
    }

    /// Sets trials to one score.
    pub fn fill(&mut self, pair: usize, trials: Range<usize>, score: f64) {
        self.scores[pair][trials].fill(score);
    }

    /// Changes one trial by a step of its scale, or some centimetres.
    pub fn change(&mut self, pair: usize, trial: usize) {
        let score = &mut self.scores[pair][trial];
        *score = match self.measure.highest {
            Some(highest) if *score >= highest => *score - 1.0,
            Some(_) => *score + 1.0,
            None => *score + (self.random.share() * 50.0).round() / 10.0 + 0.1,
        };
    }

    /// Shifts trials.
    pub fn shift(&mut self, pair: usize, trials: Range<usize>, by: f64) {
        for score in &mut self.scores[pair][trials] {
            *score += by;
        }
    }

    /// Brings trials closer to their mean.
    pub fn flatten(&mut self, pair: usize, trials: Range<usize>, share: f64) {
        let scores = &mut self.scores[pair][trials];
        let mean = scores.iter().sum::<f64>() / scores.len() as f64;
        // As fine as they were recorded.
        let fine = if self.measure.lowest.is_none() {
            100.0
        } else {
            10.0
        };
        for score in scores {
            *score = ((mean + share * (*score - mean)) * fine).round() / fine;
        }
    }

    /// Turns the order of trials round.
    pub fn reverse(&mut self, pair: usize, trials: Range<usize>) {
        self.scores[pair][trials].reverse();
    }

    /// What a check finds, and what it says it could not look at.
    pub fn run(&self, check: &Check) -> PlacedFindings {
        let traces: Vec<PairTrace> = (0..self.scores.len())
            .map(|pair| self.trace(pair))
            .collect();
        let thresholds = Thresholds::default();
        let mut findings = PlacedFindings::default();
        match check.run {
            Run::Cohort(run) => run(&CohortSeen::new(&thresholds, &[], &traces), &mut findings),
            _ => panic!("{} does not look at the cohort alone", check.id),
        }
        findings
    }

    /// What a check finds.
    pub fn found(&self, check: &Check) -> Vec<Placed> {
        self.run(check).found
    }

    /// What is kept of each pair.
    pub fn traces(&self) -> Vec<PairTrace> {
        (0..self.scores.len())
            .map(|pair| self.trace(pair))
            .collect()
    }

    fn trace(&self, pair: usize) -> PairTrace {
        let name = format!("P{pair:02}");
        let file = format!("{name}.xlsx");
        let trials: Vec<Trial> = (0_u32..)
            .zip(&self.scores[pair])
            .map(|(at, score)| Trial {
                measure: 0,
                phase: Some(match at / 10 {
                    0 => Phase::PRE,
                    8 => Phase::POST,
                    _ => Phase::PRACTICE,
                }),
                session: Some(at / 10 + 1),
                date: Some(date(2026, 3, 2)),
                number: Some(at % 10 + 1),
                score: Score::Number(*score),
                landing: None,
                condition: None,
                rater: None,
                estimate: None,
                hidden: false,
                place: Place::cell(file.as_str().into(), "Trials".into(), at + 1, 5),
            })
            .collect();
        let logbook = Logbook {
            name: file.as_str().into(),
            files: Vec::new(),
            about: About::default(),
            measures: vec![self.measure.clone()],
            sessions: Vec::new(),
            trials,
            technique: Vec::new(),
            claims: Vec::new(),
            tables: Tables::default(),
            problems: Vec::new(),
        };
        PairTrace::new(&name, &logbook, &Record::new(&logbook))
    }
}

/// How long the cohort's checks take; run by hand, optimised: `cargo test --release -- --ignored cohort::testing`.
#[test]
#[ignore = "measures time"]
fn thousands_of_pairs_take_seconds() {
    for pairs in [2_000, 10_000] {
        for cohort in [Cohort::of_distances(pairs), Cohort::of_ratings(pairs)] {
            let traces = cohort.traces();
            let thresholds = Thresholds::default();
            let start = std::time::Instant::now();
            let seen = CohortSeen::new(&thresholds, &[], &traces);
            let findings = crate::checks::run_cohort(&seen, &crate::checks::Policy::default());
            let taken = start.elapsed();

            println!("{pairs} pairs: {taken:?}");
            assert!(taken.as_secs() < 20, "{pairs} pairs: {taken:?}");
            // Expected by chance in all: a thousandth for each check.
            assert!(
                findings.found.len() < 20,
                "{pairs} pairs: {:#?}",
                findings.found
            );
        }
    }
}
