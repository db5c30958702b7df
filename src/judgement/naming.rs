//! Which of several known names a text of a pair's own names: "Late cognitive / early associative (Fitts & Posner)".

/// The words of a text, without case and punctuation.
fn words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| !word.is_empty())
        .map(str::to_owned)
        .collect()
}

/// How pairs name something, each spelling with its words ready to be found.
#[derive(Debug, Clone, PartialEq)]
pub struct Spellings {
    texts: Vec<String>,
    words: Vec<Vec<String>>,
}

impl Spellings {
    /// These spellings.
    pub fn of(texts: Vec<String>) -> Self {
        Self {
            words: texts.iter().map(|text| words(text)).collect(),
            texts,
        }
    }

    /// As they are written.
    pub fn texts(&self) -> &[String] {
        &self.texts
    }
}

/// Words of a text, ready to be searched for names.
pub(super) struct Naming {
    words: Vec<String>,
}

impl Naming {
    pub fn of(text: &str) -> Self {
        Self { words: words(text) }
    }

    /// Whether the text says anything at all.
    pub fn is_empty(&self) -> bool {
        self.words.is_empty()
    }

    /// Whether the text has one of these spellings as whole words in a row, and not as what the learner is not ("not yet autonomous").
    pub fn names(&self, spellings: &Spellings) -> bool {
        spellings.words.iter().any(|wanted| {
            !wanted.is_empty()
                && self
                    .words
                    .windows(wanted.len())
                    .enumerate()
                    .any(|(at, window)| window == wanted.as_slice() && !self.is_denied(at))
        })
    }

    /// Whether one of the two words before a place denies what stands there.
    fn is_denied(&self, at: usize) -> bool {
        let from = at.saturating_sub(2);
        self.words
            .get(from..at)
            .is_some_and(|before| before.iter().any(|word| word == "not" || word == "never"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_as_whole_words_whatever_their_dress() {
        let text = Naming::of("Late COGNITIVE/early-associative (Fitts & Posner, 1967)");
        let named = |spelling: &str| text.names(&Spellings::of(vec![spelling.to_owned()]));
        assert!(named("cognitive"));
        assert!(named("early associative"));
        assert!(named("Fitts and Posner") || named("Fitts & Posner"));
        assert!(!named("autonomous"));
        assert!(!named("associat"));
    }

    #[test]
    fn what_is_denied_is_not_named() {
        let text = Naming::of("associative, not yet autonomous");
        let names = |spelling: &str| text.names(&Spellings::of(vec![spelling.to_owned()]));
        assert!(!names("autonomous"));
        assert!(names("associative"));
        assert!(Naming::of("  – ").is_empty());
    }
}
