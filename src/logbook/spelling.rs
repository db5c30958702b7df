//! When two spellings are the same: without case, spaces, punctuation, accents and a unit in brackets.

use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;

/// The key under which a spelling is found: letters and digits only, in lower case and without accents, a unit in brackets left out
/// (`Score (1-4)` is `score`). `%` is kept, because `% change` is not `change`; a text of signs alone (`#`, `✓`) is its own key.
pub(crate) fn key(text: &str) -> String {
    let outside = without_brackets(text);
    let mut key = String::with_capacity(outside.len());
    push_key(&mut key, &outside);
    if key.is_empty() {
        // Nothing but a bracket: the bracket is the word.
        push_key(&mut key, text);
    }
    if key.is_empty() {
        key.extend(text.chars().filter(|c| !c.is_whitespace()));
    }
    key
}

fn push_key(key: &mut String, text: &str) {
    if text.is_ascii() {
        key.extend(
            text.chars()
                .filter(|c| c.is_ascii_alphanumeric() || *c == '%')
                .map(|c| c.to_ascii_lowercase()),
        );
        return;
    }
    for c in text.nfkd() {
        // x with a bar over it is the mean; without its bar it would be a coordinate.
        if c == '\u{304}' && key.ends_with('x') {
            key.push_str("bar");
        } else if !is_combining_mark(c) && (c.is_alphanumeric() || c == '%') {
            key.extend(c.to_lowercase());
        }
    }
}

/// A text without its brackets and what stands in them.
pub(crate) fn without_brackets(text: &str) -> std::borrow::Cow<'_, str> {
    if !text.contains(['(', '[', '{']) {
        return text.into();
    }
    let mut outside = String::with_capacity(text.len());
    let mut depth = 0_u32;
    for c in text.chars() {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth = depth.saturating_sub(1),
            _ if depth == 0 => outside.push(c),
            _ => {}
        }
    }
    outside.into()
}

/// What stands in the first pair of brackets of a text.
pub(crate) fn in_brackets(text: &str) -> Option<&str> {
    let (_, rest) = text.split_once(['(', '['])?;
    let inside = rest
        .split_once([')', ']'])
        .map_or(rest, |(inside, _)| inside);
    Some(inside.trim()).filter(|inside| !inside.is_empty())
}

/// The words of a text: runs of letters, and runs of digits, in lower case and without accents (`Pretest T-1` is `pretest`, `t`, `1`).
pub(crate) fn words(text: &str) -> Vec<String> {
    if text.is_ascii() {
        words_of(text.chars())
    } else {
        words_of(text.nfkd().filter(|c| !is_combining_mark(*c)))
    }
}

fn words_of(characters: impl Iterator<Item = char>) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut last_was_digit = None;
    for c in characters {
        if !c.is_alphanumeric() {
            last_was_digit = None;
            continue;
        }
        let digit = c.is_ascii_digit();
        if last_was_digit != Some(digit) {
            words.push(String::new());
        }
        last_was_digit = Some(digit);
        if let Some(word) = words.last_mut() {
            word.extend(c.to_lowercase());
        }
    }
    words
}

/// A word followed by a whole number: `Trial 3` is `trial` and 3, `S2` is `s` and 2, `Session #4` is `session` and 4. The word is a key and
/// may be empty (`7`, `#7`). None where the text doesn't end in a whole number of at most six digits.
pub(crate) fn numbered(text: &str) -> Option<(String, u32)> {
    let outside = without_brackets(text);
    let trimmed = outside.trim_end_matches(|c: char| !c.is_alphanumeric());
    let digits = trimmed
        .chars()
        .rev()
        .take_while(char::is_ascii_digit)
        .count();
    if digits == 0 || digits > 6 {
        return None;
    }
    let (word, number) = trimmed.split_at(trimmed.len() - digits);
    // The tail of a decimal (`2.5`) is no number of its own.
    if word.ends_with(['.', ','])
        && word
            .trim_end_matches(['.', ','])
            .ends_with(|c: char| c.is_ascii_digit())
    {
        return None;
    }
    let mut key = String::new();
    push_key(&mut key, word);
    number.parse().ok().map(|number| (key, number))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spellings_that_mean_the_same_share_a_key() {
        assert_eq!(key("Score (1-4)"), "score");
        assert_eq!(key("  Pre-Test "), "pretest");
        assert_eq!(key("pré_teste"), "preteste");
        assert_eq!(key("Attempt #"), "attempt");
        assert_eq!(key("#"), "#");
        assert_eq!(key("% change"), "%change");
        assert_eq!(key("x\u{304}"), "xbar");
        assert_eq!(key("Ｓｃｏｒｅ"), "score");
        assert_eq!(key("(cm)"), "cm");
        assert_eq!(key("Pontuação"), "pontuacao");
    }

    #[test]
    fn numbers_after_words_are_told() {
        assert_eq!(numbered("Trial 3"), Some(("trial".into(), 3)));
        assert_eq!(numbered("S2"), Some(("s".into(), 2)));
        assert_eq!(numbered("Session #4"), Some(("session".into(), 4)));
        assert_eq!(numbered("Pretest T-1"), Some(("pretestt".into(), 1)));
        assert_eq!(numbered("7"), Some((String::new(), 7)));
        assert_eq!(numbered("2.5"), None);
        assert_eq!(numbered("Trial"), None);
        assert_eq!(numbered("Trial 3 (cm)"), Some(("trial".into(), 3)));
    }

    #[test]
    fn words_split_at_digits_and_signs() {
        assert_eq!(words("Pretest T-1"), ["pretest", "t", "1"]);
        assert_eq!(words("1week Retention"), ["1", "week", "retention"]);
        assert_eq!(in_brackets("Score (rater A)"), Some("rater A"));
    }
}
