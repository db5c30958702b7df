//! The findings that a pair is told, those of one check together.

use crate::checks::{Finding, Weight};

/// A finding, or several of one check, as the pair is told it.
#[derive(Debug, Clone, PartialEq)]
pub struct ToldOf {
    /// The check.
    pub check: &'static str,
    /// The heaviest weight of the findings.
    pub weight: Weight,
    /// Their comments, with what several say said once.
    pub text: String,
}

/// The findings by check, the heaviest first.
pub fn by_check<'a>(findings: impl Iterator<Item = &'a Finding>) -> Vec<ToldOf> {
    let mut all: Vec<(&'static str, Weight, Vec<&str>)> = Vec::new();
    for finding in findings {
        match all.iter_mut().find(|(check, ..)| *check == finding.check) {
            Some((_, weight, texts)) => {
                *weight = (*weight).max(finding.weight);
                texts.push(&finding.comment);
            }
            None => all.push((finding.check, finding.weight, vec![&finding.comment])),
        }
    }
    let mut told: Vec<ToldOf> = all
        .into_iter()
        .map(|(check, weight, texts)| ToldOf {
            check,
            weight,
            text: without_repeats(&texts),
        })
        .collect();
    told.sort_by_key(|one| std::cmp::Reverse(one.weight));
    told
}

/// Texts one after the other, each sentence said once: what differs first, then what they end on alike.
fn without_repeats(texts: &[&str]) -> String {
    let split: Vec<Vec<&str>> = texts.iter().map(|text| sentences(text)).collect();
    let in_several =
        |sentence: &&str| texts.len() > 1 && split.iter().all(|text| text.contains(sentence));
    let mut said: Vec<&str> = Vec::new();
    let (own, shared): (Vec<&str>, Vec<&str>) = split
        .iter()
        .flatten()
        .copied()
        .partition(|sentence| !in_several(sentence));
    for sentence in own.into_iter().chain(shared) {
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    said.join(" ")
}

/// The sentences of a text: each ends with a point, a colon's list with it, before a space and a capital letter.
fn sentences(text: &str) -> Vec<&str> {
    let mut all = Vec::new();
    let mut from = 0;
    for (at, _) in text.match_indices(". ") {
        let next = text.get(at + 2..).and_then(|rest| rest.chars().next());
        if next.is_some_and(|next| next.is_uppercase() || next == '“')
            && let Some(sentence) = text.get(from..=at)
        {
            all.push(sentence.trim());
            from = at + 2;
        }
    }
    all.extend(
        text.get(from..)
            .map(str::trim)
            .filter(|rest| !rest.is_empty()),
    );
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_of_one_check_are_said_once_with_what_differs() {
        let texts = [
            "The pre-test has 6.5 of 10. Plan more of them. “Few” is few.",
            "The post-test has 7 of 10. Plan more of them. “Few” is few.",
        ];
        assert_eq!(
            without_repeats(&texts),
            "The pre-test has 6.5 of 10. The post-test has 7 of 10. Plan more of them. “Few” is few."
        );
        assert_eq!(without_repeats(&["One. Two."]), "One. Two.");
    }
}
