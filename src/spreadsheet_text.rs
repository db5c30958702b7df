//! Text that stays text when a spreadsheet opens the csv file it stands in.
//!
//! A field that begins with `=`, `+`, `-`, `@`, a tab or a line break is taken for a formula (OWASP, CSV Injection): it gets a leading
//! apostrophe. Numbers are never touched: they don't come here.

use std::borrow::Cow;

fn begins_a_formula(text: &str) -> bool {
    // Spreadsheets pass over spaces before the sign, and take its full-width forms too.
    text.trim_start_matches([' ', '\u{a0}']).starts_with([
        '=', '+', '-', '@', '\t', '\r', '\n', '\0', '＝', '＋', '－', '＠',
    ])
}

/// The text as it is written to a csv file for people.
pub fn neutralised(text: &str) -> Cow<'_, str> {
    if begins_a_formula(text) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

/// The text as [`neutralised`] got it, for files that are read back. A text that had an apostrophe of its own before a sign is marked
/// once more on the way out (see [`marked`]), so that nothing is lost.
pub fn restored(text: &str) -> &str {
    match text.strip_prefix('\'') {
        Some(rest) if needs_mark(rest) => rest,
        _ => text,
    }
}

/// As [`neutralised`], and such that [`restored`] gives exactly the text back.
pub fn marked(text: &str) -> Cow<'_, str> {
    if needs_mark(text) {
        Cow::Owned(format!("'{text}"))
    } else {
        Cow::Borrowed(text)
    }
}

fn needs_mark(text: &str) -> bool {
    begins_a_formula(text.trim_start_matches('\''))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formulas_become_text_and_come_back() {
        assert_eq!(neutralised("=1+1"), "'=1+1");
        assert_eq!(neutralised("  @cmd"), "'  @cmd");
        assert_eq!(neutralised("a = b"), "a = b");
        assert_eq!(neutralised(""), "");
        for text in [
            "=1",
            "'=1",
            "''=1",
            "'quoted' words",
            "plain",
            "-",
            "'",
            "\t x",
        ] {
            assert_eq!(restored(&marked(text)), text, "{text:?}");
        }
    }
}
