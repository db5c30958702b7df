//! Real series of repeated performance, turned into logbooks: blocks and claims against values computed by a general-purpose library.
//!
//! Data: learning vocabulary with flashcards, number known of 20, five sessions before practice and 15 to 21 with it, cases 1, 3 and 8 of
//! `byHeart2011` in the R package scan (jazznbass/scan); mean reaction times (ms) over ten days, persons 308 and 335 of `sleepstudy` in the
//! R package lme4 (Belenky et al. 2003). Values: NumPy 2.4.6 and SciPy 1.17.1 (`mean`, `std(ddof=1)`, `stats.linregress`,
//! `stats.ttest_ind(equal_var=False)`), and for the nonoverlap of all pairs the tests of the R package `SingleCaseES`.

#![allow(clippy::unwrap_used, clippy::panic)] // In a test, a panic is the report.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use assert_cmd::Command;

/// One learner of the open data, and what a general-purpose library computes.
struct Learner {
    pair: &'static str,
    before: &'static [f64],
    practice: &'static [f64],
    /// Statistic, phase, versus, value.
    values: &'static [(&'static str, &'static str, &'static str, f64)],
}

const LEARNERS: &[Learner] = &[
    Learner {
        pair: "case1",
        before: &[0.0, 1.0, 0.0, 0.0, 1.0],
        practice: &[
            2.0, 5.0, 6.0, 7.0, 10.0, 10.0, 15.0, 16.0, 14.0, 17.0, 18.0, 17.0, 19.0, 18.0, 18.0,
        ],
        values: &[
            ("mean", "pre", "", 0.4),
            ("mean", "practice", "", 12.8),
            ("sd", "practice", "", 5.634_079_973_061_897),
            ("nap", "practice", "pre", 1.0),
            ("slope", "practice", "", 1.185_714_285_714_285_7),
            ("r", "practice", "", 0.941_178_597_899_402_6),
            ("t welch", "practice", "pre", 8.405_687_352_543_454),
            ("p t welch", "practice", "pre", 5.227_762_777_880_463e-7),
        ],
    },
    Learner {
        pair: "case3",
        before: &[0.0, 1.0, 0.0, 1.0, 0.0],
        practice: &[
            2.0, 4.0, 3.0, 0.0, 1.0, 3.0, 6.0, 8.0, 8.0, 10.0, 4.0, 6.0, 9.0, 11.0, 10.0,
        ],
        values: &[
            ("mean", "practice", "", 5.666_666_666_666_667),
            ("sd", "practice", "", 3.538_899_479_189_755_2),
            ("nap", "practice", "pre", 0.94),
            ("tau", "practice", "pre", 0.88),
            ("slope", "practice", "", 0.632_142_857_142_857_1),
            ("r", "practice", "", 0.798_844_052_154_878_6),
            ("t welch", "practice", "pre", 5.567_286_499_199_739_5),
        ],
    },
    Learner {
        pair: "case8",
        before: &[3.0, 4.0, 7.0, 6.0, 8.0],
        practice: &[
            10.0, 11.0, 8.0, 9.0, 13.0, 17.0, 11.0, 14.0, 9.0, 13.0, 14.0, 16.0, 19.0, 18.0, 20.0,
            20.0, 20.0, 19.0, 20.0, 18.0, 20.0,
        ],
        values: &[
            ("mean", "pre", "", 5.6),
            ("sd", "pre", "", 2.073_644_135_332_772),
            ("change", "practice", "pre", 9.590_476_190_476_19),
            ("nap", "practice", "pre", 0.995_238_095_238_095_3),
            ("slope", "practice", "", 0.593_506_493_506_493_4),
            ("p t welch", "practice", "pre", 4.998_550_141_661_568_5e-6),
        ],
    },
    Learner {
        pair: "person308",
        before: &[],
        practice: &[
            249.56, 258.7047, 250.8006, 321.4398, 356.8519, 414.6901, 382.2038, 290.1486, 430.5853,
            466.3535,
        ],
        values: &[
            ("mean", "practice", "", 342.133_83),
            ("sd", "practice", "", 79.821_763_259_124_17),
            ("slope", "practice", "", 21.764_702_424_242_43),
            ("r2", "practice", "", 0.681_513_200_512_588_3),
        ],
    },
    Learner {
        pair: "person335",
        before: &[],
        practice: &[
            241.6083, 273.9472, 254.4907, 270.8021, 251.4519, 254.6362, 245.4523, 235.311,
            235.7541, 237.2466,
        ],
        values: &[
            ("mean", "practice", "", 250.070_04),
            ("sd", "practice", "", 13.833_852_401_201_273),
            ("slope", "practice", "", -2.881_033_939_393_940_4),
            ("r2", "practice", "", 0.397_577_604_390_099_15),
        ],
    },
];

