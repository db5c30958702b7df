//! The nearest known name to one that is not known.

/// The known name that a person most likely meant, where one is near enough to be worth saying: at most a third of its letters changed
/// or two letters swapped, or the same words in another dress (`few-trials` for `few_trials`).
pub fn nearest<'k>(given: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    let plain = |name: &str| -> String {
        name.chars()
            .filter(|c| c.is_alphanumeric())
            .flat_map(char::to_lowercase)
            .collect()
    };
    let wanted = plain(given);
    known
        .into_iter()
        .filter_map(|name| {
            let candidate = plain(name);
            let changes = strsim::damerau_levenshtein(&wanted, &candidate);
            let longest = wanted.chars().count().max(candidate.chars().count());
            (changes * 3 <= longest.max(3)).then_some((changes, name))
        })
        .min_by(|a, b| a.0.cmp(&b.0))
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_is_recognised_and_another_word_is_not() {
        let known = ["few_trials", "retention_days", "ceiling", "floor"];
        assert_eq!(nearest("few_trails", known), Some("few_trials"));
        assert_eq!(nearest("few-trials", known), Some("few_trials"));
        assert_eq!(nearest("Ceilling", known), Some("ceiling"));
        assert_eq!(nearest("programme", known), None);
    }
}
