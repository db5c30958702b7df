//! The program killed at random moments: the ledger and the workbooks are whole each time, and nothing typed is lost.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing)] // In a test, a panic is the report.

mod support;

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use support::{Cohort, Typed, grids, mark, shown};

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

#[test]
fn nothing_is_half_written_and_nothing_typed_is_lost() {
    let cohort = Cohort::new(6);
    let begun = Instant::now();
    cohort.done("check", &[]);
    let whole_run = begun.elapsed();
    let mut killed = 0;
    // Delays spread over the run by a fixed sequence (the golden ratio's multiples), so that the test is the same each time.
    for round in 0..36_u32 {
        let workbook = cohort.workbook();
        let value = f64::from(round % 13) / 2.0;
        mark(&workbook, "P03", "testing", &Typed::Number(value));
        let share = (f64::from(round) * 0.618_033_988_75).fract();
        let delay = whole_run.mul_f64(share);
        let command: &[&str] = match round % 3 {
            0 => &["check"],
            1 => &["collect"],
            _ => &["return", "--complete-only"],
        };
        killed += u32::from(killed_after(&cohort, command, delay));
        // The ledger verifies, and the workbook opens and still holds the mark, or the ledger does.
        cohort.done("collect", &["--verify"]);
        assert!(grids(&workbook).len() > 3);
        let in_workbook = shown(&workbook, "Marks", "pair", "P03", "mark testing");
        assert_eq!(in_workbook.parse(), Ok(value), "round {round}");
        cohort.done("collect", &[]);
        assert_eq!(
            cohort.last("P03", "mark testing").unwrap().parse(),
            Ok(value),
            "round {round}"
        );
        if begun.elapsed() > Duration::from_secs(120) {
            break;
        }
    }
    cohort.done("check", &[]);
    assert!(killed > 0, "no run was long enough to be killed");
    let left: Vec<String> = std::fs::read_dir(cohort.path("out"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert!(left.iter().any(|name| name == "moderation.xlsx"));
    assert!(
        !left.iter().any(|name| name.starts_with(".~")),
        "left under way: {left:?}"
    );
}
