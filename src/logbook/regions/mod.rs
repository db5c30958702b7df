//! From a grid of cells to its tables: where each begins, what heads it, and which rows belong to it.
//!
//! A sheet may hold one table under title rows, several stacked or side by side, a header in two rows, notes below, blank rows and columns
//! anywhere. A row begins a table where its cells name the columns of one; everything down to the next such row belongs to it.

mod header_rows;
mod open_table;
mod supposed;
mod walker;

use super::aliases::{AboutKey, Aliases, TableKind};
use super::cells::cell_text;
use super::grid::{Cell, Grid};

/// One table of a grid.
#[derive(Debug, Clone)]
pub(crate) struct Region<'g> {
    /// The sheet or text file.
    pub grid: &'g Grid,
    /// Which table.
    pub kind: TableKind,
    /// Texts of the rows directly above the header, top to bottom.
    pub titles: Vec<&'g Cell>,
    /// The header of each column that has one, from left to right.
    pub headers: Vec<Header<'g>>,
    /// The rows below the header that hold something; each row's cells within the table's columns, from left to right.
    pub rows: Vec<&'g [Cell]>,
    /// About tables with the keys in the first column: there is no header row, and every row is a key and its value.
    pub keyed: bool,
    /// Taken for a table of trials though its header names too little of one.
    pub supposed: Option<Supposed>,
}

/// Why rows of numbers under words that were not all recognised are taken for trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Supposed {
    /// The header has a column of phases or trials.
    Named,
    /// The header has neither: it counts only where there is no other table of trials.
    Unnamed,
}

/// The header of one column: one cell, or two where it stands in two rows.
#[derive(Debug, Clone)]
pub(crate) struct Header<'g> {
    /// The column.
    pub column: u32,
    /// The cell of the upper header row, which may stand further left where it heads several columns.
    pub upper: Option<&'g Cell>,
    /// The cell of the lower, or only, header row.
    pub lower: Option<&'g Cell>,
}

impl<'g> Header<'g> {
    /// The cell to show for this column.
    pub(crate) fn cell(&self) -> Option<&Cell> {
        self.lower.or(self.upper)
    }

    /// Its cells, from top to bottom.
    pub(crate) fn cells(&self) -> impl Iterator<Item = &'g Cell> {
        [self.upper, self.lower].into_iter().flatten()
    }

    /// The header as one text.
    pub(crate) fn text(&self) -> String {
        let mut text = String::new();
        for cell in self.cells() {
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(&cell_text(cell));
        }
        text
    }
}

/// The tables of a grid, and the rows with numbers that belong to none.
#[derive(Debug, Default)]
pub(crate) struct Found<'g> {
    /// The tables, in reading order.
    pub regions: Vec<Region<'g>>,
    /// Rows outside every table that hold a number, as their first such cells.
    pub outside: Vec<&'g Cell>,
}

/// Finds the tables of a grid.
pub(crate) fn find<'g>(grid: &'g Grid, aliases: &Aliases) -> Found<'g> {
    let named = aliases.table_named(grid.name());
    let bands = bands(grid);
    if bands.len() > 1 {
        let found: Vec<Found> = bands
            .iter()
            .map(|band| walker::find_in(grid, *band, named, aliases))
            .collect();
        let heads_by = |counts: &dyn Fn(&Region) -> bool| -> Vec<bool> {
            found
                .iter()
                .map(|found| found.regions.iter().any(counts))
                .collect()
        };
        let mut heads = heads_by(&|region| region.supposed.is_none());
        if !heads.contains(&true) {
            heads = heads_by(&|_| true);
        }
        if heads.iter().filter(|heads| **heads).count() > 1 {
            let mut found = Found::default();
            for band in join_headless(&bands, &heads) {
                let mut part = walker::find_in(grid, band, named, aliases);
                found.regions.append(&mut part.regions);
                found.outside.append(&mut part.outside);
            }
            return found;
        }
    }
    walker::find_in(grid, (0, u32::MAX), named, aliases)
}

