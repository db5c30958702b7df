//! Records and fields of delimited text, by RFC 4180 where the file keeps to it, and without losing text where it does not.

use std::borrow::Cow;

/// A quoted field longer than this is a quote that nobody closed.
const LONGEST_QUOTED: usize = 256 << 10;
/// A quoted field over more lines than this is a quote that nobody closed: students' notes have a few.
const MOST_LINES: usize = 200;

/// One field.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Field<'a> {
    /// Its text, quotes resolved.
    pub(super) text: Cow<'a, str>,
    /// A quotation mark in it opens or closes nothing; the text is then as it stands.
    pub(super) stray_quote: bool,
}

/// Walks over a text, record by record and field by field.
#[derive(Debug)]
pub(super) struct Records<'a> {
    rest: &'a str,
    delimiter: char,
    /// The line of the front of `rest`.
    line: u32,
    /// In the middle of a record: another field follows.
    open: bool,
    /// How often a quote was looked for far and in vain.
    in_vain: u32,
}

/// After so many long searches quotes are no longer believed: else a file of nothing but quotes would be read again and again.
const MOST_IN_VAIN: u32 = 100;

impl<'a> Records<'a> {
    /// The front of a text that begins on the given line, from 0.
    pub(super) fn new(text: &'a str, delimiter: char, line: u32) -> Self {
        Self {
            rest: text,
            delimiter,
            line,
            open: false,
            in_vain: 0,
        }
    }

    /// Goes to the next record, past what is left of this one; the line, from 0, on which it begins. A blank line is a record.
    pub(super) fn next_record(&mut self) -> Option<u32> {
        while self.next_field().is_some() {}
        self.open = !self.rest.is_empty();
        self.open.then_some(self.line)
    }

    /// The next field of the record.
    pub(super) fn next_field(&mut self) -> Option<Field<'a>> {
        if !self.open {
            return None;
        }
        let (field, length) = self.quoted().unwrap_or_else(|| self.plain());
        self.rest = self.rest.get(length..).unwrap_or_default();
        match self.rest.chars().next() {
            Some(next) if next == self.delimiter => {
                self.rest = self.rest.get(next.len_utf8()..).unwrap_or_default();
            }
            _ => {
                self.open = false;
                self.end_line();
            }
        }
        Some(field)
    }

    fn end_line(&mut self) {
        let rest = self.rest;
        let after = rest
            .strip_prefix("\r\n")
            .or_else(|| rest.strip_prefix(['\n', '\r']));
        if let Some(after) = after {
            self.rest = after;
            self.line = self.line.saturating_add(1);
        }
    }

    /// A field in quotes, and its length with them. None where the field is not in quotes or its quotes don't hold.
    fn quoted(&mut self) -> Option<(Field<'a>, usize)> {
        // Spaces before a quote are common, and not part of the field.
        let lead = self.rest.len() - self.rest.trim_start_matches(' ').len();
        let inside = self.rest.get(lead..)?.strip_prefix('"')?;
        if self.in_vain > MOST_IN_VAIN {
            return None;
        }
        let mut doubled = false;
        let mut from = 0;
        let end = loop {
            let reach = inside.len().min(LONGEST_QUOTED);
            let found = inside
                .as_bytes()
                .get(from..reach)
                .and_then(|within| memchr::memchr(b'"', within));
            let Some(found) = found else {
                self.in_vain += 1;
                return None;
            };
            let at = from + found;
            if inside.as_bytes().get(at + 1) == Some(&b'"') {
                doubled = true;
                from = at + 2;
                continue;
            }
            break at;
        };
        let after = inside.get(end + 1..)?;
        let spaces = after.len() - after.trim_start_matches(' ').len();
        let closed = match after.get(spaces..)?.chars().next() {
            None | Some('\r' | '\n') => true,
            Some(next) => next == self.delimiter,
        };
        let text = inside.get(..end)?;
        let lines = line_ends(text);
        if !closed || lines > MOST_LINES {
            return None;
        }
        self.line = self
            .line
            .saturating_add(u32::try_from(lines).unwrap_or(u32::MAX));
        let text = if doubled {
            Cow::Owned(text.replace("\"\"", "\""))
        } else {
            Cow::Borrowed(text)
        };
        let text = if text.contains('\r') {
            Cow::Owned(text.replace("\r\n", "\n").replace('\r', "\n"))
        } else {
            text
        };
        let field = Field {
            text,
            stray_quote: false,
        };
        Some((field, lead + 1 + end + 1 + spaces))
    }

    /// A field up to the next delimiter or line end, as it stands.
    fn plain(&self) -> (Field<'a>, usize) {
        let mut buffer = [0; 4];
        let first = *self
            .delimiter
            .encode_utf8(&mut buffer)
            .as_bytes()
            .first()
            .unwrap_or(&b',');
        let mut from = 0;
        let bytes = self.rest.as_bytes();
        let length = loop {
            let found = bytes
                .get(from..)
                .and_then(|bytes| memchr::memchr3(first, b'\r', b'\n', bytes));
            let Some(at) = found.map(|at| from + at) else {
                break bytes.len();
            };
            let ends = match self.rest.get(at..).and_then(|rest| rest.chars().next()) {
                Some('\r' | '\n') => true,
                Some(next) => next == self.delimiter,
                None => false,
            };
            if ends {
                break at;
            }
            from = at + 1;
        };
        let text = self.rest.get(..length).unwrap_or_default();
        let field = Field {
            text: Cow::Borrowed(text),
            // A quote inside a text, as in 5" or O"Neill, opens nothing; one in front of it does.
            stray_quote: text.trim_start_matches(' ').starts_with('"'),
        };
        (field, length)
    }
}

