//! A TOML table read key by key: what a key holds, where it stands, and which keys nobody asked for.

use std::borrow::Cow;
use std::cell::RefCell;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::nearest;
use super::reading::Reading;

/// Something read, and the bytes of the file where it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Located<T> {
    /// What was read.
    pub value: T,
    /// The bytes of the file where it stands; of a text with its quotes.
    pub span: Range<usize>,
}

/// A value of a free table, whose keys the file's author chooses.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A finite number.
    Number(f64),
    /// A text.
    Text(String),
    /// `true` or `false`.
    Truth(bool),
    /// A list, a table, or a date: named as TOML names them.
    Other(&'static str),
}

/// One table of the file. Every method that looks a key up notes it as known; [`Table::finish`] then reports the keys that nobody
/// looked up.
#[derive(Debug)]
pub struct Table<'r> {
    reading: &'r Reading,
    entries: &'r DeTable<'r>,
    span: Range<usize>,
    what: &'r str,
    known: RefCell<Vec<&'r str>>,
}

/// What the message of a key that must be there says of it.
pub(super) const MISSING: &str = "is missing";

impl<'r> Table<'r> {
    /// The file as a whole.
    pub(super) fn root(reading: &'r Reading, entries: &'r DeTable<'r>) -> Self {
        Self {
            reading,
            entries,
            span: 0..0,
            what: "this file",
            known: RefCell::default(),
        }
    }

