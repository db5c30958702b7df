//! Recognising our sheets in a workbook that came back: by the hidden row of keys, else by the columns' headers.

use crate::logbook::grid::{Grid, Value};
use crate::report::workbook::sheet::{Column, SHEET_MARK};

use super::values::shown;

/// A sheet that the program writes: its own name and its columns.
#[derive(Debug, Clone)]
pub struct Layout {
    /// The sheet's own name.
    pub name: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
}

/// One of our sheets, found in a grid.
#[derive(Debug)]
pub struct OurSheet<'a> {
    /// The sheet.
    pub grid: &'a Grid,
    /// The key of each column that has one.
    pub keys: Vec<(u32, String)>,
    /// The first row of data, from 0.
    pub first_row: u32,
}

/// What a grid is to us.
#[derive(Debug)]
pub enum Recognised<'a> {
    /// One of our sheets.
    Ours(OurSheet<'a>),
    /// One of our sheets without its row of keys, whose headers don't tell the columns apart.
    Garbled,
    /// Something else.
    Other,
}

/// Recognises a grid.
pub fn recognise<'a>(grid: &'a Grid, layouts: &[Layout]) -> Recognised<'a> {
    if let Some(KeyRow { row, keys, name }) = key_row(grid) {
        let titles: Vec<(&str, u32)> = layouts
            .iter()
            .filter(|layout| layout.name == name)
            .map(|layout| titles(layout, &keys))
            // The instructor's sheet and a marker's have one name: the one with more of these keys it is.
            .max_by_key(Vec::len)
            .unwrap_or_default();
        let header = header_row(grid, row, &titles);
        return Recognised::Ours(OurSheet {
            grid,
            keys,
            first_row: header.unwrap_or(row) + 1,
        });
    }
    by_headers(grid, layouts)
}

/// The hidden row of keys.
struct KeyRow {
    row: u32,
    keys: Vec<(u32, String)>,
    /// The sheet's own name.
    name: String,
}

/// The row of keys, wherever it was moved.
fn key_row(grid: &Grid) -> Option<KeyRow> {
    let (row, name) = grid.cells.iter().find_map(|cell| {
        let Value::Text(text) = &cell.value else {
            return None;
        };
        let rest = text.strip_prefix(SHEET_MARK)?;
        let (name, key) = rest.split_once(": ")?;
        // A key has no space but the one after `mark` and the like, and no line in it: a comment that begins like this is none.
        (!key.contains('\n') && key.len() < 80).then(|| (cell.row, name.to_owned()))
    })?;
    let mark = format!("{SHEET_MARK}{name}: ");
    let keys = grid
        .row(row)
        .iter()
        .filter_map(|cell| match &cell.value {
            Value::Text(text) => {
                let key = text.strip_prefix(&*mark).unwrap_or(text).trim();
                Some((cell.column, key.to_owned()))
            }
            _ => None,
        })
        .collect();
    Some(KeyRow { row, keys, name })
}

/// The titles that the columns with these keys were written with.
fn titles<'l>(layout: &'l Layout, keys: &[(u32, String)]) -> Vec<(&'l str, u32)> {
    keys.iter()
        .filter_map(|(at, key)| {
            let column = layout.columns.iter().find(|column| column.key == *key)?;
            Some((column.title.as_str(), *at))
        })
        .collect()
}

/// The row of headers below the row of keys: the first where most columns hold their titles.
fn header_row(grid: &Grid, key_row: u32, titles: &[(&str, u32)]) -> Option<u32> {
    // Far more rows than anybody inserts above a table.
    const LOOKED_AT: u32 = 60;
    (key_row + 1..grid.rows().min(key_row + LOOKED_AT)).find(|row| {
        let there = titles
            .iter()
            .filter(|(title, column)| same_title(grid, *row, *column, title))
            .count();
        there > 0 && there * 2 > titles.len()
    })
}

fn same_title(grid: &Grid, row: u32, column: u32, title: &str) -> bool {
    grid.get(row, column)
        .is_some_and(|cell| compared(&shown(&cell.value)) == compared(title))
}

fn compared(title: &str) -> String {
    title
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
        .to_lowercase()
}

