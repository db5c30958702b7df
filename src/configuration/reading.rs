//! One reading of a TOML file: every fault that there is, and what was made of the file where there is none.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use toml::de::DeTable;

use super::fault::{Fault, Faults, line_and_column};
use super::table::{MISSING, Table};

/// One reading of one file: its text, and the faults found so far.
#[derive(Debug)]
pub struct Reading {
    name: String,
    source: Arc<str>,
    faults: RefCell<Vec<Fault>>,
}

impl Reading {
    /// Reads `source`, hands its table to `read`, and gives what that made of it, or every fault there is: those of TOML itself and
    /// those that `read` reported.
    ///
    /// # Errors
    /// [`Faults`], in the order of the file, where there is any.
    pub fn of<T>(
        name: &str,
        source: &str,
        read: impl FnOnce(&Table<'_>) -> T,
    ) -> Result<T, Faults> {
        Self::with_remarks(name, source, read).map(|(made, _)| made)
    }

    /// As [`Reading::of`], with the remarks on a file that has no fault.
    ///
    /// # Errors
    /// [`Faults`], in the order of the file, remarks included, where there is any fault.
    pub fn with_remarks<T>(
        name: &str,
        source: &str,
        read: impl FnOnce(&Table<'_>) -> T,
    ) -> Result<(T, Faults), Faults> {
        let reading = Self {
            name: name.to_owned(),
            source: source.into(),
            faults: RefCell::default(),
        };
        let (table, errors) = DeTable::parse_recoverable(source);
        for error in &errors {
            let span = error.span().unwrap_or(0..0);
            reading.fault(
                &span,
                format!("this is not TOML: {}", error.message()),
                Some(toml_help(source, &span)),
            );
        }
        let made = {
            let root = Table::root(&reading, table.get_ref());
            let made = read(&root);
            root.finish();
            made
        };
        let mut list = reading.faults.into_inner();
        if !errors.is_empty() {
            // What is missing after a line that couldn't be read may stand on that line.
            list.retain(|fault| !fault.message.contains(MISSING));
        }
        list.sort_by(|a, b| {
            (a.span.start, a.span.end, &a.message).cmp(&(b.span.start, b.span.end, &b.message))
        });
        list.dedup();
        let is_sound = list.iter().all(|fault| fault.is_remark);
        let faults = Faults {
            name: reading.name,
            source: reading.source,
            list,
        };
        if is_sound {
            Ok((made, faults))
        } else {
            Err(faults)
        }
    }

    /// The file's text.
    pub fn source(&self) -> &str {
        &self.source
    }

    /// Notes a fault.
    pub fn fault(&self, span: &Range<usize>, message: String, help: Option<String>) {
        self.note(span, message, help, false);
    }

    pub(super) fn note(
        &self,
        span: &Range<usize>,
        message: String,
        help: Option<String>,
        is_remark: bool,
    ) {
        let (line, column) = line_and_column(&self.source, span.start);
        self.faults.borrow_mut().push(Fault {
            span: span.clone(),
            line,
            column,
            message,
            help,
            is_remark,
        });
    }
}

/// What most often is wrong where a line is no TOML.
fn toml_help(source: &str, span: &Range<usize>) -> String {
    let before = source.get(..span.start).unwrap_or_default();
    let after = source.get(span.start..).unwrap_or_default();
    let line = format!(
        "{}{}",
        before.rsplit('\n').next().unwrap_or_default(),
        after.split('\n').next().unwrap_or_default()
    );
    if line.contains(['\u{201c}', '\u{201d}', '\u{2018}', '\u{2019}']) {
        "a word processor has put curly quotes here: use \" or '".to_owned()
    } else if line.contains('=') {
        "text needs quotes around it (single ones where the text itself holds double ones), and each key stands once".to_owned()
    } else {
        "each line is `key = value`, `[table]`, `[[list]]` or a comment that begins with #"
            .to_owned()
    }
}