    /// The reading that this table belongs to.
    pub fn reading(&self) -> &'r Reading {
        self.reading
    }

    /// Where the table's heading stands.
    pub fn span(&self) -> Range<usize> {
        self.span.clone()
    }

    /// Notes a fault at some place of the file.
    pub fn fault(&self, span: &Range<usize>, message: impl Into<String>, help: Option<String>) {
        self.reading.fault(span, message.into(), help);
    }

    /// Notes something worth a look that doesn't stop the file from being used.
    pub fn remark(&self, span: &Range<usize>, message: impl Into<String>, help: Option<String>) {
        self.reading.note(span, message.into(), help, true);
    }

    /// Where a key stands, and its value.
    fn find(&self, key: &'r str) -> Option<(Range<usize>, &'r DeValue<'r>, Range<usize>)> {
        self.known.borrow_mut().push(key);
        let (name, value) = self.entries.get_key_value(key)?;
        Some((name.span(), value.get_ref(), value.span()))
    }

    /// Whether the key stands here, whatever it holds.
    pub fn has(&self, key: &'r str) -> bool {
        self.find(key).is_some()
    }

    /// Where the key itself stands; the table's heading where it doesn't.
    pub fn key_span(&self, key: &str) -> Range<usize> {
        self.entries
            .get_key_value(key)
            .map_or_else(|| self.span(), |(name, _)| name.span())
    }

    fn wrong_kind(&self, key: &str, wanted: &str, found: &DeValue<'_>, span: &Range<usize>) {
        let help = match found {
            DeValue::String(text)
                if wanted.contains("number") && text.trim().parse::<f64>().is_ok() =>
            {
                Some(format!("write it without quotes: {}", text.trim()))
            }
            _ => None,
        };
        self.fault(
            span,
            format!(
                "`{key}` of {} must be {wanted}, not {}",
                self.what,
                kind_name(found)
            ),
            help,
        );
    }

    fn missing(&self, key: &str, wanted: &str) {
        self.fault(
            &self.span,
            format!("`{key}` of {} {MISSING}: {wanted}", self.what),
            None,
        );
    }

    /// A text, if the key is there. An empty one is a fault.
    pub fn text(&self, key: &'r str) -> Option<Located<String>> {
        let (_, value, span) = self.find(key)?;
        let DeValue::String(text) = value else {
            self.wrong_kind(key, "a text in quotes", value, &span);
            return None;
        };
        if text.trim().is_empty() {
            self.fault(&span, format!("`{key}` of {} is empty", self.what), None);
            return None;
        }
        Some(Located {
            value: text.clone().into_owned(),
            span,
        })
    }

    /// A text that must be there.
    pub fn needed_text(&self, key: &'r str) -> Option<Located<String>> {
        if !self.has(key) {
            self.missing(key, "a text in quotes");
        }
        self.text(key)
    }

    /// A finite number, whole or not, if the key is there.
    pub fn number(&self, key: &'r str) -> Option<Located<f64>> {
        let (_, value, span) = self.find(key)?;
        let read = number(value);
        if read.is_none() {
            self.wrong_kind(key, "a number", value, &span);
        }
        read.map(|value| Located { value, span })
    }

    /// A number that must be there.
    pub fn needed_number(&self, key: &'r str) -> Option<Located<f64>> {
        if !self.has(key) {
            self.missing(key, "a number");
        }
        self.number(key)
    }

    /// `true` or `false`, if the key is there.
    pub fn truth(&self, key: &'r str) -> Option<Located<bool>> {
        let (_, value, span) = self.find(key)?;
        if let DeValue::Boolean(value) = value {
            Some(Located {
                value: *value,
                span,
            })
        } else {
            self.wrong_kind(key, "true or false", value, &span);
            None
        }
    }

    /// A list of texts; empty where the key isn't there.
    pub fn texts(&self, key: &'r str) -> Vec<Located<String>> {
        let Some((_, value, span)) = self.find(key) else {
            return Vec::new();
        };
        let DeValue::Array(list) = value else {
            self.wrong_kind(key, "a list of texts in square brackets", value, &span);
            return Vec::new();
        };
        let mut texts = Vec::new();
        for item in list {
            let span = item.span();
            match item.get_ref() {
                DeValue::String(text) if !text.trim().is_empty() => texts.push(Located {
                    value: text.clone().into_owned(),
                    span,
                }),
                other => {
                    self.wrong_kind(key, "a list of texts in quotes, none empty", other, &span);
                }
            }
        }
        texts
    }

    /// A table within this one, if the key is there. `what` names it in messages (`"[thresholds]"`).
    pub fn table(&self, key: &'r str, what: &'r str) -> Option<Table<'r>> {
        let (name, value, span) = self.find(key)?;
        if let DeValue::Table(entries) = value {
            Some(self.inner(entries, name, what))
        } else {
            self.wrong_kind(key, "a table", value, &span);
            None
        }
    }

    /// The tables of a list of tables (`[[criterion]]`); empty where the key isn't there. `what` names one of them in messages
    /// (`"a criterion"`).
    pub fn tables(&self, key: &'r str, what: &'r str) -> Vec<Table<'r>> {
        let Some((_, value, span)) = self.find(key) else {
            return Vec::new();
        };
        let DeValue::Array(list) = value else {
            let wanted = "a list of tables, each under its own heading in double square brackets";
            self.wrong_kind(key, wanted, value, &span);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for item in list {
            match item.get_ref() {
                DeValue::Table(entries) => tables.push(self.inner(entries, item.span(), what)),
                other => self.wrong_kind(key, "a list of tables", other, &item.span()),
            }
        }
        tables
    }

    fn inner(&self, entries: &'r DeTable<'r>, span: Range<usize>, what: &'r str) -> Table<'r> {
        Table {
            reading: self.reading,
            entries,
            span,
            what,
            known: RefCell::default(),
        }
    }

    /// All entries of a free table, whose keys the file's author chooses; none of them is an unknown key then.
    pub fn entries(&self) -> Vec<(Located<String>, Located<Value>)> {
        let mut all = Vec::new();
        for (name, value) in self.entries {
            self.known.borrow_mut().push(name.get_ref());
            all.push((
                name_of(name),
                Located {
                    value: free_value(value.get_ref()),
                    span: value.span(),
                },
            ));
        }
        all
    }

    /// What a key holds, whatever its type, if the key is there.
    pub fn any(&self, key: &'r str) -> Option<Located<Value>> {
        let (_, value, span) = self.find(key)?;
        Some(Located {
            value: free_value(value),
            span,
        })
    }

    /// The lists of texts of a free table, each with its key; a single text counts as a list of one.
    pub fn lists(&self) -> Vec<(Located<String>, Vec<Located<String>>)> {
        let mut all = Vec::new();
        for (name, value) in self.entries {
            let key: &'r str = name.get_ref();
            let texts = match value.get_ref() {
                DeValue::String(text) => {
                    self.known.borrow_mut().push(key);
                    vec![Located {
                        value: text.clone().into_owned(),
                        span: value.span(),
                    }]
                }
                _ => self.texts(key),
            };
            all.push((name_of(name), texts));
        }
        all
    }

    /// The tables among the entries of a free table, each with its key; what is no table is passed over.
    pub fn inner_tables(&self, what: &'r str) -> Vec<(String, Table<'r>)> {
        self.entries
            .iter()
            .filter_map(|(name, value)| match value.get_ref() {
                DeValue::Table(entries) => Some((
                    name.get_ref().clone().into_owned(),
                    self.inner(entries, name.span(), what),
                )),
                _ => None,
            })
            .collect()
    }

    /// The tables of a free table, each with its key; what is no table is a fault.
    pub fn named_tables(&self, what: &'r str) -> Vec<(Located<String>, Table<'r>)> {
        let mut all = Vec::new();
        for (name, value) in self.entries {
            self.known.borrow_mut().push(name.get_ref());
            match value.get_ref() {
                DeValue::Table(entries) => {
                    all.push((name_of(name), self.inner(entries, name.span(), what)));
                }
                other => self.wrong_kind(name.get_ref(), "a table", other, &value.span()),
            }
        }
        all
    }

    /// Reports every key that nobody asked for, with the nearest that would have been known.
    pub fn finish(&self) {
        let known = self.known.borrow();
        for name in self.entries.keys() {
            let key = name.get_ref().as_ref();
            if known.contains(&key) {
                continue;
            }
            let help = nearest(key, known.iter().copied()).map_or_else(
                || {
                    let mut all: Vec<&str> = known.clone();
                    all.sort_unstable();
                    all.dedup();
                    format!("known here: {}", all.join(", "))
                },
                |near| format!("did you mean `{near}`?"),
            );
            self.fault(
                &name.span(),
                format!("{} has no key `{key}`", self.what),
                Some(help),
            );
        }
    }
}

