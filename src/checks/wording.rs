//! Words that the findings share, so that one thing is said in one way.

use crate::number::plain;
use crate::phase::Phase;
use crate::thresholds::Thresholds;

/// A count with its noun: `1 trial`, `8 trials`.
pub fn counted(n: usize, noun: &str) -> String {
    if n == 1 {
        format!("1 {noun}")
    } else {
        format!("{n} {noun}s")
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

/// A threshold as a message states it: `few_trials = 10`; with the file, where the course set it: `few_trials = 8, set in rubric.toml`.
pub fn in_force(thresholds: &Thresholds, key: &str) -> String {
    let value = thresholds.get(key).map_or_else(String::new, plain);
    match thresholds.origin(key) {
        Some(origin) if origin.file != crate::thresholds::DEFAULTS_FILE => {
            format!("{key} = {value}, set in {}", origin.file)
        }
        _ => format!("{key} = {value}"),
    }
}

/// A sentence with a capital at its beginning.
pub fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A phase in a sentence: `the post-test`, `practice`.
pub fn the_phase(phase: Phase) -> String {
    if phase.kind.is_test() {
        format!("the {}", phase.title())
    } else {
        phase.title()
    }
}

/// A share as whole percent, which is all that a sentence needs: `75 %`.
pub fn percent(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
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
        assert_eq!(amount(1.0, "week"), "1 week");
        assert_eq!(amount(0.5, "day"), "0.5 days");
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        assert_eq!(capitalised("über"), "Über");
        assert_eq!(percent(0.754), "75 %");
        assert_eq!(shortened(&"a ".repeat(100)).chars().count(), 61);
    }

    #[test]
    fn a_threshold_says_who_set_it() {
        assert_eq!(
            in_force(&Thresholds::default(), "few_trials"),
            "few_trials = 10"
        );
    }
}
