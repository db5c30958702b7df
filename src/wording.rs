//! Words that fit what they are said of, for every sentence that the program says.

use crate::number::plain;

/// `1 error`, `3 errors`, `2 queries`.
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        return format!("1 {noun}");
    }
    match noun.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o']) => format!("{count} {stem}ies"),
        _ => format!("{count} {noun}s"),
    }
}

/// An amount with its noun: `1 week`, `2.5 weeks`.
pub fn amount(value: f64, noun: &str) -> String {
    let number = plain(value);
    if number == "1" {
        format!("1 {noun}")
    } else {
        format!("{number} {noun}s")
    }
}

/// A list in a sentence: `a, b and c`.
pub fn listed<T: AsRef<str>>(items: &[T]) -> String {
    match items {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// A sentence with a capital at its beginning.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A text of the pair's, cut so that a long cell does not fill a sentence.
pub fn shortened(text: &str) -> String {
    const LONGEST: usize = 60;
    if text.chars().count() <= LONGEST {
        text.to_owned()
    } else {
        let kept: String = text.chars().take(LONGEST).collect();
        format!("{} …", kept.trim_end())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_fit_their_numbers() {
        assert_eq!(counted(1, "trial"), "1 trial");
        assert_eq!(counted(0, "trial"), "0 trials");
        assert_eq!(counted(1, "query"), "1 query");
        assert_eq!(counted(2, "query"), "2 queries");
        assert_eq!(amount(1.0, "week"), "1 week");
        assert_eq!(amount(0.5, "day"), "0.5 days");
    }

    #[test]
    fn lists_begin_and_end_as_sentences_do() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b"]), "a and b");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        assert_eq!(capitalised("über"), "Über");
        assert_eq!(shortened(&"a ".repeat(100)).chars().count(), 61);
    }
}
