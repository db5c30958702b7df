//! Text fitted to a terminal: long lines broken between words and set in, so that what belongs to a label stays beside it.

use crate::configuration::WIDTH;
use crate::emphasis::{columns, plain, width as width_of};

/// Below this a terminal is left to break lines itself.
const NARROWEST: usize = 30;
/// How far a line that follows is set in, where the line has no label.
const INDENT: usize = 3;

/// Text beside a label gets at least so many columns: where there are fewer, what follows is set in only a little.
const LEAST_BESIDE: usize = 22;

/// The text in lines of at most `width` characters; single words may be longer. Spaces within a line stay as they are: columns keep their
/// places.
pub fn fitted(text: &str, width: usize) -> String {
    if width < NARROWEST {
        return text.to_owned();
    }
    let mut out = String::with_capacity(text.len() + text.len() / 8);
    for line in whole(text, width) {
        fit(&mut out, &line, width);
        out.push('\n');
    }
    if !text.ends_with('\n') {
        out.pop();
    }
    out
}

/// The lines of a text, with those joined that were broken at [`WIDTH`] only, where the terminal is narrower.
fn whole(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    // The line before as it stood, and where the one that began it begins.
    let mut before: Option<(&str, usize)> = None;
    for line in text.lines() {
        let indent = indent_of(line);
        if let (Some((last, begin)), Some(joined)) = (before, lines.last_mut())
            && width < WIDTH
            && indent == begin + INDENT
            && was_broken(last, line)
        {
            joined.push(' ');
            joined.push_str(line.trim_start());
            before = Some((line, begin));
        } else {
            lines.push(line.to_owned());
            before = Some((line, indent));
        }
    }
    lines
}

/// Whether `line` follows `last` only because its first word found no room there.
fn was_broken(last: &str, line: &str) -> bool {
    let word = line.split_whitespace().next().unwrap_or_default();
    let length = width_of(last);
    length <= WIDTH && !word.is_empty() && length + 1 + width_of(word) > WIDTH
}

fn indent_of(line: &str) -> usize {
    line.chars().take_while(|letter| *letter == ' ').count()
}

fn fit(out: &mut String, line: &str, width: usize) {
    let hang = hang(&plain(line), width);
    let mut rest = line;
    let mut room = width;
    let mut least = indent_of(line);
    while width_of(rest) > room {
        let Some(at) = where_to_break(rest, least, room) else {
            break;
        };
        let (kept, after) = rest.split_at(at);
        out.push_str(kept.trim_end());
        rest = after.trim_start_matches(' ');
        if rest.is_empty() {
            return;
        }
        out.push('\n');
        out.extend(std::iter::repeat_n(' ', hang));
        room = width - hang;
        least = 0;
    }
    out.push_str(rest);
}

/// The byte of the last space before which all fits in `room` columns, else of the first one after that; beyond the first `least` columns.
fn where_to_break(line: &str, least: usize, room: usize) -> Option<usize> {
    let mut before = 0;
    let mut fits = None;
    for (at, letter) in line.char_indices() {
        if letter == ' ' && before > least {
            if before <= room {
                fits = Some(at);
            } else {
                return fits.or(Some(at));
            }
        }
        before += columns(letter);
    }
    fits
}

/// Where the lines that follow begin, of a line without marks: under the text after a label, which two spaces or more set apart; else a little further in than the
/// line itself.
fn hang(line: &str, width: usize) -> usize {
    let indent = indent_of(line);
    let words = line.get(indent..).unwrap_or_default();
    let under = words.find("  ").and_then(|gap| {
        let (label, after) = words.split_at(gap);
        let text = after.len() - after.trim_start_matches(' ').len();
        Some(indent + width_of(label) + text)
            .filter(|under| *under <= width * 2 / 3 && under + LEAST_BESIDE <= width)
    });
    under.unwrap_or(indent + INDENT).min(width / 3 * 2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::wrapped;

    #[test]
    fn what_fits_stays_as_it_is() {
        let text = " a  b\n\n   c\n";
        assert_eq!(fitted(text, 40), text);
        assert_eq!(fitted("no line end", 40), "no line end");
        let long = "word ".repeat(30);
        assert_eq!(fitted(&long, NARROWEST - 1), long);
    }

    #[test]
    fn what_follows_a_label_stays_beside_it() {
        let text = "  claims         257 agree, 3 differ, none that no scores can give\n";
        assert_eq!(
            fitted(text, 40),
            "  claims         257 agree, 3 differ,\n                 none that no scores can\n                 give\n"
        );
        let text = " testing.one-rater: too little was rated by two people\n";
        assert_eq!(
            fitted(text, 40),
            " testing.one-rater: too little was rated\n    by two people\n"
        );
    }

    #[test]
    fn a_label_that_leaves_hardly_any_room_has_its_text_set_in_a_little() {
        let text = "2026-11-25 19:25 UTC  Mark for Theory: 4; L. Forsberg (second marker)\n";
        assert_eq!(
            fitted(text, 40),
            "2026-11-25 19:25 UTC  Mark for Theory:\n   4; L. Forsberg (second marker)\n"
        );
        assert_eq!(
            fitted(text, 60),
            "2026-11-25 19:25 UTC  Mark for Theory: 4; L. Forsberg\n                      (second marker)\n"
        );
    }

    #[test]
    fn no_word_is_broken_or_lost_and_no_line_is_too_long() {
        let text = format!(
            "  label   {} {}\n",
            "some words of a text".repeat(6),
            "x".repeat(90)
        );
        for width in NARROWEST..120 {
            let fitted = fitted(&text, width);
            let words = |text: &str| -> Vec<String> {
                text.split_whitespace().map(str::to_owned).collect()
            };
            assert_eq!(words(&fitted), words(&text), "{width}");
            for line in fitted.lines() {
                assert!(
                    line.chars().count() <= width || line.trim().len() == 90,
                    "{line}"
                );
            }
        }
    }

    #[test]
    fn a_text_that_was_wrapped_for_a_wide_terminal_is_wrapped_anew() {
        let long = "a text of some length ".repeat(12);
        let mut wide = String::new();
        wrapped(&mut wide, "", &long, 4);
        wide.push_str("    Another text.\n");
        let fitted = fitted(&wide, 60);
        let mut lines: Vec<&str> = fitted.lines().collect();
        assert_eq!(lines.pop(), Some("    Another text."));
        let lengths: Vec<usize> = lines.iter().map(|line| line.chars().count()).collect();
        let (_, full) = lengths.split_last().unwrap();
        assert!(
            full.iter().all(|length| (52..=60).contains(length)),
            "{fitted}"
        );
    }
}
