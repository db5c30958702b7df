//! One table of a spreadsheet: its rows, cells, formulas, merged ranges, and what is hidden.

use std::sync::Arc;

use jiff::civil::{Date, DateTime};

use super::formula;
use super::styles::Styles;
use crate::logbook::grid::{Grid, Merged, Shown, Source, Value};
use crate::logbook::open::cell_text::{raised, sheet_name};
use crate::logbook::open::error::OpenError;
use crate::logbook::open::limits::Budget;
use crate::logbook::open::number_format::{Moment, NumberFormat};
use crate::logbook::open::serial_date::moment_value;
use crate::logbook::open::sheet_builder::{COLUMNS, ROWS, SheetBuilder};
use crate::logbook::open::xml::{Chunks, Event, LONGEST_TEXT, Tag, Xml, plain, unescape};

/// A table whose element has begun.
#[derive(Debug)]
pub(super) struct Head {
    name: String,
    style: String,
}

/// Takes the attributes of a table's element.
pub(super) fn head(tag: &Tag<'_>) -> Head {
    Head {
        name: tag.text(b"table:name").unwrap_or_default(),
        style: tag.text(b"table:style-name").unwrap_or_default(),
    }
}

/// Reads the rest of a table's element.
pub(super) fn read(
    xml: &mut Xml<impl Chunks>,
    head: &Head,
    styles: &Styles,
    file: &Arc<str>,
    budget: &mut Budget,
) -> Result<Grid, OpenError> {
    let mut reader = Reader {
        xml,
        styles,
        budget,
        sheet: SheetBuilder::default(),
        columns: Vec::new(),
        next_column: 0,
        row: 0,
        cells: Vec::new(),
    };
    reader.table()?;
    let hidden = styles.hides_table(&head.style);
    let source = Source::Sheet(sheet_name(&head.name));
    Ok(reader.sheet.finish(file.clone(), source, hidden))
}

struct Reader<'a, C> {
    xml: &'a mut Xml<C>,
    styles: &'a Styles,
    budget: &'a mut Budget,
    sheet: SheetBuilder,
    /// The default style of columns: up to which column, and the style's format.
    columns: Vec<(u32, Option<NumberFormat>)>,
    next_column: u32,
    row: u32,
    /// The cells of the row being read that hold something.
    cells: Vec<Read>,
}

/// A cell as it was read: it may stand for several.
#[derive(Debug, Clone)]
struct Read {
    column: u32,
    repeated: u32,
    value: Value,
    shown: Shown,
    formula: Option<Box<str>>,
}

/// A cell's start tag.
#[derive(Debug, Default)]
struct CellTag {
    kind: Kind,
    value: String,
    /// The value is an error's text.
    error: bool,
    formula: Option<String>,
    style: Option<String>,
    repeated: u32,
    spanned: (u32, u32),
}

#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
enum Kind {
    #[default]
    Untyped,
    Number,
    Percentage,
    Date,
    Time,
    Truth,
    Text,
}

fn whole(value: &[u8]) -> Option<u32> {
    std::str::from_utf8(value).ok()?.trim().parse().ok()
}

/// How often an element is repeated, by either attribute: at least once.
fn repeated(tag: &Tag<'_>, name: &[u8]) -> u32 {
    tag.attribute(name).and_then(whole).unwrap_or(1).max(1)
}

fn is_hidden(tag: &Tag<'_>) -> bool {
    matches!(
        tag.attribute(b"table:visibility"),
        Some(b"collapse" | b"filter")
    )
}

