//! From a place inside a TOML string, as it reads, to the place in the file, as it is written.

use std::ops::Range;

/// The byte of the file at which the character stands that begins at byte `offset` of the string's value. `span` is the string as
/// it is written, quotes included. Exact for all four kinds of TOML string, escapes included; a value that doesn't come from there
/// (or an offset past its end) gives the end of the string's text.
pub fn source_offset(source: &str, span: &Range<usize>, offset: usize) -> usize {
    let Some(written) = source.get(span.clone()) else {
        return span.start;
    };
    let (quotes, escapes) = match written.as_bytes() {
        [b'\'', b'\'', b'\'', ..] => (3, false),
        [b'"', b'"', b'"', ..] if written.len() >= 6 => (3, true),
        [b'\'', ..] => (1, false),
        [b'"', ..] => (1, true),
        _ => (0, false),
    };
    let mut start = quotes;
    if quotes == 3 {
        // The line break right after three quotes is not part of the value.
        let rest = written.get(3..).unwrap_or_default();
        start += if rest.starts_with("\r\n") {
            2
        } else {
            usize::from(rest.starts_with('\n'))
        };
    }
    let end = written.len().saturating_sub(quotes).max(start);
    let text = written.get(start..end).unwrap_or_default();
    let mut read = 0;
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let (taken, produced) = if first == '\\' && escapes {
            escape(rest)
        } else {
            (first.len_utf8(), first.len_utf8())
        };
        // An escape that gives nothing (a line that goes on) stands before the character wanted.
        if read >= offset && produced > 0 {
            break;
        }
        read += produced;
        rest = rest.get(taken..).unwrap_or_default();
    }
    span.start + end - rest.len()
}

/// How many bytes an escape at the start of `text` takes in the file, and how many it gives in the value.
fn escape(text: &str) -> (usize, usize) {
    let digits = |length: usize| -> (usize, usize) {
        let code = text
            .get(2..2 + length)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok())
            .and_then(char::from_u32);
        (2 + length, code.map_or(0, char::len_utf8))
    };
    match text.as_bytes().get(1) {
        Some(b'u') => digits(4),
        Some(b'U') => digits(8),
        Some(b'x') => digits(2),
        Some(b' ' | b'\t' | b'\n' | b'\r') => {
            // A line that ends in a backslash goes on at the next word.
            let rest = text.get(1..).unwrap_or_default();
            (1 + rest.len() - rest.trim_start().len(), 0)
        }
        Some(_) => (2, 1),
        None => (1, 0),
    }
}

#[cfg(test)]
mod tests {
    use super::source_offset;

    /// The text of the file from where the first `needle` of the value stands.
    fn found(source: &str, needle: &str) -> String {
        let table: toml::de::DeTable<'_> = toml::de::DeTable::parse(source).unwrap().into_inner();
        let (_, value) = table.iter().next().unwrap();
        let text = value.get_ref().as_str().unwrap();
        let offset = text.find(needle).unwrap();
        source[source_offset(source, &value.span(), offset)..].to_owned()
    }

    #[test]
    fn each_kind_of_string_maps_back_to_the_file() {
        assert!(found("a = 'x and y'", "and").starts_with("and y'"));
        assert!(found("a = \"x and y\"", "and").starts_with("and y\""));
        assert!(found("a = '''\nx\nand y'''", "and").starts_with("and y'''"));
        assert!(found("a = \"\"\"\r\nx\r\nand y\"\"\"", "and").starts_with("and y\"\"\""));
        assert!(found("a = \"f[\\\"id\\\"] and y\"", "and").starts_with("and y\""));
        assert!(found("a = \"\\u00e9\\t\\U0001F600 and y\"", "and").starts_with("and y\""));
        assert!(found("a = \"\"\"x \\\n   and y\"\"\"", "and").starts_with("and y\"\"\""));
        assert!(found("a = 'é and y'", "and").starts_with("and y'"));
    }

    #[test]
    fn a_place_past_the_end_is_the_end_of_the_text() {
        assert_eq!(source_offset("a = 'xy'", &(4..8), 99), 7);
        assert_eq!(source_offset("a = 'xy'", &(4..99), 1), 4);
    }
}