/// The blocks of columns between columns that are empty on the whole sheet, as first and last column.
fn bands(grid: &Grid) -> Vec<(u32, u32)> {
    let mut columns: Vec<u32> = Vec::new();
    let mut last = None;
    // Most rows repeat the columns of the row above: sorting a deduplicated list keeps this cheap.
    let mut seen = [false; 64];
    for cell in &grid.cells {
        let column = cell.column;
        match usize::try_from(column).ok().and_then(|at| seen.get_mut(at)) {
            Some(seen) if *seen => continue,
            Some(seen) => *seen = true,
            None if last == Some(column) => continue,
            None => {}
        }
        last = Some(column);
        columns.push(column);
    }
    columns.sort_unstable();
    columns.dedup();
    let mut bands: Vec<(u32, u32)> = Vec::new();
    for column in columns {
        match bands.last_mut() {
            Some((_, end)) if *end + 1 == column => *end = column,
            _ => bands.push((column, column)),
        }
    }
    bands
}

/// Bands without a header of their own belong to the band on their left, the first to the one on its right.
fn join_headless(bands: &[(u32, u32)], heads: &[bool]) -> Vec<(u32, u32)> {
    let mut joined: Vec<(u32, u32)> = Vec::new();
    let mut open_start = None;
    for (band, has_header) in bands.iter().zip(heads) {
        if *has_header {
            joined.push((open_start.take().unwrap_or(band.0), band.1));
        } else if let Some(left) = joined.last_mut() {
            left.1 = band.1;
        } else {
            open_start = open_start.or(Some(band.0));
        }
    }
    joined
}

/// One row's cells within the band.
fn rows_of(grid: &Grid, band: (u32, u32)) -> Vec<&[Cell]> {
    grid.cells
        .chunk_by(|a, b| a.row == b.row)
        .filter_map(|row| within(row, band))
        .collect()
}

fn within(row: &[Cell], (first, last): (u32, u32)) -> Option<&[Cell]> {
    let whole = row.first().is_some_and(|cell| cell.column >= first)
        && row.last().is_some_and(|cell| cell.column <= last);
    if whole {
        return Some(row);
    }
    let start = row.partition_point(|cell| cell.column < first);
    let end = row.partition_point(|cell| cell.column <= last);
    row.get(start..end).filter(|cells| !cells.is_empty())
}