/// Line ends in a text, of any kind.
fn line_ends(text: &str) -> usize {
    let bytes = text.as_bytes();
    let returns = memchr::memchr_iter(b'\r', bytes).count();
    let feeds = memchr::memchr_iter(b'\n', bytes).count();
    let both = memchr::memmem::find_iter(bytes, b"\r\n").count();
    returns + feeds - both
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all(text: &str, delimiter: char) -> Vec<(u32, Vec<String>)> {
        let mut records = Records::new(text, delimiter, 0);
        let mut out = Vec::new();
        while let Some(line) = records.next_record() {
            let mut fields = Vec::new();
            while let Some(field) = records.next_field() {
                fields.push(format!(
                    "{}{}",
                    if field.stray_quote { "!" } else { "" },
                    field.text
                ));
            }
            out.push((line, fields));
        }
        out
    }

    fn record(line: u32, fields: &[&str]) -> (u32, Vec<String>) {
        (
            line,
            fields.iter().map(|field| (*field).to_owned()).collect(),
        )
    }

    // Cases of csv-spectrum 2.0 (comma_in_quotes, escaped_quotes, newlines, newlines_crlf, quotes_and_newlines, empty, utf8).
    #[test]
    fn quoted_fields_by_the_standard() {
        assert_eq!(
            all("a,b\r\n1,\"ha \"\"ha\"\" ha\"\r\n\"x,y\",\"\"\r\n", ','),
            [
                record(0, &["a", "b"]),
                record(1, &["1", "ha \"ha\" ha"]),
                record(2, &["x,y", ""])
            ]
        );
        assert_eq!(
            all("a,b\n1,\"Once upon \na\r\ntime\"\n\"3\",ʤ", ','),
            [
                record(0, &["a", "b"]),
                record(1, &["1", "Once upon \na\ntime"]),
                record(4, &["3", "ʤ"])
            ]
        );
    }

    #[test]
    fn every_kind_of_line_end_ends_a_line() {
        let expected = [record(0, &["a"]), record(1, &[""]), record(2, &["b"])];
        for end in ["\n", "\r", "\r\n"] {
            assert_eq!(all(&format!("a{end}{end}b{end}"), ';'), expected, "{end:?}");
            assert_eq!(all(&format!("a{end}{end}b"), ';'), expected, "{end:?}");
        }
        assert_eq!(all("a;", ';'), [record(0, &["a", ""])]);
        assert_eq!(all("", ';'), []);
    }

    #[test]
    fn a_stray_quote_loses_no_text() {
        assert_eq!(
            all("\"un\"closed,5\n5\",\"ok\"\n\"never closed,7\nlast,8", ','),
            [
                record(0, &["!\"un\"closed", "5"]),
                record(1, &["5\"", "ok"]),
                record(2, &["!\"never closed", "7"]),
                record(3, &["last", "8"]),
            ]
        );
        assert_eq!(all("a, \"b,c\" ,d", ','), [record(0, &["a", "b,c", "d"])]);
        assert_eq!(
            all("a\u{a6}b\u{a6}c", '\u{a6}'),
            [record(0, &["a", "b", "c"])]
        );
    }
}
