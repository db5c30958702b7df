//! Walks down the rows of a sheet and tells where tables begin and end.

use super::header_rows::{Heading, header_cells, split_runs};
use super::open_table::{Open, is_numeric, typed_columns};
use super::rows_of;
use super::{Found, Header, Region, within};
use crate::logbook::aliases::{Aliases, TableKind};
use crate::logbook::cells::starts_as_number;
use crate::logbook::grid::{Cell, Grid, Value};
use crate::logbook::headers::{HeaderCell, table_of};
use crate::logbook::labels::Label;
use crate::logbook::spelling::key;

/// Walks down the rows of a band.
pub(super) struct Walker<'g, 'a> {
    pub(super) grid: &'g Grid,
    pub(super) band: (u32, u32),
    pub(super) named: Option<TableKind>,
    pub(super) aliases: &'a Aliases,
    pub(super) rows: Vec<&'g [Cell]>,
    /// The tables that are open at this row: one, or several side by side.
    pub(super) open: Vec<Open<'g>>,
    pub(super) done: Vec<Region<'g>>,
    /// Rows since the last table, or since the top, that belong to none.
    pub(super) loose: Vec<&'g [Cell]>,
    pub(super) outside: Vec<&'g Cell>,
}

pub(super) fn find_in<'g>(
    grid: &'g Grid,
    band: (u32, u32),
    named: Option<TableKind>,
    aliases: &Aliases,
) -> Found<'g> {
    let mut walker = Walker {
        grid,
        band,
        named,
        aliases,
        rows: rows_of(grid, band),
        open: Vec::new(),
        done: Vec::new(),
        loose: Vec::new(),
        outside: Vec::new(),
    };
    let mut at = 0;
    while at < walker.rows.len() {
        at = walker.step(at);
    }
    walker.finish()
}

