//! How often copied, regular and outlying trials are found in invented cohorts, and how often sound ones are: hits and false alarms.

use std::collections::BTreeSet;

use super::testing::Cohort;
use super::{near_copy, shared_trials, too_regular, unusual_gain};
use crate::checks::Check;

/// Cohorts of the long table.
const COHORTS: u32 = 20;
/// Pairs of a cohort.
const PAIRS: usize = 300;
/// Faults of each kind that are planted in one cohort.
const PLANTED: usize = 5;

/// A fault: what must find it, how it is planted in the pair given (and the one after it), and how many pairs it concerns.
struct Plant {
    title: &'static str,
    check: &'static Check,
    into: fn(&mut Cohort, usize),
    pairs: usize,
}

/// Of measured scores a block is enough; whole points repeat by themselves, so that it takes some blocks.
const OF_TIMES: [Plant; 4] = [
    Plant {
        title: "a block copied",
        check: &shared_trials::CHECK,
        into: |cohort, pair| cohort.copy(pair, pair + 1, 30..40),
        pairs: 2,
    },
    Plant {
        title: "three blocks copied, every fifth trial changed",
        check: &near_copy::CHECK,
        into: |cohort, pair| {
            cohort.copy(pair, pair + 1, 30..60);
            (30..60)
                .step_by(5)
                .for_each(|trial| cohort.change(pair + 1, trial));
        },
        pairs: 2,
    },
    Plant {
        title: "a post-test with a fiftieth of its spread",
        check: &too_regular::CHECK,
        into: |cohort, pair| cohort.flatten(pair, 80..90, 0.02),
        pairs: 1,
    },
    Plant {
        title: "a pre-test nine standard deviations off",
        check: &unusual_gain::CHECK,
        into: |cohort, pair| cohort.shift(pair, 0..10, 5.4),
        pairs: 1,
    },
];

const OF_POINTS: [Plant; 4] = [
    Plant {
        title: "three blocks copied",
        check: &shared_trials::CHECK,
        into: |cohort, pair| cohort.copy(pair, pair + 1, 30..60),
        pairs: 2,
    },
    Plant {
        title: "seven blocks copied, every tenth trial changed",
        check: &near_copy::CHECK,
        into: |cohort, pair| {
            cohort.copy(pair, pair + 1, 10..80);
            (10..80)
                .step_by(10)
                .for_each(|trial| cohort.change(pair + 1, trial));
        },
        pairs: 2,
    },
    Plant {
        title: "the same score throughout",
        check: &too_regular::CHECK,
        into: |cohort, pair| cohort.fill(pair, 0..90, 3.0),
        pairs: 1,
    },
    Plant {
        title: "from all but the lowest to all but the highest",
        check: &unusual_gain::CHECK,
        into: |cohort, pair| {
            cohort.fill(pair, 0..10, 1.0);
            cohort.fill(pair, 4..5, 2.0);
            cohort.fill(pair, 80..90, 5.0);
            cohort.fill(pair, 84..85, 4.0);
        },
        pairs: 1,
    },
];

fn id(pair: usize) -> String {
    format!("P{pair:02}")
}

/// The pairs of which a check has something to say.
fn named(cohort: &Cohort, check: &Check) -> BTreeSet<String> {
    let found = cohort.found(check);
    found.into_iter().filter_map(|placed| placed.pair).collect()
}

/// Faults found of those planted, and sound pairs named, in a cohort with [`PLANTED`] faults of that kind.
fn tried(mut cohort: Cohort, plant: &Plant) -> (usize, usize) {
    let at = |index: usize| 7 + index * (PAIRS / PLANTED);
    let mut planted = BTreeSet::new();
    for index in 0..PLANTED {
        (plant.into)(&mut cohort, at(index));
        planted.extend((0..plant.pairs).map(|next| id(at(index) + next)));
    }
    let named = named(&cohort, plant.check);
    let hits = (0..PLANTED)
        .filter(|index| (0..plant.pairs).all(|next| named.contains(&id(at(*index) + next))))
        .count();
    (hits, named.difference(&planted).count())
}

#[test]
fn planted_faults_are_found_and_sound_pairs_are_not() {
    for plant in &OF_TIMES {
        let found = tried(Cohort::of_times(PAIRS, 1), plant);
        assert_eq!(found, (PLANTED, 0), "times, {}", plant.title);
    }
    for plant in &OF_POINTS {
        let found = tried(Cohort::of_five_points(PAIRS, 1), plant);
        assert_eq!(found, (PLANTED, 0), "points, {}", plant.title);
    }
}

/// `cargo test --release cohort::calibration::table -- --ignored --nocapture`
#[test]
#[ignore = "takes minutes: a hundred of each fault in twenty cohorts of three hundred pairs, and those cohorts as they are"]
fn table() {
    type Make = fn(usize, u64) -> Cohort;
    let kinds: [(&str, Make, &[Plant]); 2] = [
        ("times", Cohort::of_times, &OF_TIMES),
        ("points 1 to 5", Cohort::of_five_points, &OF_POINTS),
    ];
    let cohorts = usize::try_from(COHORTS).unwrap();
    for (name, make, plants) in kinds {
        for plant in plants {
            let (mut hits, mut others, mut sound) = (0, 0, 0);
            for seed in 0..COHORTS {
                let found = tried(make(PAIRS, u64::from(seed)), plant);
                hits += found.0;
                others += found.1;
                sound += named(&make(PAIRS, u64::from(seed)), plant.check).len();
            }
            let pairs = cohorts * PAIRS;
            println!(
                "{name}, {}: {} finds {hits} of {}, names {others} others beside them, and {sound} of {pairs} sound pairs",
                plant.title,
                plant.check.id,
                cohorts * PLANTED
            );
            assert!(hits * 100 >= 99 * cohorts * PLANTED, "{}", plant.title);
            assert!(sound * 1000 <= pairs, "{}", plant.title);
        }
    }
}
