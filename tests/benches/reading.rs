//! What reading a typical workbook costs, beside merely opening it with calamine and touching every cell.

#![expect(clippy::unwrap_used, reason = "a bench may panic")]

mod baseline;
mod typical;

use std::io::Cursor;

use divan::Bencher;
use evenhand::logbook::open::{Limits, open};
use evenhand::logbook::read;
use evenhand::logbook::settings::ReadingSettings;

fn main() {
    divan::main();
}

#[divan::bench]
fn reading_into_grids(bencher: Bencher<'_, '_>) {
    let bytes = typical::workbook(|_| 0.0);
    let limits = Limits::default();
    bencher.bench_local(|| open(&bytes, "P1.xlsx", &limits).unwrap());
}

#[divan::bench]
fn finding_tables_in_grids_and_reading_them(bencher: Bencher<'_, '_>) {
    let bytes = typical::workbook(|_| 0.0);
    let opened = open(&bytes, "P1.xlsx", &Limits::default()).unwrap();
    let settings = ReadingSettings::default();
    bencher.bench_local(|| read("P1.xlsx", &opened.grids, &settings));
}

#[divan::bench]
fn opening_with_calamine_and_touching_every_cell(bencher: Bencher<'_, '_>) {
    let bytes = typical::workbook(|_| 0.0);
    bencher.bench_local(|| baseline::cells_touched(Cursor::new(&bytes)));
}