fn name_of(name: &Spanned<Cow<'_, str>>) -> Located<String> {
    Located {
        value: name.get_ref().clone().into_owned(),
        span: name.span(),
    }
}

fn number(value: &DeValue<'_>) -> Option<f64> {
    let read = match value {
        DeValue::Integer(whole) => i64::from_str_radix(whole.as_str(), whole.radix())
            .ok()
            // A count, a mark or a threshold: far below 2^53.
            .map(|whole| whole as f64),
        DeValue::Float(float) => float.as_str().parse().ok(),
        _ => None,
    };
    read.filter(|number: &f64| number.is_finite())
}

fn free_value(value: &DeValue<'_>) -> Value {
    match value {
        DeValue::String(text) => Value::Text(text.clone().into_owned()),
        DeValue::Boolean(truth) => Value::Truth(*truth),
        other => number(other).map_or_else(|| Value::Other(kind_name(other)), Value::Number),
    }
}

fn kind_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn faults(source: &str) -> Vec<(usize, usize, String)> {
        let read = |file: &Table<'_>| {
            file.needed_text("title");
            file.number("out_of");
            file.truth("strict");
            file.texts("accept");
            for level in file.tables("level", "a level") {
                level.needed_number("from");
                level.finish();
            }
        };
        match Reading::of("test.toml", source, read) {
            Ok(()) => Vec::new(),
            Err(faults) => faults
                .list
                .into_iter()
                .map(|f| (f.line, f.column, f.message))
                .collect(),
        }
    }

    #[test]
    fn a_sound_file_has_no_fault() {
        let text =
            "title = 'A'\nout_of = 40\nstrict = true\naccept = ['x']\n[[level]]\nfrom = 1.5\n";
        assert_eq!(faults(text), []);
    }

    #[test]
    fn every_fault_is_found_at_once_and_in_the_order_of_the_file() {
        let text = "title = ' '\nout_of = '40'\nstrict = 1\naccept = ['', 3]\nlevels = 3\n[[level]]\nform = 1\n";
        let found = faults(text);
        let places: Vec<(usize, usize)> = found.iter().map(|f| (f.0, f.1)).collect();
        assert_eq!(
            places,
            [
                (1, 9),
                (2, 10),
                (3, 10),
                (4, 11),
                (4, 15),
                (5, 1),
                (6, 1),
                (7, 1)
            ],
            "{found:#?}"
        );
    }

    #[test]
    fn two_lines_that_are_no_toml_are_two_faults_and_hide_nothing_else() {
        let text = "title = \u{201c}A\u{201d}\nout_of = \nstrict = 3\n";
        let found = faults(text);
        assert!(found.iter().any(|f| f.0 == 1), "{found:#?}");
        assert!(found.iter().any(|f| f.0 == 2), "{found:#?}");
        assert!(found.iter().any(|f| f.0 == 3), "{found:#?}");
        assert!(!found.iter().any(|f| f.2.contains("missing")), "{found:#?}");
    }

    #[test]
    fn numbers_that_are_not_finite_are_no_numbers() {
        assert_eq!(faults("title = 'A'\nout_of = inf\n").len(), 1);
        assert_eq!(
            faults("title = 'A'\nout_of = 99999999999999999999\n").len(),
            1
        );
    }
}
