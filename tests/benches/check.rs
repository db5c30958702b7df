//! What the whole of `check` costs, and how that grows with the cohort, beside merely opening every workbook and touching each cell, on as
//! many cores. The cohorts are invented, a sound workbook a pair, and made anew when the bench begins.

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

mod baseline;

use std::fs::{self, File};
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use clap::Parser as _;
use divan::Bencher;
use evenhand::cli::Cli;
use evenhand::commands::{Exit, Widths, run};
use evenhand::rehearsal::{Plan, rehearse};
use rayon::prelude::*;
use tempfile::TempDir;

const PAIRS: [usize; 3] = [100, 1_000, 10_000];

fn main() {
    divan::main();
}

struct Cohort {
    folder: TempDir,
}

impl Cohort {
    fn new(pairs: usize) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let plan = Plan {
            pairs,
            seed: 1,
            mess: 0.2,
            markers: 4,
            plain: true,
        };
        rehearse(folder.path(), &plan).unwrap();
        Self { folder }
    }

    fn path(&self) -> &Path {
        self.folder.path()
    }

    fn hand_ins(&self) -> Vec<PathBuf> {
        let listed = fs::read_dir(self.path().join("submissions")).unwrap();
        listed.map(|entry| entry.unwrap().path()).collect()
    }

    fn forget_results(&self) {
        fs::remove_dir_all(self.path().join("out")).ok();
    }

    fn check(&self) {
        let folder = self.path().to_str().unwrap();
        let cli = Cli::parse_from(["evenhand", "check", folder, "--quiet"]);
        assert_eq!(
            run(&cli, &mut io::sink(), &mut io::sink(), Widths::default()),
            Exit::Done
        );
    }
}

#[divan::bench(args = PAIRS, sample_count = 3, sample_size = 1)]
fn check(bencher: Bencher<'_, '_>, pairs: usize) {
    let cohort = Cohort::new(pairs);
    bencher
        .with_inputs(|| cohort.forget_results())
        .bench_local_values(|()| cohort.check());
}

/// With what the check before has kept, after one pair handed in anew.
#[divan::bench(args = PAIRS, sample_count = 3, sample_size = 1)]
fn check_after_one_changed(bencher: Bencher<'_, '_>, pairs: usize) {
    let cohort = Cohort::new(pairs);
    cohort.check();
    let changed = cohort.hand_ins().into_iter().min().unwrap();
    bencher
        .with_inputs(|| {
            let mut file = File::options().append(true).open(&changed).unwrap();
            // Bytes after its end leave a workbook as it is: only its digest changes.
            file.write_all(b"again").unwrap();
        })
        .bench_local_values(|()| cohort.check());
}

#[divan::bench(args = PAIRS, sample_count = 3, sample_size = 1)]
fn opening_with_calamine_and_touching_every_cell(bencher: Bencher<'_, '_>, pairs: usize) {
    let cohort = Cohort::new(pairs);
    let hand_ins = cohort.hand_ins();
    bencher.bench_local(|| {
        let touched =
            |path: &PathBuf| baseline::cells_touched(io::BufReader::new(File::open(path).unwrap()));
        hand_ins.par_iter().map(touched).sum::<usize>()
    });
}
