//! A typical hand-in to measure on: four tests of ten trials rated 1 to 10, ten practice sessions of eleven, and twenty claims.

#![allow(dead_code, reason = "each bench uses a part of it")]

use evenhand::logbook::model::Logbook;
use evenhand::logbook::open::{Limits, open};
use evenhand::logbook::settings::ReadingSettings;
use rust_xlsxwriter::{Workbook, Worksheet, XlsxError};

/// Phase, session number and trials of each session.
const SESSIONS: [(&str, u32, u32); 14] = [
    ("pre", 1, 10),
    ("practice", 2, 11),
    ("practice", 3, 11),
    ("practice", 4, 11),
    ("practice", 5, 11),
    ("practice", 6, 11),
    ("practice", 7, 11),
    ("practice", 8, 11),
    ("practice", 9, 11),
    ("practice", 10, 11),
    ("practice", 11, 11),
    ("post", 12, 10),
    ("retention", 13, 10),
    ("transfer", 14, 10),
];

/// Statistic, phase and earlier phase of twenty claims.
const CLAIMS: [(&str, &str, &str); 20] = [
    ("mean", "pre", ""),
    ("sd", "pre", ""),
    ("median", "pre", ""),
    ("mean", "post", ""),
    ("sd", "post", ""),
    ("median", "post", ""),
    ("mean", "retention", ""),
    ("sd", "retention", ""),
    ("mean", "transfer", ""),
    ("sd", "transfer", ""),
    ("mean", "practice 3", ""),
    ("mean", "practice", ""),
    ("change", "post", "pre"),
    ("percent change", "post", "pre"),
    ("percent improvement", "retention", "pre"),
    ("d", "post", "pre"),
    ("p t paired", "post", "pre"),
    ("retained gain", "retention", ""),
    ("transferred gain", "transfer", ""),
    ("slope", "practice", ""),
];

/// The hand-in as a spreadsheet library writes it. `stated` gives the number that each claim states, by its place in the list.
pub fn workbook(stated: impl Fn(usize) -> f64) -> Vec<u8> {
    let mut workbook = Workbook::new();
    fill(&mut workbook, stated).unwrap();
    workbook.save_to_buffer().unwrap()
}

fn fill(workbook: &mut Workbook, stated: impl Fn(usize) -> f64) -> Result<(), XlsxError> {
    let measures = headed(
        workbook,
        "Measures",
        &["measure", "kind", "better", "lowest", "highest", "step"],
    )?;
    for (column, text) in (0..).zip(["accuracy", "rating", "higher"]) {
        measures.write(1, column, text)?;
    }
    for (column, number) in (3..).zip([1, 10, 1]) {
        measures.write(1, column, number)?;
    }
    trials(headed(
        workbook,
        "Trials",
        &[
            "session",
            "date",
            "phase",
            "trial",
            "measure",
            "score",
            "condition",
            "rater",
        ],
    )?)?;
    let claims = headed(
        workbook,
        "Claims",
        &["statistic", "measure", "phase", "versus", "value", "where"],
    )?;
    for (row, (place, (statistic, phase, versus))) in (1..).zip(CLAIMS.iter().enumerate()) {
        claims.write(row, 0, *statistic)?;
        claims.write(row, 1, "accuracy")?;
        claims.write(row, 2, *phase)?;
        claims.write(row, 3, *versus)?;
        claims.write(row, 4, stated(place))?;
        claims.write(row, 5, format!("page {row}"))?;
    }
    Ok(())
}

fn headed<'a>(
    workbook: &'a mut Workbook,
    name: &str,
    header: &[&str],
) -> Result<&'a mut Worksheet, XlsxError> {
    let sheet = workbook.add_worksheet().set_name(name)?;
    for (column, title) in (0..).zip(header) {
        sheet.write(0, column, *title)?;
    }
    Ok(sheet)
}

/// Ratings that rise with the session, scattered by a fixed sequence of digits.
fn trials(sheet: &mut Worksheet) -> Result<(), XlsxError> {
    let mut row = 0_u32;
    for (phase, session, count) in SESSIONS {
        for number in 1..=count {
            row += 1;
            // Digits of a linear congruential sequence stand for the scatter of trials.
            let digit = row.wrapping_mul(1_103_515_245_u32).wrapping_add(12_345) >> 16;
            sheet.write(row, 0, session)?;
            sheet.write(row, 1, format!("2026-03-{:02}", session * 2))?;
            sheet.write(row, 2, phase)?;
            sheet.write(row, 3, number)?;
            sheet.write(row, 4, "accuracy")?;
            sheet.write(row, 5, (2 + session / 3 + digit % 5).min(10))?;
            sheet.write(row, 6, "3 m")?;
            sheet.write(row, 7, "first")?;
        }
    }
    Ok(())
}

/// The hand-in as it is read.
pub fn logbook(stated: impl Fn(usize) -> f64) -> Logbook {
    let opened = open(&workbook(stated), "P1.xlsx", &Limits::default()).unwrap();
    evenhand::logbook::read("P1.xlsx", &opened.grids, &ReadingSettings::default())
}
