//! The program killed at random moments, some hundreds of times: the ledger and every file are whole each time, and nothing typed is lost.
//!
//! Small cohorts, several at once, for a bounded time. For longer:
//!
//! ```text
//! EVENHAND_KILLS=5000 cargo test --release --test killed -- --ignored
//! ```

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::print_stdout
)] // In a test, a panic is the report.

mod support;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use evenhand::ledger::{Ledger, State, Subject};
use support::{Cohort, Typed, grids, mark, shown};

/// What is run and killed.
const COMMANDS: [&[&str]; 4] = [
    &["check"],
    &["collect"],
    &["return", "--complete-only"],
    &["moderate"],
];

/// Runs a command and kills it after so long; whether it was still running.
fn killed_after(cohort: &Cohort, arguments: &[&str], delay: Duration) -> bool {
    let mut child = Command::new(env!("CARGO_BIN_EXE_evenhand"))
        .arg(arguments[0])
        .arg(cohort.dir())
        .args(&arguments[1..])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    std::thread::sleep(delay);
    let running = child.try_wait().unwrap().is_none();
    child.kill().ok();
    child.wait().unwrap();
    running
}

fn files_in(folder: &Path) -> Vec<PathBuf> {
    let listed = std::fs::read_dir(folder).into_iter().flatten();
    listed.map(|entry| entry.unwrap().path()).collect()
}

/// Every file that the program writes can be read to its end; what was under way has a name of its own.
fn all_is_whole(cohort: &Cohort) {
    for folder in ["out", "returned", "returned/feedback"] {
        for path in files_in(&cohort.path(folder)) {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            let ending = path.extension().map(|e| e.to_string_lossy().into_owned());
            if name.starts_with(".~") {
                continue;
            }
            match ending.as_deref() {
                Some("csv") => {
                    let mut reader = csv::Reader::from_path(&path).unwrap();
                    // Rows as wide as the header, and a line's end after the last.
                    assert!(reader.records().all(|row| row.is_ok()), "{name}");
                    assert!(std::fs::read(&path).unwrap().ends_with(b"\r\n"), "{name}");
                }
                Some("html") => {
                    let page = std::fs::read_to_string(&path).unwrap();
                    assert!(page.trim_end().ends_with("</html>"), "{name}");
                }
                Some("xlsx") => assert!(grids(&path).len() > 3, "{name}"),
                _ => {}
            }
        }
    }
}

/// The mark of the first pair that the ledger has; the chain is verified by reading it.
fn on_ledger(cohort: &Cohort) -> Option<f64> {
    let ledger = Ledger::read(&cohort.path("ledger.csv")).unwrap();
    let state = State::from_entries(ledger.entries());
    let held = state
        .pair("P01")?
        .standing(&Subject::Mark("testing".into()), "")?;
    held.value.parse().ok()
}

/// One cohort, killed so often or until the time is up; how often it was still running, of how many runs.
fn kill(which: u32, rounds: u32, until: Instant) -> (u32, u32) {
    let cohort = Cohort::new(2);
    cohort.done("check", &[]);
    let workbook = cohort.workbook();
    for criterion in ["testing", "programme", "numbers", "thinking"] {
        mark(&workbook, "P01", criterion, &Typed::Number(1.0));
    }
    cohort.done("collect", &[]);
    let whole_runs = COMMANDS.map(|command| {
        let begun = Instant::now();
        cohort.done(command[0], &command[1..]);
        begun.elapsed()
    });
    let (mut killed, mut ran) = (0, 0);
    for round in 0..rounds {
        if Instant::now() > until {
            break;
        }
        // A mark that differs from the last, and a moment spread over the run by a fixed sequence (multiples of the golden ratio), so that
        // the test tries the same each time.
        let value = f64::from(round % 12) / 2.0;
        mark(&workbook, "P01", "testing", &Typed::Number(value));
        let number = f64::from(which * rounds + round);
        let command = (round % 4) as usize;
        let moment = (number * 0.618_033_988_75).fract();
        let delay = whole_runs[command].mul_f64(moment);
        killed += u32::from(killed_after(&cohort, COMMANDS[command], delay));
        ran += 1;
        all_is_whole(&cohort);
        let in_workbook = shown(&workbook, "Marks", "pair", "P01", "mark testing");
        assert_eq!(
            in_workbook.parse(),
            Ok(value),
            "cohort {which}, round {round}"
        );
        let held = on_ledger(&cohort).unwrap();
        if round % 6 == 5 {
            cohort.done("collect", &[]);
            assert_eq!(
                on_ledger(&cohort),
                Some(value),
                "cohort {which}, round {round}"
            );
        } else {
            // Either this mark or one typed before it, whole.
            assert!((held * 2.0).fract() == 0.0 && held <= 6.0, "{held}");
        }
    }
    cohort.done("check", &[]);
    cohort.done("return", &["--complete-only"]);
    for folder in ["", "out", "returned", "returned/feedback"] {
        let left: Vec<PathBuf> = files_in(&cohort.path(folder))
            .into_iter()
            .filter(|path| {
                path.file_name()
                    .unwrap()
                    .to_string_lossy()
                    .starts_with(".~")
            })
            .collect();
        assert!(left.is_empty(), "left under way: {left:?}");
    }
    (killed, ran)
}

/// So many runs in all, on several cohorts at once.
fn kill_many(rounds: u32, at_most: Duration) {
    const COHORTS: u32 = 4;
    let until = Instant::now() + at_most;
    let counts: Vec<(u32, u32)> = std::thread::scope(|scope| {
        let each = rounds.div_ceil(COHORTS);
        let threads: Vec<_> = (0..COHORTS)
            .map(|which| scope.spawn(move || kill(which, each, until)))
            .collect();
        threads.into_iter().map(|one| one.join().unwrap()).collect()
    });
    let killed: u32 = counts.iter().map(|(killed, _)| killed).sum();
    let ran: u32 = counts.iter().map(|(_, ran)| ran).sum();
    println!("{killed} of {ran} runs were killed before their end");
    assert!(killed * 4 > ran, "{killed} of {ran}: too few were running");
}

#[test]
fn nothing_is_half_written_and_nothing_typed_is_lost() {
    kill_many(320, Duration::from_secs(80));
}

#[test]
#[ignore = "as long as it is asked to: see the head of the file"]
fn nothing_is_half_written_however_often() {
    let kills = std::env::var("EVENHAND_KILLS").ok();
    let kills = kills.and_then(|n| n.parse().ok()).unwrap_or(1500);
    kill_many(kills, Duration::from_secs(3600));
}
