//! What reading a typical workbook costs, beside merely opening it with calamine and touching every cell.

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

use std::io::Cursor;

use divan::Bencher;
use evenhand::logbook::open::{Limits, open};

fn main() {
    divan::main();
}

/// A logbook with 150 trials and 20 claims, as a spreadsheet library writes it.
fn typical_workbook() -> Vec<u8> {
    let mut workbook = rust_xlsxwriter::Workbook::new();
    let trials = workbook.add_worksheet();
    trials.set_name("Trials").unwrap();
    for (column, name) in (0..).zip(["session", "phase", "trial", "measure", "score", "rater"]) {
        trials.write(0, column, name).unwrap();
    }
    for row in 1..=150 {
        trials.write(row, 0, (row - 1) / 10 + 1).unwrap();
        trials
            .write(row, 1, ["pre", "practice", "post"][row as usize % 3])
            .unwrap();
        trials.write(row, 2, (row - 1) % 10 + 1).unwrap();
        trials.write(row, 3, "accuracy").unwrap();
        trials.write(row, 4, row * 7 % 4 + 1).unwrap();
        trials.write(row, 5, "first").unwrap();
    }
    let claims = workbook.add_worksheet();
    claims.set_name("Claims").unwrap();
    for (column, name) in (0..).zip(["statistic", "measure", "phase", "value", "where"]) {
        claims.write(0, column, name).unwrap();
    }
    for row in 1..=20 {
        claims.write(row, 0, "mean").unwrap();
        claims.write(row, 1, "accuracy").unwrap();
        claims.write(row, 2, "post").unwrap();
        claims.write(row, 3, f64::from(row) / 7.0).unwrap();
        claims.write(row, 4, format!("page {row}")).unwrap();
    }
    workbook.save_to_buffer().unwrap()
}

#[divan::bench]
fn reading_into_grids(bencher: Bencher<'_, '_>) {
    let bytes = typical_workbook();
    bencher.bench(|| {
        open(&bytes, "P1.xlsx", &Limits::default())
            .unwrap()
            .grids
            .len()
    });
}

#[divan::bench]
fn opening_with_calamine_and_touching_every_cell(bencher: Bencher<'_, '_>) {
    use calamine::{Data, Reader, Xlsx, open_workbook_from_rs};
    let bytes = typical_workbook();
    bencher.bench(|| {
        let mut workbook: Xlsx<_> = open_workbook_from_rs(Cursor::new(&bytes)).unwrap();
        let mut touched = 0;
        for name in workbook.sheet_names() {
            let range = workbook.worksheet_range(&name).unwrap();
            touched += range
                .used_cells()
                .filter(|(_, _, cell)| **cell != Data::Empty)
                .count();
        }
        touched
    });
}
