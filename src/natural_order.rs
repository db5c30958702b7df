//! The order in which people list names: without case, digits as numbers (`P2` before `P10`).

use std::cmp::Ordering;

/// Compares two names in natural order. Names that differ only in case or leading zeros are told apart by their bytes, so that the order is
/// total.
pub fn compare(a: &str, b: &str) -> Ordering {
    let mut left = a;
    let mut right = b;
    loop {
        match (left.chars().next(), right.chars().next()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(l), Some(r)) if l.is_ascii_digit() && r.is_ascii_digit() => {
                let (l_digits, l_rest) = split_digits(left);
                let (r_digits, r_rest) = split_digits(right);
                let by_number = l_digits
                    .len()
                    .cmp(&r_digits.len())
                    .then_with(|| l_digits.cmp(r_digits));
                if by_number != Ordering::Equal {
                    return by_number;
                }
                left = l_rest;
                right = r_rest;
            }
            (Some(l), Some(r)) => {
                let by_letter = l.to_lowercase().cmp(r.to_lowercase());
                if by_letter != Ordering::Equal {
                    return by_letter;
                }
                left = left.get(l.len_utf8()..).unwrap_or_default();
                right = right.get(r.len_utf8()..).unwrap_or_default();
            }
        }
    }
}

/// The leading digits without leading zeros, and what follows them. However many digits there are, numbers compare by length, then digit
/// by digit.
fn split_digits(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(text.len());
    let (digits, rest) = text.split_at(end);
    (digits.trim_start_matches('0'), rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_count_as_numbers() {
        let mut names = [
            "P10",
            "p2",
            "P1b",
            "P1",
            "P01",
            "P2 x",
            "é",
            "P99999999999999999999999",
        ];
        names.sort_by(|a, b| compare(a, b));
        assert_eq!(
            names,
            [
                "P01",
                "P1",
                "P1b",
                "p2",
                "P2 x",
                "P10",
                "P99999999999999999999999",
                "é"
            ]
        );
    }
}
