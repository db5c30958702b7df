//! Rows of numbers under words that no table has: what a pair recorded under names of its own is not dropped, but told column by column.

use super::Supposed;
use super::header_rows::Heading;
use super::walker::{Walker, lone_text};
use super::within;
use crate::logbook::aliases::{Field, TableKind};
use crate::logbook::cells::starts_as_number;
use crate::logbook::columns::cell_at;
use crate::logbook::grid::{Cell, Value};
use crate::logbook::headers::HeaderCell;
use crate::logbook::labels::Label;
use crate::logbook::spelling::numbered;

/// A cell with more than this is prose.
const LONGEST_NAME: usize = 250;

/// Rows below a header that are looked at.
const ROWS: usize = 5;

impl<'g> Walker<'g, '_> {
    /// Tables of trials that begin at this row by all but the names of their columns: words, and numbers below them. Several stand side by
    /// side where the first column comes again.
    pub(super) fn supposed(&self, at: usize) -> Option<Vec<Heading<'g>>> {
        let row = self.rows.get(at).copied()?;
        if row.len() < 2 || row.len() > 2_000 || !self.may_begin_below(at) {
            return None;
        }
        let below = self.rows.get(at + 1..)?;
        let next = below.first().copied();
        if next.is_some_and(|next| self.titles_side_by_side(row, next)) {
            return None;
        }
        let heading = |span: (u32, u32)| {
            let supposed = self.supposed_within(within(row, span)?, below, span)?;
            Some(Heading {
                supposed: Some(supposed),
                ..self.heading(row, next, span, TableKind::Trials)
            })
        };
        if let Some(spans) = repeated_spans(row) {
            let several: Option<Vec<Heading>> = spans.into_iter().map(heading).collect();
            if let Some(several) = several.filter(|tables| {
                tables
                    .iter()
                    .all(|table| table.supposed == Some(Supposed::Named))
            }) {
                return Some(several);
            }
        }
        Some(vec![heading(self.band)?])
    }

    /// Whether a row holds the titles of tables that stand side by side without a gap: each above the word that begins its header, and that
    /// header names what a row is.
    pub(super) fn titles_side_by_side(&self, row: &[Cell], header: &[Cell]) -> bool {
        if row.len() < 2 || row.len() * 2 > header.len() {
            return false;
        }
        let Some(spans) = repeated_spans(header) else {
            return false;
        };
        let of_rows = |cell: &Cell| {
            HeaderCell::of(cell, self.aliases).is_some_and(|read| {
                [Field::Trial, Field::Session, Field::Date]
                    .into_iter()
                    .any(|field| read.may_be(TableKind::Trials, field))
                    && read.label == Label::default()
            })
        };
        row.len() == spans.len()
            && row
                .iter()
                .zip(&spans)
                .all(|(cell, span)| cell.column == span.0)
            && header.first().is_some_and(of_rows)
    }

    /// Whether these cells head a table of trials, by what they name and what stands below.
    fn supposed_within(
        &self,
        row: &[Cell],
        below: &[&'g [Cell]],
        span: (u32, u32),
    ) -> Option<Supposed> {
        let words = |cell: &Cell| matches!(&cell.value, Value::Text(text) if !starts_as_number(text) && text.chars().count() <= LONGEST_NAME);
        if row.iter().filter(|cell| words(cell)).count() < 2 {
            return None;
        }
        let below: Vec<&[Cell]> = below
            .iter()
            .take(ROWS)
            .filter_map(|row| within(row, span))
            .collect();
        let numbers = below
            .iter()
            .filter(|row| row.len() > 1 && row.iter().any(holds_number))
            .count();
        if numbers < 2 {
            return None;
        }
        let (mut trial, mut phase, mut computed) = (false, None, false);
        let (mut of_table, mut names, mut counted) = (0, 0, 0);
        for cell in row {
            if !words(cell) {
                // A number or a date may head a column of a table that shows itself by others.
                if !matches!(
                    &cell.value,
                    Value::Number(_) | Value::Date(_) | Value::Text(_)
                ) {
                    return None;
                }
                continue;
            }
            let Some(read) = HeaderCell::of(cell, self.aliases) else {
                names += 1;
                continue;
            };
            trial |= read.may_be(TableKind::Trials, Field::Trial);
            if read.may_be(TableKind::Trials, Field::Phase) {
                phase = phase.or(Some(cell.column));
            }
            of_table += usize::from(read.fields.iter().any(|(of, _)| *of == TableKind::Trials));
            let name = read.fields.is_empty() && !read.computed && read.about.is_none();
            names += usize::from(name);
            counted += usize::from(name && counts(cell));
            computed |= read.computed;
        }
        let all_words = row.iter().all(words);
        let without_header = below.iter().any(|below| {
            below
                .iter()
                .any(|cell| holds_number(cell) && cell_at(row, cell.column).is_none())
        });
        if !(all_words || of_table >= 2) || names == 0 && all_words && !without_header {
            return None;
        }
        // One row a phase is a pair's summary; trials name theirs again and again.
        let repeats = phase.is_some_and(|column| {
            below.windows(2).any(|rows| {
                let of = |at: usize| rows.get(at).and_then(|row| cell_at(row, column));
                of(0).is_some() && of(0).map(|cell| &cell.value) == of(1).map(|cell| &cell.value)
            })
        });
        // "Wurf 1", "Wurf 2", "Wurf 3": columns that count.
        if trial || counted >= 3 || repeats && !computed {
            return Some(Supposed::Named);
        }
        let named = self.title_name().or(self.named);
        let other = named.is_some_and(|kind| kind != TableKind::Trials);
        (numbers >= 3 && (phase.is_some() || !other)).then_some(Supposed::Unnamed)
    }

    /// Below another table a row begins one of its own only behind a gap or a title, and never below trials that are recognised: what stands there is
    /// a pair's summary of them.
    fn may_begin_below(&self, at: usize) -> bool {
        if self.open.is_empty() {
            return true;
        }
        let line = |at: usize| {
            self.rows
                .get(at)
                .and_then(|row| row.first())
                .map(|cell| cell.row)
        };
        let trials = self
            .open
            .iter()
            .any(|open| open.region.kind == TableKind::Trials && open.region.supposed.is_none());
        let titled = at > 0
            && self
                .rows
                .get(at - 1)
                .is_some_and(|row| lone_text(row).is_some());
        let gap = at > 0 && line(at) > line(at - 1).map(|line| line + 1);
        !trials && (gap || titled)
    }
}

/// A word with a number behind it.
fn counts(cell: &Cell) -> bool {
    matches!(&cell.value, Value::Text(text) if numbered(text).is_some_and(|(word, _)| !word.is_empty()))
}

/// The columns of tables side by side, where the word that heads the first column comes again.
fn repeated_spans(row: &[Cell]) -> Option<Vec<(u32, u32)>> {
    let first = row.first()?;
    let starts: Vec<u32> = row
        .iter()
        .filter(|cell| cell.value == first.value)
        .map(|cell| cell.column)
        .collect();
    let last = row.last()?.column;
    let ends = starts
        .iter()
        .skip(1)
        .map(|start| start - 1)
        .chain(std::iter::once(last));
    (starts.len() > 1).then(|| starts.iter().copied().zip(ends).collect())
}

fn holds_number(cell: &Cell) -> bool {
    match &cell.value {
        Value::Number(_) => true,
        Value::Text(text) => starts_as_number(text),
        _ => false,
    }
}