/// The About key that a cell names.
pub(crate) fn about_key(cell: &Cell, aliases: &Aliases) -> Option<AboutKey> {
    walker::text_key(cell).and_then(|key| aliases.about_key(&key))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn kinds(grid: &Grid) -> Vec<(TableKind, usize)> {
        find(grid, &Aliases::default())
            .regions
            .iter()
            .map(|region| (region.kind, region.rows.len()))
            .collect()
    }

    #[test]
    fn a_table_under_title_rows_with_notes_below() {
        let grid = Grid::from_rows(
            "Sheet1",
            &[
                "Skill programme of pair 7",
                "",
                "|Raw scores",
                "|phase|trial|score",
                "|pre|1|3",
                "|pre|2|2",
                "",
                "|post|1|4",
                "",
                "|Scores are out of four.",
            ],
        );
        let found = find(&grid, &Aliases::default());
        assert_eq!(found.regions.len(), 1);
        let region = &found.regions[0];
        assert_eq!(region.kind, TableKind::Trials);
        assert_eq!(region.rows.len(), 4);
        assert_eq!(region.titles.len(), 2);
        assert!(found.outside.is_empty());
    }

    #[test]
    fn all_tables_stacked_on_one_sheet() {
        let grid = Grid::from_rows(
            "Logbook",
            &[
                "About",
                "key|value",
                "pair|P07",
                "coach|S01",
                "learner|S02",
                "start|@2026-03-02",
                "",
                "Measures",
                "measure|kind|unit|better|lowest|highest|step|target",
                "accuracy|rating|points|higher|1|4|1",
                "",
                "Sessions",
                "session|date|week|phase|minutes|order|variety|part|feedback|feedback %|content|notes",
                "1|@2026-03-02|1|pre|30",
                "2|@2026-03-04|1|practice|40|blocked|constant|whole|results|100|drills",
                "Trials",
                "session|date|phase|trial|measure|score|x|y|condition|rater|estimate|notes",
                "1|@2026-03-02|pre|1|accuracy|3",
                "1|@2026-03-02|pre|2|accuracy|2",
                "Technique",
                "phase|element|rating|observer",
                "pre|grip|yes|S01",
                "Claims",
                "statistic|measure|phase|versus|value|unit|where",
                "mean|accuracy|pre||2.5|points|p. 3",
                "percent change|accuracy|post|pre|'12,5|%|p. 4",
            ],
        );
        assert_eq!(
            kinds(&grid),
            [
                (TableKind::About, 4),
                (TableKind::Measures, 1),
                (TableKind::Sessions, 2),
                (TableKind::Trials, 2),
                (TableKind::Technique, 1),
                (TableKind::Claims, 2),
            ]
        );
    }

    #[test]
    fn tables_side_by_side() {
        let grid = Grid::from_rows(
            "Scores",
            &[
                "Pre-test|||Post-test",
                "Trial|Score||Trial|Score",
                "1|2||1|4",
                "2|3||2|3",
            ],
        );
        let found = find(&grid, &Aliases::default());
        assert_eq!(found.regions.len(), 2);
        assert!(found.regions.iter().all(|region| region.rows.len() == 2));
        assert_eq!(cell_text(found.regions[1].titles[0]), "Post-test");
        let touching = Grid::from_rows("Scores", &["Trial|Score|Trial|Score", "1|2|1|4"]);
        assert_eq!(kinds(&touching).len(), 2);
    }

    #[test]
    fn a_header_in_two_rows() {
        let grid = Grid::from_rows(
            "Scores",
            &[
                "|Pre|||Post||",
                "Learner|T1|T2|T3|T1|T2|T3",
                "Ana|1|2|3|2|3|4",
            ],
        );
        let found = find(&grid, &Aliases::default());
        assert_eq!(found.regions.len(), 1);
        let headers: Vec<String> = found.regions[0].headers.iter().map(Header::text).collect();
        assert_eq!(
            headers,
            [
                "Learner", "Pre T1", "Pre T2", "Pre T3", "Post T1", "Post T2", "Post T3"
            ]
        );
        assert_eq!(found.regions[0].rows.len(), 1);

        let words = Grid::from_rows(
            "Scores",
            &["Test|Trial|Score", "phase|number|(1-4)", "pre|1|3"],
        );
        let found = find(&words, &Aliases::default());
        assert_eq!(found.regions.len(), 1);
        assert_eq!(found.regions[0].headers[0].text(), "Test phase");
        assert_eq!(found.regions[0].rows.len(), 1);
    }

    #[test]
    fn a_header_repeated_and_rows_of_phase_words() {
        let grid = Grid::from_rows(
            "Trials",
            &[
                "phase|trial|score",
                "pre|1|3",
                "phase|trial|score",
                "post|1|absent",
                "post|2|4",
            ],
        );
        assert_eq!(
            kinds(&grid),
            [(TableKind::Trials, 1), (TableKind::Trials, 2)]
        );
        let wide = Grid::from_rows(
            "Data",
            &["Phase|1|2|3", "Pre|1|2|3", "Phase|1|2|3", "Post|2|3|4"],
        );
        assert_eq!(
            kinds(&wide),
            [(TableKind::Trials, 1), (TableKind::Trials, 1)]
        );
    }

    #[test]
    fn a_spacer_column_does_not_part_a_table() {
        let grid = Grid::from_rows(
            "Data",
            &[
                "Phase|T1|T2|T3||Average|SD",
                "Pre|1|2|3||2|1",
                "Post|3|3|3||3|0",
            ],
        );
        assert_eq!(kinds(&grid), [(TableKind::Trials, 2)]);
    }

    #[test]
    fn numbers_outside_every_table_are_told() {
        let grid = Grid::from_rows("Odd", &["foo|bar", "1|2", "3|4"]);
        let found = find(&grid, &Aliases::default());
        assert!(found.regions.is_empty());
        assert_eq!(found.outside.len(), 2);
    }
}
