//! What a person typed into a cell, as it comes onto the ledger.

use unicode_normalization::UnicodeNormalization as _;

use crate::logbook::grid::Value;
use crate::number::plain;

/// The text of a cell as its reader sees it, for messages and for comparing headers.
pub fn shown(value: &Value) -> String {
    match value {
        Value::NotCalculated => String::new(),
        Value::Number(number) => canonical(*number),
        Value::Text(text) | Value::Error(text) => text.to_string(),
        Value::Truth(truth) => truth.to_string(),
        Value::Date(moment) if moment.time() == jiff::civil::Time::midnight() => {
            moment.date().to_string()
        }
        Value::Date(moment) => moment.to_string(),
        Value::Duration(days) => plain(*days),
        Value::Time(time) => time.to_string(),
    }
}

/// Whether nothing stands there: spaces are nothing.
pub fn is_empty(value: &Value) -> bool {
    matches!(value, Value::Text(text) if text.trim().is_empty())
}

/// A number at fifteen significant digits: office programs keep no more when they save a workbook again.
pub fn canonical(number: f64) -> String {
    let rounded = format!("{number:.14e}").parse().unwrap_or(number);
    plain(rounded)
}

/// A number between two others, typed as a number or as text with a decimal point or comma.
///
/// # Errors
/// Why it is none, to be read after the cell's text.
pub fn number(value: &Value, least: f64, most: f64) -> Result<String, String> {
    let range = || format!("a number from {} to {}", plain(least), plain(most));
    let number = match value {
        Value::Number(number) => Some(*number),
        Value::Text(text) => number_in(text),
        Value::Error(_) | Value::NotCalculated => {
            return Err(format!("is a formula without a result; enter {}", range()));
        }
        Value::Date(_) | Value::Duration(_) | Value::Time(_) => {
            return Err(format!(
                "became a date or time in the spreadsheet; enter {}",
                range()
            ));
        }
        Value::Truth(_) => None,
    };
    match number {
        Some(number) if number.is_finite() && number >= least && number <= most => {
            Ok(canonical(number))
        }
        Some(number) if number.is_finite() => Err(format!("is out of range; enter {}", range())),
        _ => Err(format!("is not a number; enter {}", range())),
    }
}

/// A number in text: digits with at most one sign before and one decimal point or comma within.
fn number_in(text: &str) -> Option<f64> {
    // Full-width digits and the like become plain ones.
    let text: String = text.trim().nfkc().collect();
    let text = text.trim().replace('−', "-").replace(',', ".");
    let digits = text.strip_prefix(['-', '+']).unwrap_or(&text);
    let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.chars().any(|c| c.is_ascii_digit())
        && digits.chars().filter(|c| *c == '.').count() <= 1;
    plain.then(|| text.parse().ok()).flatten()
}

/// One of some words, whatever their case.
///
/// # Errors
/// Why it is none, to be read after the cell's text.
pub fn word(value: &Value, words: &[&str]) -> Result<String, String> {
    let typed = shown(value);
    let typed = typed.split_whitespace().collect::<Vec<_>>().join(" ");
    words
        .iter()
        .find(|word| word.to_lowercase() == typed.to_lowercase())
        .map(|word| (*word).to_owned())
        .ok_or_else(|| format!("is not one of the words: {}", words.join(", ")))
}

/// Free text, without spaces around it, line ends as one character.
///
/// # Errors
/// The cell holds an error or a formula without a result.
pub fn text(value: &Value) -> Result<String, String> {
    match value {
        Value::Error(_) | Value::NotCalculated => Err(String::from(
            "is a formula without a result; begin a text with a letter, or with an apostrophe",
        )),
        value => Ok(tidy(&shown(value))),
    }
}

/// Text as it is compared and kept.
pub fn tidy(text: &str) -> String {
    text.replace("\r\n", "\n")
        .replace('\r', "\n")
        .trim()
        .to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> Result<String, String> {
        number(&Value::Text(text.into()), 0.0, 10.0)
    }

    #[test]
    fn numbers_are_taken_however_they_are_typed() {
        for (typed, taken) in [
            ("7.5", "7.5"),
            (" 7,5 ", "7.5"),
            ("\u{a0}8", "8"),
            ("０", "0"),
            ("10", "10"),
            (".5", "0.5"),
        ] {
            assert_eq!(of(typed).as_deref(), Ok(taken), "{typed}");
        }
        // What LibreOffice stores for a third, and the third itself, are one number.
        let third = number(&Value::Number(1.0 / 3.0), 0.0, 10.0);
        assert_eq!(
            third,
            number(&Value::Number(0.333_333_333_333_333), 0.0, 10.0)
        );
        assert_eq!(
            number(&Value::Number(0.1 + 0.2), 0.0, 1.0).as_deref(),
            Ok("0.3")
        );
    }

    #[test]
    fn what_is_no_mark_is_refused_with_why() {
        for (typed, says) in [
            ("11", "out of range"),
            ("-1", "out of range"),
            ("seven", "not a number"),
            ("1.234,5", "not a number"),
            ("7/10", "not a number"),
            ("inf", "not a number"),
            ("1e1", "not a number"),
        ] {
            assert!(of(typed).unwrap_err().contains(says), "{typed}");
        }
        let date = Value::Date(jiff::civil::date(2026, 10, 7).at(0, 0, 0, 0));
        assert!(number(&date, 0.0, 10.0).unwrap_err().contains("date"));
    }

    #[test]
    fn words_are_taken_whatever_their_case() {
        let words = ["uphold", "ask the pair"];
        let of = |text: &str| word(&Value::Text(text.into()), &words);
        assert_eq!(of(" Ask  the pair ").as_deref(), Ok("ask the pair"));
        assert!(of("keep").is_err());
    }
}
