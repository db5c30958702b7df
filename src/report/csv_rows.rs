//! Rows of a csv file for people and scripts: UTF-8, CRLF, a header always (RFC 4180); numbers as the shortest decimal that reads back,
//! absent ones empty, text never a formula.

use std::fmt::Display;
use std::io::Write as _;

use crate::number::Plain;
use crate::spreadsheet_text::neutralised;

/// One field of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Field<'a> {
    /// Text; what a spreadsheet would take for a formula gets a leading apostrophe.
    Text(&'a str),
    /// Text that is written as it stands, because it is a number, a date or a truth value in its own notation.
    Plain(&'a str),
    /// A number.
    Number(f64),
    /// A whole number.
    Count(usize),
    /// Nothing.
    Empty,
}

impl<'a> From<&'a str> for Field<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(text)
    }
}

impl<'a> From<&'a String> for Field<'a> {
    fn from(text: &'a String) -> Self {
        Self::Text(text)
    }
}

impl From<f64> for Field<'_> {
    fn from(number: f64) -> Self {
        // Not a number and infinities have no place in a file: what is undefined is absent.
        if number.is_finite() {
            Self::Number(number)
        } else {
            Self::Empty
        }
    }
}

impl From<usize> for Field<'_> {
    fn from(count: usize) -> Self {
        Self::Count(count)
    }
}

impl<'a, T: Into<Field<'a>>> From<Option<T>> for Field<'a> {
    fn from(field: Option<T>) -> Self {
        field.map_or(Self::Empty, Into::into)
    }
}

/// Rows under construction.
#[derive(Debug, Default, Clone)]
pub struct CsvRows {
    bytes: Vec<u8>,
    fields_in_row: usize,
}

impl CsvRows {
    /// No rows, and no header: for a part of a file that has one already.
    pub fn new() -> Self {
        Self::default()
    }

    /// Rows under a header.
    pub fn with_header(names: &[&str]) -> Self {
        let mut rows = Self::new();
        for name in names {
            rows.field(Field::Text(name));
        }
        rows.end_row();
        rows
    }

    /// Adds one row.
    pub fn row<const N: usize>(&mut self, fields: [Field<'_>; N]) {
        for field in fields {
            self.field(field);
        }
        self.end_row();
    }

    /// Adds one field to the row under construction.
    pub fn field(&mut self, field: Field<'_>) {
        if self.fields_in_row > 0 {
            self.bytes.push(b',');
        }
        self.fields_in_row += 1;
        match field {
            Field::Text(text) => self.text(&neutralised(text)),
            Field::Plain(text) => self.text(text),
            Field::Number(number) => self.display(Plain(number)),
            Field::Count(count) => self.display(count),
            Field::Empty => {}
        }
    }

    fn display(&mut self, shown: impl Display) {
        // Writing to memory can't fail.
        let _ = write!(self.bytes, "{shown}");
    }

    fn text(&mut self, text: &str) {
        if text.contains([',', '"', '\r', '\n']) {
            self.bytes.push(b'"');
            self.bytes
                .extend_from_slice(text.replace('"', "\"\"").as_bytes());
            self.bytes.push(b'"');
        } else {
            self.bytes.extend_from_slice(text.as_bytes());
        }
    }

    /// Ends the row under construction.
    pub fn end_row(&mut self) {
        self.bytes.extend_from_slice(b"\r\n");
        self.fields_in_row = 0;
    }

    /// The rows as they stand in the file.
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_read_back_with_another_reader() {
        let mut rows = CsvRows::with_header(&["pair", "message", "value", "n"]);
        rows.row([
            "P07".into(),
            "a \"b\", c\nd".into(),
            0.1.into(),
            3_usize.into(),
        ]);
        rows.row(["=P08".into(), "".into(), f64::NAN.into(), Field::Empty]);
        let bytes = rows.into_bytes();
        assert!(bytes.ends_with(b"\r\n"));
        // The csv crate as the independent reader of RFC 4180.
        let mut reader = csv::Reader::from_reader(bytes.as_slice());
        let read: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(read[0], vec!["P07", "a \"b\", c\nd", "0.1", "3"]);
        assert_eq!(read[1], vec!["'=P08", "", "", ""]);
    }
}
