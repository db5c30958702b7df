//! Files read back in words: lines short enough to proofread.

use std::fmt::Write as _;

/// Longest line, in characters.
pub const WIDTH: usize = 100;

/// Writes a label and a text as lines of at most [`WIDTH`] characters, set in by `indent`; the lines that follow the first are set in further.
pub fn wrapped(out: &mut String, label: &str, text: &str, indent: usize) {
    let mut line = format!("{:indent$}{label}", "");
    let mut length = line.chars().count();
    let mut is_start = label.is_empty();
    for word in text.split_whitespace() {
        let wide = word.chars().count();
        if !is_start && length + 1 + wide > WIDTH {
            let _ = writeln!(out, "{line}");
            line = format!("{:1$}", "", indent + 3);
            length = indent + 3;
        } else if !is_start {
            line.push(' ');
            length += 1;
        }
        is_start = false;
        line.push_str(word);
        length += wide;
    }
    let _ = writeln!(out, "{line}");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_texts_are_wrapped_under_their_label() {
        let mut out = String::new();
        wrapped(&mut out, "asks:", &"word ".repeat(40), 3);
        let lines: Vec<&str> = out.lines().collect();
        assert_eq!(lines.len(), 3);
        assert!(lines[0].starts_with("   asks: word"));
        assert!(lines[1].starts_with("      word"));
        assert!(lines.iter().all(|line| line.chars().count() <= WIDTH));
        assert_eq!(out.matches("word").count(), 40);
    }
}
