//! Under which conditions blocks were recorded, compared as people mean them.

use std::collections::BTreeMap;

use crate::checks::Seen;
use crate::checks::wording::shortened;
use crate::phase::Phase;

/// The conditions of some trials: as compared, and as first typed.
pub(super) type Conditions = BTreeMap<String, String>;

/// A condition without case, spaces and punctuation; a decimal mark between digits stays, for 2.5 m is not 25 m.
pub(super) fn as_compared(condition: &str) -> String {
    let letters: Vec<char> = condition.chars().flat_map(char::to_lowercase).collect();
    let digit = |at: Option<usize>| {
        at.and_then(|at| letters.get(at))
            .is_some_and(char::is_ascii_digit)
    };
    letters
        .iter()
        .enumerate()
        .filter_map(|(at, letter)| match letter {
            '.' | ',' if digit(at.checked_sub(1)) && digit(at.checked_add(1)) => Some('.'),
            letter if letter.is_alphanumeric() => Some(*letter),
            _ => None,
        })
        .collect()
}

/// The conditions recorded for the trials of which `of` is true.
pub(super) fn conditions(seen: &Seen, of: impl Fn(usize, Phase) -> bool) -> Conditions {
    let mut found = Conditions::new();
    for trial in &seen.logbook.trials {
        if let (Some(phase), Some(condition)) = (trial.phase, &trial.condition)
            && of(trial.measure, phase)
        {
            let compared = as_compared(condition);
            if !compared.is_empty() {
                found
                    .entry(compared)
                    .or_insert_with(|| shortened(condition.trim()));
            }
        }
    }
    found
}

/// The conditions as typed, for a sentence: `“3 m”, “5 m”`.
pub(super) fn as_typed(conditions: &Conditions) -> String {
    const SHOWN: usize = 4;
    let mut typed: Vec<String> = conditions
        .values()
        .take(SHOWN)
        .map(|condition| format!("“{condition}”"))
        .collect();
    if conditions.len() > SHOWN {
        typed.push("…".to_owned());
    }
    typed.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn case_spaces_and_punctuation_make_no_difference_and_numbers_do() {
        assert_eq!(as_compared(" 3 M, Indoor"), as_compared("3m indoor."));
        assert_ne!(as_compared("2.5 m"), as_compared("25 m"));
        assert_eq!(as_compared("2,5 m"), as_compared("2.5m"));
        assert_ne!(as_compared("left hand"), as_compared("right hand"));
    }
}
