//! What is wrong with a file that a course edits, where it stands, and what to do about it.

use std::fmt::{self, Write as _};
use std::ops::Range;
use std::sync::Arc;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};

use crate::emphasis::Emphasis;
use crate::wording::counted;

/// What something wrong is called.
const FAULT: &str = "fault";
/// What something worth a look is called.
const REMARK: &str = "remark";

/// One thing that is wrong with a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The bytes of the file that are at fault.
    pub span: Range<usize>,
    /// The line, from 1.
    pub line: usize,
    /// The column in characters, from 1.
    pub column: usize,
    /// What is wrong.
    pub message: String,
    /// What to do about it, where that can be said.
    pub help: Option<String>,
    /// Whether it is only a remark: worth a look, and the file can be used as it is.
    pub is_remark: bool,
}

/// Every fault of one file, in the order in which they stand in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults {
    /// The file's name, as messages show it.
    pub name: String,
    /// The file's text.
    pub source: Arc<str>,
    /// The faults and remarks; at least one fault where this is returned as an error.
    pub list: Vec<Fault>,
}

/// The line and the column (in characters), both from 1, of a byte of a text; a byte past the end is at its end.
pub(super) fn line_and_column(source: &str, byte: usize) -> (usize, usize) {
    let before = source.get(..byte).unwrap_or(source);
    let line_start = before.rfind('\n').map_or(0, |at| at + 1);
    let line = before.matches('\n').count() + 1;
    let column = before
        .get(line_start..)
        .map_or(0, |text| text.chars().count())
        + 1;
    (line, column)
}

impl Faults {
    /// The faults as an instructor reads them: message, the line of the file with the place marked, and the help; then how many there are.
    /// With marks of [`Emphasis`].
    pub fn render(&self) -> String {
        format!("{}\n{}\n", self.listed(), self.counted())
    }

    fn listed(&self) -> String {
        let renderer = Renderer::plain();
        let mut out = String::new();
        for fault in &self.list {
            let snippet = Snippet::source(self.source.as_ref())
                .path(self.name.as_str())
                .annotation(AnnotationKind::Primary.span(self.clipped(&fault.span)));
            let level = if fault.is_remark {
                Level::WARNING.with_name(REMARK)
            } else {
                Level::ERROR.with_name(FAULT)
            };
            let mut group: Group<'_> = level.primary_title(fault.message.as_str()).element(snippet);
            if let Some(help) = &fault.help {
                group = group.element(Level::HELP.message(help.as_str()));
            }
            let how = if fault.is_remark {
                Emphasis::Concern
            } else {
                Emphasis::Error
            };
            for line in renderer.render(&[group]).lines() {
                out.push_str(&emphasised(line, how));
                out.push('\n');
            }
            out.push('\n');
        }
        out
    }

    fn counted(&self) -> String {
        let remarks = self.list.iter().filter(|fault| fault.is_remark).count();
        let faults = self.list.len() - remarks;
        let mut out = format!("{}: {}", self.name, counted(faults, FAULT));
        if remarks > 0 {
            let _ = write!(out, ", {}", counted(remarks, REMARK));
        }
        out
    }

    /// A span that the renderer takes: inside the text, on character boundaries, and on one line, so that a fault of a whole table
    /// doesn't print the table.
    fn clipped(&self, span: &Range<usize>) -> Range<usize> {
        let text = self.source.as_ref();
        let mut start = span.start.min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let line_end = text
            .get(start..)
            .and_then(|rest| rest.find('\n'))
            .map_or(text.len(), |at| start + at);
        let mut end = span.end.clamp(start, line_end);
        while !text.is_char_boundary(end) {
            end += 1;
        }
        start..end
    }
}

/// A line of a rendered fault, with what stands out in it marked: its kind, its place, and the signs under what is meant.
fn emphasised(line: &str, how: Emphasis) -> String {
    for kind in [FAULT, REMARK] {
        if let Some(message) = line
            .strip_prefix(kind)
            .and_then(|rest| rest.strip_prefix(':'))
        {
            return format!("{}{message}", how.on(&format!("{kind}:")));
        }
    }
    if let Some((before, place)) = line.split_once("--> ") {
        if before.trim().is_empty() {
            return format!("{before}--> {}", Emphasis::File.on(place));
        }
    } else if let Some((before, signs)) = line.split_once("| ")
        && before.trim().is_empty()
        && let Some(signs) = Some(signs.trim_start()).filter(|signs| signs.starts_with('^'))
    {
        let before = line.strip_suffix(signs).unwrap_or_default();
        return format!("{before}{}", how.on(signs));
    }
    line.to_owned()
}

impl fmt::Display for Faults {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // How many first: an error's first line says what is wrong with what.
        write!(f, "{}\n\n{}", self.counted(), self.listed().trim_end())
    }
}

impl std::error::Error for Faults {}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emphasis::plain;

    #[test]
    fn lines_and_columns_count_characters_from_one() {
        let text = "a = 1\nbé = 'ü'\n";
        assert_eq!(line_and_column(text, 0), (1, 1));
        assert_eq!(line_and_column(text, 6), (2, 1));
        // After "bé", which is three bytes and two characters.
        assert_eq!(line_and_column(text, 9), (2, 3));
        assert_eq!(line_and_column(text, 999), (3, 1));
    }

    #[test]
    fn a_fault_shows_its_line_and_its_help() {
        let faults = Faults {
            name: "rubric.toml".into(),
            source: "title = \"A\"\nout_off = 40\n".into(),
            list: vec![Fault {
                span: 12..19,
                line: 2,
                column: 1,
                message: "there is no key `out_off` here".into(),
                help: Some("did you mean `out_of`?".into()),
                is_remark: false,
            }],
        };
        let text = plain(&faults.render());
        assert!(text.contains("rubric.toml:2:1"), "{text}");
        assert!(text.contains("out_off = 40"), "{text}");
        assert!(text.contains("did you mean `out_of`?"), "{text}");
        assert!(text.ends_with("rubric.toml: 1 fault\n"), "{text}");
        let first = plain(&faults.to_string());
        assert!(
            first.starts_with("rubric.toml: 1 fault\n\nfault: there is no key"),
            "{first}"
        );
        let marked = faults.render();
        for (how, what) in [
            (Emphasis::Error, "fault:"),
            (Emphasis::File, "rubric.toml:2:1"),
            (Emphasis::Error, "^^^^^^^"),
        ] {
            assert!(marked.contains(&how.on(what)), "{marked:?}");
        }
    }
}