/// A sheet whose row of keys was deleted: the layout most of whose titles stand in one row. Titles that several columns share are told apart
/// by the header over them.
fn by_headers<'a>(grid: &'a Grid, layouts: &[Layout]) -> Recognised<'a> {
    const LOOKED_AT: u32 = 60;
    for row in 0..grid.rows().min(LOOKED_AT) {
        let cells: Vec<(u32, String)> = grid
            .row(row)
            .iter()
            .map(|cell| (cell.column, compared(&shown(&cell.value))))
            .collect();
        if cells.len() < 4 {
            continue;
        }
        let known = |layout: &Layout, title: &str| {
            layout
                .columns
                .iter()
                .any(|column| compared(&column.title) == title)
        };
        let there = |layout: &Layout| {
            let titles = cells.iter().filter(|(_, title)| known(layout, title));
            titles.count()
        };
        // The layout that explains most titles: a marker's sheet has all of the instructor's and more. Of equals, the first.
        let best = layouts
            .iter()
            .filter(|layout| there(layout) >= 4 && there(layout) * 2 >= layout.columns.len())
            .rev()
            .max_by_key(|layout| there(layout));
        if let Some(layout) = best {
            let known = |title: &str| known(layout, title);
            let mut keys: Vec<(u32, String)> = Vec::new();
            let mut told = true;
            for (column, title) in cells.iter().filter(|(_, title)| known(title)) {
                match key_by_title(grid, row, *column, title, layout) {
                    Some(key) if keys.iter().all(|(_, known)| *known != key) => {
                        keys.push((*column, key));
                    }
                    // A column to fill in that can't be told, or is there twice: anything else would be a guess.
                    _ => told &= !is_to_fill_in(layout, title),
                }
            }
            let any = keys.iter().any(|(_, key)| {
                let column = layout.columns.iter().find(|column| column.key == *key);
                column.is_some_and(|column| column.entry.is_some()) || key == "claimed"
            });
            return if told && any {
                Recognised::Ours(OurSheet {
                    grid,
                    keys,
                    first_row: row + 1,
                })
            } else {
                Recognised::Garbled
            };
        }
    }
    Recognised::Other
}

fn is_to_fill_in(layout: &Layout, title: &str) -> bool {
    layout
        .columns
        .iter()
        .any(|column| column.entry.is_some() && compared(&column.title) == title)
}

fn key_by_title(
    grid: &Grid,
    row: u32,
    column: u32,
    title: &str,
    layout: &Layout,
) -> Option<String> {
    let candidates: Vec<&Column> = layout
        .columns
        .iter()
        .filter(|candidate| compared(&candidate.title) == title)
        .collect();
    if let [only] = candidates.as_slice() {
        return Some(only.key.clone());
    }
    // The nearest header at or left of the column, in the row over the titles.
    let over = grid
        .row(row.checked_sub(1)?)
        .iter()
        .filter(|cell| cell.column <= column)
        .map(|cell| compared(&shown(&cell.value)))
        .rfind(|text| !text.is_empty())?;
    let mut of_group = candidates
        .iter()
        .filter(|candidate| compared(&candidate.group) == over);
    let first = of_group.next()?;
    of_group.next().is_none().then(|| first.key.clone())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::grid::Source;
    use crate::report::workbook::sheet::EntryRule;
    use crate::report::workbook::style::Look;

    fn grid(rows: &[&[&str]]) -> Grid {
        let lines: Vec<String> = rows.iter().map(|cells| cells.join("|")).collect();
        Grid {
            source: Source::Sheet("Renamed".into()),
            ..Grid::from_text("out/moderation.xlsx", &lines)
        }
    }

    fn layout() -> Layout {
        let rule = || EntryRule::Number {
            least: 0.0,
            most: 10.0,
        };
        Layout {
            name: "Marks",
            columns: vec![
                Column::shown("pair", "Pair", 9.0, Look::Text),
                Column::entry("mark testing", "Mark", 9.0, rule()).under("Testing (of 10)"),
                Column::entry("mark claims", "Mark", 9.0, rule()).under("Claims (of 10)"),
                Column::entry(
                    "comment overall",
                    "Comment for the pair",
                    9.0,
                    EntryRule::Text,
                ),
            ],
        }
    }

    #[test]
    fn keys_are_found_wherever_they_were_moved() {
        let grid = grid(&[
            &[],
            &[
                "",
                "mark claims",
                "mine",
                "evenhand Marks: pair",
                "mark testing",
                "comment overall",
            ],
            &["", "", "", "Marks"],
            &[
                "my own",
                "Mark",
                "Notes",
                "Pair",
                "Mark",
                "Comment for the pair",
            ],
            &["", "4", "", "P01", "7"],
        ]);
        let Recognised::Ours(sheet) = recognise(&grid, &[layout()]) else {
            panic!("not recognised");
        };
        assert_eq!(sheet.first_row, 4);
        assert!(sheet.keys.contains(&(1, "mark claims".into())));
        assert!(sheet.keys.contains(&(3, "pair".into())));
    }

    #[test]
    fn headers_serve_where_the_keys_were_deleted() {
        let with_groups = grid(&[
            &["", "Testing (of 10)", "Claims (of 10)"],
            &["Pair", "Mark", "Mark", "Comment for the pair"],
            &["P01", "7", "4"],
        ]);
        let Recognised::Ours(sheet) = recognise(&with_groups, &[layout()]) else {
            panic!("not recognised");
        };
        assert!(sheet.keys.contains(&(2, "mark claims".into())));
        // Without the headers over them, two columns named Mark can't be told apart.
        let without = grid(&[
            &["Pair", "Mark", "Mark", "Comment for the pair"],
            &["P01", "7", "4"],
        ]);
        assert!(matches!(
            recognise(&without, &[layout()]),
            Recognised::Garbled
        ));
        let other = grid(&[
            &["Groceries", "Price", "Shop", "Day"],
            &["tea", "3", "x", "y"],
        ]);
        assert!(matches!(recognise(&other, &[layout()]), Recognised::Other));
    }
}
