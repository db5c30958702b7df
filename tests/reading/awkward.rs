//! Every file of `tests/awkward`, with a snapshot of how it is read: cells, what is hidden, what was noticed, or why it can't be read.

use std::fmt::Write;
use std::path::Path;

use evenhand::logbook::grid::{Cell, Grid, Value};
use evenhand::logbook::open::{Limits, open};
use evenhand::place::cell_name;

#[test]
fn awkward_files_are_read_as_their_snapshots_say() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/awkward");
    let mut names: Vec<String> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name != "README.md")
        .collect();
    names.sort();
    assert!(names.len() > 50, "the files are gone: {names:?}");
    for name in names {
        let bytes = std::fs::read(folder.join(&name)).unwrap();
        insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
            insta::assert_snapshot!(&*name, told(&bytes, &name));
        });
    }
}

/// How a file is read, as text.
fn told(bytes: &[u8], name: &str) -> String {
    let mut out = String::new();
    match open(bytes, name, &Limits::default()) {
        Err(error) => writeln!(out, "not read: {error}").unwrap(),
        Ok(opened) => {
            writeln!(out, "{:?}", opened.kind).unwrap();
            for notice in &opened.notices {
                writeln!(out, "{}: {}", notice.place, notice.what).unwrap();
            }
            for grid in &opened.grids {
                tell_grid(grid, &mut out);
            }
        }
    }
    out
}

fn tell_grid(grid: &Grid, out: &mut String) {
    write!(out, "[{}]", grid.name()).unwrap();
    if grid.hidden {
        out.push_str(" hidden");
    }
    if !grid.hidden_rows.is_empty() {
        write!(out, " hidden rows {:?}", grid.hidden_rows).unwrap();
    }
    if !grid.hidden_columns.is_empty() {
        write!(out, " hidden columns {:?}", grid.hidden_columns).unwrap();
    }
    for merged in &grid.merged {
        let first = cell_name(merged.first_row, merged.first_column);
        let last = cell_name(merged.last_row, merged.last_column);
        write!(out, " merged {first}:{last}").unwrap();
    }
    out.push('\n');
    for cell in &grid.cells {
        let place = grid.place(cell.row, cell.column).to_string();
        let place = place.strip_prefix(&*grid.file).unwrap_or(&place);
        writeln!(out, "{} = {}", place.trim_start(), tell_cell(cell)).unwrap();
    }
}

fn tell_cell(cell: &Cell) -> String {
    let mut out = match &cell.value {
        Value::NotCalculated => "not calculated".to_owned(),
        Value::Number(number) => format!("number {number}"),
        Value::Text(text) => format!("text {text:?}"),
        Value::Truth(truth) => format!("truth {truth}"),
        Value::Date(date) => format!("date {date}"),
        Value::Duration(days) => format!("{days} days"),
        Value::Time(time) => format!("time {time}"),
        Value::Error(text) => format!("error {text}"),
    };
    if let Some(decimals) = cell.shown.decimals {
        write!(out, ", {decimals} decimals").unwrap();
    }
    if cell.shown.percent {
        out.push_str(", percent");
    }
    if let Some(formula) = &cell.formula {
        write!(out, ", formula {formula}").unwrap();
    }
    out
}
