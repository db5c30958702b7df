//! Styles of cells, rows, columns and tables, as far as they say how numbers are shown and what is hidden.

use std::collections::HashMap;

use crate::logbook::grid::Shown;
use crate::logbook::open::error::OpenError;
use crate::logbook::open::number_format::{Moment, NumberFormat, moment};
use crate::logbook::open::xml::{Chunks, Event, Tag, Xml};

/// The styles read so far.
#[derive(Debug, Default)]
pub(super) struct Styles {
    formats: HashMap<String, NumberFormat>,
    /// Cell styles, with the format that they or their parents name.
    cells: HashMap<String, NumberFormat>,
    /// Tables that are not displayed.
    hidden_tables: HashMap<String, bool>,
    /// Text that is raised above the line.
    raised: HashMap<String, bool>,
}

/// More styles than this are no longer kept.
const MOST: usize = 65_536;

/// A style whose element has begun.
#[derive(Debug)]
pub(super) struct Style {
    name: String,
    family: Vec<u8>,
    format: Option<String>,
    parent: Option<String>,
}

/// Takes the attributes of a style's element.
pub(super) fn begin(tag: &Tag<'_>) -> Style {
    Style {
        name: tag.text(b"style:name").unwrap_or_default(),
        family: tag.attribute(b"style:family").unwrap_or_default().to_vec(),
        format: tag.text(b"style:data-style-name"),
        parent: tag.text(b"style:parent-style-name"),
    }
}

/// A number format whose element has begun.
#[derive(Debug)]
pub(super) struct Format {
    name: String,
    kind: FormatKind,
    /// Hours that go on beyond a day.
    overflows: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum FormatKind {
    Number,
    Percentage,
    Date,
    Time,
}

/// Takes the attributes of a number format's element.
pub(super) fn begin_format(tag: &Tag<'_>) -> Format {
    Format {
        name: tag.text(b"style:name").unwrap_or_default(),
        kind: match tag.name {
            b"number:percentage-style" => FormatKind::Percentage,
            b"number:date-style" => FormatKind::Date,
            b"number:time-style" => FormatKind::Time,
            _ => FormatKind::Number,
        },
        overflows: tag.attribute(b"number:truncate-on-overflow") == Some(b"false"),
    }
}

impl Styles {
    /// Reads the rest of a style's element.
    pub(super) fn read_style(
        &mut self,
        style: Style,
        xml: &mut Xml<impl Chunks>,
    ) -> Result<(), OpenError> {
        let mut hidden = false;
        let mut raised = false;
        let mut depth = 1_u32;
        while depth > 0 {
            match xml.next()? {
                Event::Start(tag) => {
                    depth = depth.saturating_add(1);
                    match tag.name {
                        b"style:table-properties" => {
                            hidden |= tag.attribute(b"table:display") == Some(b"false");
                        }
                        b"style:text-properties" => {
                            raised |= tag.attribute(b"style:text-position").is_some_and(is_raised);
                        }
                        _ => {}
                    }
                }
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        if self.cells.len() + self.hidden_tables.len() + self.raised.len() > MOST {
            return Ok(());
        }
        match &*style.family {
            b"table-cell" => {
                let own = style
                    .format
                    .and_then(|name| self.formats.get(&name).copied());
                let parents = style.parent.and_then(|name| self.cells.get(&name).copied());
                if let Some(format) = own.or(parents) {
                    self.cells.insert(style.name, format);
                }
            }
            b"table" if hidden => {
                self.hidden_tables.insert(style.name, true);
            }
            b"text" if raised => {
                self.raised.insert(style.name, true);
            }
            _ => {}
        }
        Ok(())
    }

    /// Reads the rest of a number format's element.
    pub(super) fn read_format(
        &mut self,
        format: Format,
        xml: &mut Xml<impl Chunks>,
    ) -> Result<(), OpenError> {
        let mut decimals = None;
        let mut numbers = 0_u32;
        let mut open = false;
        let mut hours = false;
        let mut depth = 1_u32;
        while depth > 0 {
            match xml.next()? {
                Event::Start(tag) => {
                    depth = depth.saturating_add(1);
                    match tag.name {
                        b"number:number" => {
                            numbers += 1;
                            let most = tag.attribute(b"number:decimal-places").and_then(places);
                            let least =
                                tag.attribute(b"number:min-decimal-places").and_then(places);
                            decimals = most;
                            open |= least.is_some_and(|least| Some(least) != most)
                                || tag.attribute(b"number:decimal-replacement") == Some(b"")
                                || tag.attribute(b"number:display-factor").is_some();
                        }
                        b"number:fraction" | b"number:scientific-number" => open = true,
                        b"number:hours" => hours = true,
                        _ => {}
                    }
                }
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(OpenError::ends_early()),
                _ => {}
            }
        }
        let read = match format.kind {
            FormatKind::Date => moment(Moment::Date),
            FormatKind::Time if format.overflows || !hours => moment(Moment::Length),
            FormatKind::Time => moment(Moment::Time),
            FormatKind::Number | FormatKind::Percentage => NumberFormat {
                shown: Shown {
                    decimals: decimals.filter(|_| numbers == 1 && !open),
                    percent: format.kind == FormatKind::Percentage,
                },
                moment: None,
            },
        };
        if self.formats.len() < MOST {
            self.formats.insert(format.name, read);
        }
        Ok(())
    }

    /// The number format of a cell style.
    pub(super) fn format(&self, style: &str) -> Option<NumberFormat> {
        self.cells.get(style).copied()
    }

    /// Whether a table of that style is hidden.
    pub(super) fn hides_table(&self, style: &str) -> bool {
        self.hidden_tables.contains_key(style)
    }

    /// Whether text of that style is raised.
    pub(super) fn is_raised(&self, style: &str) -> bool {
        self.raised.contains_key(style)
    }
}

fn places(value: &[u8]) -> Option<u8> {
    std::str::from_utf8(value).ok()?.parse().ok()
}

/// `super 58%`, or a raise in percent.
fn is_raised(position: &[u8]) -> bool {
    let first = position
        .split(|byte| *byte == b' ')
        .next()
        .unwrap_or_default();
    let percent = first
        .strip_suffix(b"%")
        .and_then(|number| std::str::from_utf8(number).ok()?.parse::<f64>().ok());
    first == b"super" || percent.is_some_and(|percent| percent > 0.0)
}