impl<'g> Walker<'g, '_> {
    /// Takes one row, or the two rows of a header; gives the next row to take.
    pub(super) fn step(&mut self, at: usize) -> usize {
        let Some(row) = self.rows.get(at).copied() else {
            return at + 1;
        };
        if self
            .open
            .iter_mut()
            .any(|open| open.awaits_values() || open.is_surely_data(row))
        {
            self.take(row);
            return at + 1;
        }
        let next = self.rows.get(at + 1).copied();
        if let Some(tables) = self.header(row, next) {
            return self.begin(at, tables);
        }
        let is_data = self
            .open
            .iter()
            .any(|open| !open.region.keyed && open.fits_as_data(row, self.aliases));
        if !is_data && self.keyed_about(row, next) {
            self.begin_keyed(row);
            return at + 1;
        }
        if !is_data && let Some(tables) = self.supposed(at) {
            return self.begin(at, tables);
        }
        self.take(row);
        at + 1
    }

    /// A row that begins no table belongs to the open ones.
    pub(super) fn take(&mut self, row: &'g [Cell]) {
        if self.open.is_empty() {
            self.loose.push(row);
            return;
        }
        for open in &mut self.open {
            if let Some(cells) = within(row, open.columns) {
                open.region.rows.push(cells);
            }
        }
    }

    /// The tables that a row begins, if it is a header.
    pub(super) fn header(
        &self,
        row: &'g [Cell],
        next: Option<&'g [Cell]>,
    ) -> Option<Vec<Heading<'g>>> {
        if row.len() > 2_000
            || self
                .open
                .iter()
                .any(|open| open.fits_as_data(row, self.aliases))
        {
            return None;
        }
        if next.is_some_and(|next| self.titles_side_by_side(row, next)) {
            return None;
        }
        let named = self.title_name().or(self.named);
        let cells = header_cells(row, self.aliases)?;
        let runs = split_runs(&cells);
        if runs.len() > 1 {
            let kinds: Vec<Option<TableKind>> =
                runs.iter().map(|run| table_of(run, named)).collect();
            if kinds.iter().all(Option::is_some) {
                let tables = runs
                    .iter()
                    .zip(kinds)
                    .filter_map(|(run, kind)| {
                        let span = (run.first()?.column, run.last()?.column);
                        Some(self.heading(row, next, span, kind?))
                    })
                    .collect();
                return Some(tables);
            }
        }
        let kind = table_of(&cells, named)?;
        Some(vec![self.heading(row, next, self.band, kind)])
    }

    /// What the title above the next table names, where there is one.
    pub(super) fn title_name(&self) -> Option<TableKind> {
        let tail = match self.open.first() {
            Some(open) => open.region.rows.last().copied(),
            None => self.loose.last().copied(),
        };
        let title = tail.and_then(lone_text)?;
        match &title.value {
            Value::Text(text) if text.chars().count() <= 60 => self.aliases.table_named(text),
            _ => None,
        }
    }

    /// Ends the open tables and begins those that this row heads; gives the row to go on at.
    pub(super) fn begin(&mut self, at: usize, tables: Vec<Heading<'g>>) -> usize {
        let rows_taken = tables
            .iter()
            .map(|table| table.header_rows)
            .max()
            .unwrap_or(1);
        let header_row = self
            .rows
            .get(at)
            .and_then(|row| row.first())
            .map_or(0, |cell| cell.row);
        let (mut above, of_table) = self.close();
        // The row directly above may be the upper row of this header.
        let upper = above
            .last()
            .copied()
            .filter(|row| row.first().is_some_and(|cell| cell.row + 1 == header_row))
            .filter(|row| self.is_upper_header(row))
            .filter(|row| {
                !self
                    .rows
                    .get(at)
                    .is_some_and(|header| self.titles_side_by_side(row, header))
            });
        if upper.is_some() {
            above.pop();
        }
        let of_titles = |row: &&&'g [Cell]| title_cells(row, tables.len());
        let titles: Vec<&'g Cell> = above
            .iter()
            .rev()
            .map_while(|row| of_titles(&row))
            .take(4)
            .flatten()
            .collect();
        let used = above
            .iter()
            .rev()
            .map_while(|row| of_titles(&row))
            .take(4)
            .count();
        self.put_back(
            above.get(..above.len() - used).unwrap_or_default(),
            of_table,
        );
        let starts: Vec<u32> = tables.iter().map(|table| table.first).collect();
        for (index, table) in tables.into_iter().enumerate() {
            let first = if index == 0 { self.band.0 } else { table.first };
            let last = starts
                .get(index + 1)
                .map_or(self.band.1, |next| next.saturating_sub(1));
            let mut headers = table.headers;
            if let Some(upper) = upper
                && table.header_rows == 1
            {
                let lower: Vec<&'g Cell> =
                    headers.iter().filter_map(|header| header.lower).collect();
                if let (Some(from), Some(to)) = (lower.first(), lower.last())
                    && let Some(row) = self
                        .rows
                        .get(at)
                        .and_then(|row| within(row, (from.column, to.column)))
                {
                    headers =
                        self.two_rows(within(upper, (first, last)).unwrap_or_default(), row, false);
                }
            }
            let titles_here: Vec<&'g Cell> = if starts.len() == 1 {
                titles.iter().rev().copied().collect()
            } else {
                titles
                    .iter()
                    .rev()
                    .copied()
                    .filter(|cell| (first..=last).contains(&cell.column))
                    .collect()
            };
            self.open(table.kind, titles_here, headers, (first, last), false);
            if let Some(open) = self.open.last_mut() {
                open.region.supposed = table.supposed;
            }
        }
        at + rows_taken
    }

    pub(super) fn begin_keyed(&mut self, row: &'g [Cell]) {
        let (above, of_table) = self.close();
        let used = above
            .iter()
            .rev()
            .map_while(|row| title_cells(row, 1))
            .take(4)
            .count();
        let titles = above
            .iter()
            .skip(above.len() - used)
            .filter_map(|row| title_cells(row, 1))
            .flatten()
            .collect();
        self.put_back(
            above.get(..above.len() - used).unwrap_or_default(),
            of_table,
        );
        self.open(TableKind::About, titles, Vec::new(), self.band, true);
        let is_header = row.first().is_some_and(|cell| self.heads_keys(cell))
            && row.get(1).is_some_and(|cell| {
                text_key(cell).is_some_and(|key| self.aliases.about_header(&key) == Some(false))
            });
        if !is_header {
            self.take(row);
        }
    }

    pub(super) fn open(
        &mut self,
        kind: TableKind,
        titles: Vec<&'g Cell>,
        headers: Vec<Header<'g>>,
        columns: (u32, u32),
        keyed: bool,
    ) {
        let cells: Vec<HeaderCell> = headers
            .iter()
            .filter_map(|header| {
                let cell = header.cell()?;
                let mut read = HeaderCell::of(cell, self.aliases)?;
                read.column = header.column;
                Some(read)
            })
            .collect();
        let typed = typed_columns(&cells, kind);
        let mut probes: Vec<u32> = typed
            .iter()
            .filter(|(_, field)| is_numeric(*field))
            .map(|(column, _)| *column)
            .collect();
        probes.extend(
            cells
                .iter()
                .filter(|cell| {
                    kind == TableKind::Trials && (cell.label != Label::default() || cell.date)
                })
                .map(|cell| cell.column),
        );
        probes.sort_unstable();
        probes.dedup();
        self.open.push(Open {
            region: Region {
                grid: self.grid,
                kind,
                titles,
                headers,
                rows: Vec::new(),
                keyed,
                supposed: None,
            },
            columns,
            probes,
            begins: Value::NotCalculated,
            typed,
        });
    }

    /// Ends the open tables. The rows that may belong to the next one, as titles or as an upper header row, come back, and whether they
    /// were taken from the last table.
    pub(super) fn close(&mut self) -> (Vec<&'g [Cell]>, bool) {
        let mut above = std::mem::take(&mut self.loose);
        let mut of_table = false;
        if let [open] = self.open.as_mut_slice() {
            let keep = open.tail_of_titles(self.aliases);
            above = open.region.rows.split_off(open.region.rows.len() - keep);
            of_table = true;
        }
        for open in self.open.drain(..) {
            self.done.push(open.region);
        }
        (above, of_table)
    }

    /// Rows that turned out to be no titles of the next table: they are rows of the last one after all, or of none.
    fn put_back(&mut self, rows: &[&'g [Cell]], of_table: bool) {
        match self.done.last_mut().filter(|_| of_table) {
            Some(region) => region.rows.extend(rows),
            None => self.put_outside(rows),
        }
    }

    /// Whether a row begins an About table with the keys in its first column.
    pub(super) fn keyed_about(&self, row: &[Cell], next: Option<&[Cell]>) -> bool {
        if self.open.iter().any(|open| open.region.keyed) {
            return false;
        }
        let Some(first) = row.first().filter(|_| (1..=4).contains(&row.len())) else {
            return false;
        };
        let is_key =
            |cell: &Cell| text_key(cell).is_some_and(|key| self.aliases.about_key(&key).is_some());
        // A word that comes again is no key: "transfer" down a column of phases.
        let next_is_key = next.and_then(|next| next.first()).is_some_and(|cell| {
            cell.column == first.column && cell.value != first.value && is_key(cell)
        });
        let named = self.title_name().or(self.named) == Some(TableKind::About);
        (is_key(first) && row.len() > 1 && (next_is_key || named))
            || (self.heads_keys(first) && next_is_key)
    }

    pub(super) fn heads_keys(&self, cell: &Cell) -> bool {
        text_key(cell).is_some_and(|key| self.aliases.about_header(&key) == Some(true))
    }

    pub(super) fn put_outside(&mut self, rows: &[&'g [Cell]]) {
        for row in rows {
            let typed =
                |cell: &Cell| matches!(&cell.value, Value::Text(text) if starts_as_number(text));
            // One text that begins with a digit may be prose; several in a row are numbers.
            let several = row.iter().filter(|cell| typed(cell)).count() > 1;
            if let Some(cell) = row
                .iter()
                .find(|cell| matches!(cell.value, Value::Number(_)) || several && typed(cell))
            {
                self.outside.push(cell);
            }
        }
    }

    pub(super) fn finish(mut self) -> Found<'g> {
        let loose = std::mem::take(&mut self.loose);
        let open: Vec<Region<'g>> = self.open.drain(..).map(|open| open.region).collect();
        self.done.extend(open);
        self.put_outside(&loose);
        Found {
            regions: self.done,
            outside: self.outside,
        }
    }
}

/// The texts of a row that may be a title: one text, or one a table for so many tables side by side, and no numbers.
pub(super) fn title_cells(row: &[Cell], tables: usize) -> Option<Vec<&Cell>> {
    (row.len() <= tables.max(3)
        && row
            .iter()
            .all(|cell| matches!(cell.value, Value::Text(_) | Value::Date(_))))
    .then(|| row.iter().collect())
}

pub(super) fn lone_text(row: &[Cell]) -> Option<&Cell> {
    match row {
        [only] if matches!(only.value, Value::Text(_)) => Some(only),
        _ => None,
    }
}

pub(super) fn text_key(cell: &Cell) -> Option<String> {
    match &cell.value {
        Value::Text(text) if text.len() <= 200 => Some(key(text)),
        _ => None,
    }
}