/// Writes a learner's logbook as text files, its claims the library's values at four decimals.
fn write(folder: &Path, learner: &Learner) {
    let folder = folder.join(learner.pair);
    fs::create_dir_all(&folder).unwrap();
    let mut trials = String::from("session,phase,trial,score\n");
    let sessions = learner.before.iter().map(|score| ("pre", score));
    let sessions = sessions.chain(learner.practice.iter().map(|score| ("practice", score)));
    for (index, (phase, score)) in sessions.enumerate() {
        writeln!(trials, "{},{phase},1,{score}", index + 1).unwrap();
    }
    let mut claims = String::from("statistic,phase,versus,value\n");
    for (statistic, phase, versus, value) in learner.values {
        writeln!(claims, "{statistic},{phase},{versus},{value:.4}").unwrap();
    }
    fs::write(
        folder.join("about.csv"),
        format!("key,value\npair,{}\n", learner.pair),
    )
    .unwrap();
    fs::write(folder.join("trials.csv"), trials).unwrap();
    fs::write(folder.join("claims.csv"), claims).unwrap();
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * b.abs().max(1e-3)
}

#[test]
fn blocks_and_claims_are_what_another_library_computes() {
    let cohort = tempfile::tempdir().unwrap();
    for learner in LEARNERS {
        write(cohort.path(), learner);
    }
    Command::cargo_bin("evenhand")
        .unwrap()
        .arg("check")
        .arg(cohort.path())
        .assert()
        .success();
    let mut reader = csv::Reader::from_path(cohort.path().join("out/claims.csv")).unwrap();
    let claims: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let mut blocks = csv::Reader::from_path(cohort.path().join("out/blocks.csv")).unwrap();
    let blocks: Vec<csv::StringRecord> = blocks.records().map(Result::unwrap).collect();
    for learner in LEARNERS {
        let own: Vec<_> = claims
            .iter()
            .filter(|row| &row[0] == learner.pair)
            .collect();
        assert_eq!(own.len(), learner.values.len(), "{}", learner.pair);
        for (row, (statistic, _, _, value)) in own.iter().zip(learner.values) {
            let recomputed: f64 = row[7].parse().unwrap_or_else(|_| panic!("{row:?}"));
            assert!(
                close(recomputed, *value),
                "{} {statistic}: {recomputed}, not {value}",
                learner.pair
            );
            assert_eq!(&row[8], "agrees", "{} {statistic}", learner.pair);
        }
        let practice = blocks
            .iter()
            .find(|row| &row[0] == learner.pair && &row[2] == "practice" && row[3].is_empty())
            .unwrap();
        assert_eq!(practice[4], learner.practice.len().to_string());
        for (statistic, column) in [("mean", 6), ("sd", 8)] {
            let value = learner
                .values
                .iter()
                .find(|(name, phase, _, _)| *name == statistic && *phase == "practice");
            if let Some((_, _, _, value)) = value {
                let given: f64 = practice[column].parse().unwrap();
                assert!(
                    close(given, *value),
                    "{} {statistic}: {given}, not {value}",
                    learner.pair
                );
            }
        }
    }
}