impl<C: Chunks> Reader<'_, C> {
    fn table(&mut self) -> Result<(), OpenError> {
        let mut depth = 1_u32;
        while depth > 0 {
            match self.xml.next()? {
                Event::Start(tag) => match tag.name {
                    b"table:table-column" => {
                        let many = repeated(&tag, b"table:number-columns-repeated");
                        let hidden = is_hidden(&tag);
                        let style = tag.text(b"table:default-cell-style-name");
                        let format = style.and_then(|style| self.styles.format(&style));
                        let first = self.next_column;
                        self.next_column = first.saturating_add(many).min(COLUMNS);
                        if hidden && self.next_column > first {
                            self.sheet.hidden_columns(first, self.next_column - 1);
                        }
                        if self.columns.len() < COLUMNS as usize {
                            self.columns.push((self.next_column, format));
                        }
                        self.xml.skip()?;
                    }
                    b"table:table-row" => {
                        let many = repeated(&tag, b"table:number-rows-repeated");
                        let hidden = is_hidden(&tag);
                        let style = tag.text(b"table:default-cell-style-name");
                        let format = style.and_then(|style| self.styles.format(&style));
                        self.row(many, hidden, format)?;
                    }
                    // Groups and header rows are only wrappers.
                    b"table:table-header-rows"
                    | b"table:table-rows"
                    | b"table:table-row-group"
                    | b"table:table-header-columns"
                    | b"table:table-columns"
                    | b"table:table-column-group" => depth = depth.saturating_add(1),
                    _ => self.xml.skip()?,
                },
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        Ok(())
    }

    fn row(
        &mut self,
        many: u32,
        hidden: bool,
        format: Option<NumberFormat>,
    ) -> Result<(), OpenError> {
        self.cells.clear();
        let mut column = 0_u32;
        loop {
            match self.xml.next()? {
                Event::Start(tag) => match tag.name {
                    b"table:table-cell" | b"table:covered-table-cell" => {
                        let covered = tag.name == b"table:covered-table-cell";
                        let cell = cell_tag(&tag);
                        let repeated = cell.repeated;
                        self.cell(column, &cell, covered, format)?;
                        column = column.saturating_add(repeated);
                    }
                    _ => self.xml.skip()?,
                },
                Event::End(_) => break,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        let first = self.row;
        self.row = first.saturating_add(many);
        if self.cells.is_empty() {
            return Ok(());
        }
        if first >= ROWS {
            return Err(OpenError::damaged("a cell lies beyond the largest sheet"));
        }
        // A row that holds something, repeated beyond the sheet, is refused by the first cell there; the budget ends it before.
        for row in first..self.row.min(ROWS + 1) {
            for cell in &self.cells {
                for offset in 0..cell.repeated {
                    self.sheet.cell(
                        row,
                        cell.column.saturating_add(offset),
                        cell.value.clone(),
                        cell.shown,
                        cell.formula.clone(),
                        self.budget,
                    )?;
                }
            }
            if hidden {
                self.sheet.hidden_row(row);
            }
            if row.is_multiple_of(1_024) {
                self.budget.deadline().check()?;
            }
        }
        Ok(())
    }

    /// Reads the rest of a cell's element, and keeps the cell where it holds something.
    fn cell(
        &mut self,
        column: u32,
        cell: &CellTag,
        covered: bool,
        row_format: Option<NumberFormat>,
    ) -> Result<(), OpenError> {
        let written = self.written()?;
        if !covered && cell.spanned != (1, 1) {
            self.sheet.merge(Merged {
                first_row: self.row,
                first_column: column,
                last_row: self.row.saturating_add(cell.spanned.0 - 1),
                last_column: column.saturating_add(cell.spanned.1 - 1),
            });
        }
        // What a merged range covers is not shown: only its first cell counts.
        if covered {
            return Ok(());
        }
        let format = match &cell.style {
            Some(style) => self.styles.format(style),
            None => row_format.or_else(|| self.column_format(column)),
        };
        let format = format.unwrap_or_default();
        let value = value(cell, &written, format, self.budget)?;
        let Some(value) = value.or(cell.formula.is_some().then_some(Value::NotCalculated)) else {
            return Ok(());
        };
        let shown = match (&value, cell.kind) {
            (Value::Number(_), Kind::Percentage) => Shown {
                percent: true,
                ..format.shown
            },
            (Value::Number(_) | Value::NotCalculated, _) => format.shown,
            _ => Shown::default(),
        };
        let formula = cell.formula.as_deref().map(formula::plain);
        self.cells.push(Read {
            column,
            repeated: cell.repeated,
            value,
            shown,
            formula: formula.map(Box::from),
        });
        Ok(())
    }

    fn column_format(&self, column: u32) -> Option<NumberFormat> {
        let index = self.columns.partition_point(|(end, _)| *end <= column);
        self.columns.get(index).and_then(|(_, format)| *format)
    }

    /// The text that is written in a cell: paragraphs by line ends, notes and drawings left out.
    fn written(&mut self) -> Result<Vec<u8>, OpenError> {
        let mut text = Vec::new();
        let mut paragraphs = 0_u32;
        loop {
            match self.xml.next()? {
                Event::Start(tag) if tag.name == b"text:p" => {
                    if paragraphs > 0 {
                        text.push(b'\n');
                    }
                    paragraphs += 1;
                    self.paragraph(&mut text)?;
                }
                Event::Start(_) => self.xml.skip()?,
                Event::End(_) => return Ok(text),
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
    }

    fn paragraph(&mut self, text: &mut Vec<u8>) -> Result<(), OpenError> {
        // Where raised spans begin, with how deep they are.
        let mut spans: Vec<(u32, usize)> = Vec::new();
        let mut depth = 1_u32;
        while depth > 0 {
            match self.xml.next()? {
                Event::Start(tag) => {
                    match tag.name {
                        b"text:s" => {
                            let many = tag.attribute(b"text:c").and_then(whole).unwrap_or(1);
                            text.extend(std::iter::repeat_n(b' ', many.min(1_000) as usize));
                        }
                        b"text:tab" => text.push(b'\t'),
                        b"text:line-break" => text.push(b'\n'),
                        b"text:span" => {
                            let style = tag.text(b"text:style-name").unwrap_or_default();
                            if self.styles.is_raised(&style) {
                                spans.push((depth, text.len()));
                            }
                        }
                        b"office:annotation" | b"text:note" | b"text:ruby-text" => {
                            self.xml.skip()?;
                            continue;
                        }
                        _ => {}
                    }
                    depth = depth.saturating_add(1);
                }
                Event::End(_) => {
                    depth -= 1;
                    if let Some((_, from)) = spans.pop_if(|(at, _)| *at == depth) {
                        let run = String::from_utf8_lossy(text.get(from..).unwrap_or_default());
                        let run = raised(&run);
                        text.truncate(from);
                        text.extend_from_slice(run.as_bytes());
                    }
                }
                Event::Text(raw) => unescape(raw, text),
                Event::Literal(raw) => text.extend_from_slice(raw),
                Event::Eof => return Err(OpenError::ends_early()),
            }
            if text.len() > LONGEST_TEXT {
                return Err(OpenError::LongCell);
            }
        }
        Ok(())
    }
}

fn cell_tag(tag: &Tag<'_>) -> CellTag {
    let mut cell = CellTag {
        repeated: 1,
        spanned: (1, 1),
        ..CellTag::default()
    };
    for (name, value) in tag.attributes() {
        match name {
            b"office:value-type" => {
                cell.kind = match value {
                    b"float" | b"currency" => Kind::Number,
                    b"percentage" => Kind::Percentage,
                    b"date" => Kind::Date,
                    b"time" => Kind::Time,
                    b"boolean" => Kind::Truth,
                    _ => Kind::Text,
                };
            }
            b"office:value"
            | b"office:date-value"
            | b"office:time-value"
            | b"office:boolean-value"
            | b"office:string-value" => cell.value = plain(value),
            b"calcext:value-type" => cell.error = value == b"error",
            b"table:formula" => cell.formula = Some(plain(value)),
            b"table:style-name" => cell.style = Some(plain(value)),
            b"table:number-columns-repeated" => cell.repeated = whole(value).unwrap_or(1).max(1),
            b"table:number-rows-spanned" => cell.spanned.0 = whole(value).unwrap_or(1).max(1),
            b"table:number-columns-spanned" => cell.spanned.1 = whole(value).unwrap_or(1).max(1),
            _ => {}
        }
    }
    cell
}

/// What a cell holds; none for one that holds nothing.
fn value(
    cell: &CellTag,
    written: &[u8],
    format: NumberFormat,
    budget: &mut Budget,
) -> Result<Option<Value>, OpenError> {
    let shown = String::from_utf8_lossy(written);
    if cell.error {
        return Ok(Some(Value::Error(budget.keep(&shown)?)));
    }
    if let Some(value) = typed(cell, format) {
        return Ok(Some(value));
    }
    let text = if shown.is_empty() {
        &*cell.value
    } else {
        &*shown
    };
    // A formula may give an empty text; anything else without text holds nothing.
    let given = cell.formula.is_some() && cell.kind == Kind::Text;
    Ok(if text.is_empty() && !given {
        None
    } else {
        Some(Value::Text(budget.keep(text)?))
    })
}

/// The value of a cell that is no text; none where it is one, or cannot be read as what it says.
fn typed(cell: &CellTag, format: NumberFormat) -> Option<Value> {
    match cell.kind {
        Kind::Number | Kind::Percentage => {
            let number = cell.value.trim().parse::<f64>().ok();
            let number = number.filter(|number| number.is_finite())?;
            // A number under a format of dates or times is shown as one, whatever its type says.
            Some(match format.moment {
                Some(moment) => moment_value(number, moment, <_>::default()),
                None => truth(cell, number).unwrap_or(Value::Number(number)),
            })
        }
        Kind::Date => stated_date(&cell.value).map(Value::Date),
        Kind::Time => {
            let days = days(&cell.value)?;
            Some(if format.moment == Some(Moment::Length) {
                Value::Duration(days)
            } else {
                moment_value(days, Moment::Time, <_>::default())
            })
        }
        Kind::Truth => Some(Value::Truth(cell.value == "true")),
        Kind::Text | Kind::Untyped => None,
    }
}

/// Some programs write a tick box as the number that a formula of nothing but a truth value gives.
fn truth(cell: &CellTag, number: f64) -> Option<Value> {
    let is = |formula| cell.formula.as_deref().map(formula::plain).as_deref() == Some(formula);
    (is("TRUE()") || is("FALSE()")).then_some(Value::Truth(number != 0.0))
}

fn stated_date(stated: &str) -> Option<DateTime> {
    let date = match stated.parse::<DateTime>() {
        Ok(date) => date,
        Err(_) => stated
            .parse::<Date>()
            .ok()?
            .to_datetime(jiff::civil::Time::midnight()),
    };
    // As far as dates are believed in other workbooks.
    (1900..2100).contains(&date.year()).then_some(date)
}

/// A length of time as the format writes it (`PT26H04M00.5S`), in days.
fn days(stated: &str) -> Option<f64> {
    let (sign, rest) = match stated.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, stated),
    };
    let mut rest = rest.strip_prefix('P')?;
    let mut seconds = 0.0;
    let mut in_time = false;
    while !rest.is_empty() {
        if let Some(after) = rest.strip_prefix('T') {
            in_time = true;
            rest = after;
            continue;
        }
        let end = rest.find(|c: char| !c.is_ascii_digit() && c != '.')?;
        let (number, after) = rest.split_at_checked(end)?;
        let number = number.parse::<f64>().ok()?;
        let unit = after.chars().next()?;
        seconds += number
            * match (unit, in_time) {
                ('D', false) => 86_400.0,
                ('H', true) => 3_600.0,
                ('M', true) => 60.0,
                ('S', true) => 1.0,
                _ => return None,
            };
        rest = after.get(unit.len_utf8()..)?;
    }
    Some(sign * seconds / 86_400.0).filter(|days| days.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_of_time_are_days() {
        assert_eq!(days("PT12H00M00S"), Some(0.5));
        assert_eq!(days("P1DT6H"), Some(1.25));
        assert_eq!(days("-PT0H30M0.0S"), Some(-1.0 / 48.0));
        for none in ["", "P1M", "12:00", "PT5", "PTxS"] {
            assert_eq!(days(none), None, "{none}");
        }
    }

    #[test]
    fn dates_with_and_without_a_time_of_day() {
        let date = |text| stated_date(text).map(|date| date.to_string());
        assert_eq!(date("2026-03-09").as_deref(), Some("2026-03-09T00:00:00"));
        assert_eq!(
            date("2026-03-09T14:05:00").as_deref(),
            Some("2026-03-09T14:05:00")
        );
        assert_eq!(date("9999-12-31"), None);
        assert_eq!(date("2026-02-30"), None);
    }
}
