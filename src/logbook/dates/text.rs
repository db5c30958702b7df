//! A text taken apart as a date, before the file's other dates settle the order of day and month and the year.

use jiff::civil::Date;

use super::{YEARS, serial_date};
use crate::logbook::aliases::Aliases;
use crate::logbook::numbers::plain;
use crate::logbook::spelling::key;

/// A text date before order and year are settled.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Parts {
    Whole(Date),
    /// Three numbers, or two where the year is left out, as they stand.
    Numbers {
        first: i16,
        second: i16,
        year: Option<i16>,
    },
    /// Year first, then two numbers: `26/3/9`.
    YearFirst {
        year: i16,
        month: i8,
        day: i8,
    },
    /// Day and named month without a year.
    NoYear {
        month: i8,
        day: i8,
    },
}

/// Whether a text looks like a date, day and month settled or not.
pub(crate) fn looks_like_date(text: &str, aliases: &Aliases) -> bool {
    // A bare number may be anything.
    text.trim().parse::<f64>().is_err() && parts(text, aliases).is_some()
}

pub(super) fn date(year: i16, month: i8, day: i8) -> Option<Date> {
    Date::new(year, month, day)
        .ok()
        .filter(|date| YEARS.contains(&date.year()))
}

pub(super) fn small(number: i16) -> Option<i8> {
    i8::try_from(number).ok()
}

pub(super) fn two_digit_year(year: i16) -> i16 {
    match year {
        0..=69 => 2000 + year,
        70..=99 => 1900 + year,
        other => other,
    }
}

/// A run of digits or of letters in a date text.
enum Token<'a> {
    Number(i16, usize),
    Word(&'a str),
}

pub(super) fn parts(text: &str, aliases: &Aliases) -> Option<Parts> {
    // The usual form first: it needs no settling.
    if let Some(date) = iso(text) {
        return Some(Parts::Whole(date));
    }
    let text = plain(text);
    if text.len() > 60 {
        return None;
    }
    let text = without_time(&text);
    if let Ok(serial) = text.parse::<f64>() {
        return serial_date(serial).map(Parts::Whole);
    }
    let mut numbers: Vec<(i16, usize)> = Vec::new();
    let mut month = None;
    for token in tokens(text)? {
        match token {
            Token::Number(number, digits) => numbers.push((number, digits)),
            Token::Word(word) => {
                let key = key(word);
                if let Some(named) = aliases.month(&key).filter(|_| month.is_none()) {
                    month = Some(named);
                } else if !(aliases.is_weekday(&key)
                    || matches!(
                        key.as_str(),
                        "st" | "nd"
                            | "rd"
                            | "th"
                            | "de"
                            | "of"
                            | "the"
                            | "den"
                            | "le"
                            | "el"
                            | "del"
                    ))
                {
                    return None;
                }
            }
        }
    }
    match (month, numbers.as_slice()) {
        (Some(month), [(day, _)]) => Some(Parts::NoYear {
            month,
            day: small(*day)?,
        }),
        (Some(month), [(first, first_digits), (second, second_digits)]) => {
            let (day, year) = if *first_digits == 4 || (*first > 31 && *second_digits <= 2) {
                (*second, *first)
            } else {
                (*first, *second)
            };
            date(two_digit_year(year), month, small(day)?).map(Parts::Whole)
        }
        (None, [(year, 4), (month, _), (day, _)]) => {
            date(*year, small(*month)?, small(*day)?).map(Parts::Whole)
        }
        (None, [(first, 1..=2), (second, 1..=2), (year, digits)])
            if matches!(digits, 2 | 4) || *first > 31 =>
        {
            if *first > 31 {
                return Some(Parts::YearFirst {
                    year: two_digit_year(*first),
                    month: small(*second)?,
                    day: small(*year)?,
                });
            }
            Some(Parts::Numbers {
                first: *first,
                second: *second,
                year: Some(two_digit_year(*year)),
            })
        }
        (None, [(first, 1..=2), (second, 1..=2), (day, 1)]) => Some(Parts::YearFirst {
            year: two_digit_year(*first),
            month: small(*second)?,
            day: small(*day)?,
        }),
        (None, [(first, 1..=2), (second, 1..=2)]) => Some(Parts::Numbers {
            first: *first,
            second: *second,
            year: None,
        }),
        _ => None,
    }
    .filter(|parts| match parts {
        Parts::Numbers { first, second, .. } => {
            (1..=31).contains(first) && (1..=31).contains(second)
        }
        _ => true,
    })
}

/// `2026-03-09`, with or without a time of day behind it.
pub(super) fn iso(text: &str) -> Option<Date> {
    let bytes = text.as_bytes();
    if bytes.len() < 10 || bytes.get(4) != Some(&b'-') || bytes.get(7) != Some(&b'-') {
        return None;
    }
    if bytes.len() > 10 && !matches!(bytes.get(10), Some(b'T' | b' ')) {
        return None;
    }
    let number = |range: std::ops::Range<usize>| text.get(range)?.parse::<i16>().ok();
    date(number(0..4)?, small(number(5..7)?)?, small(number(8..10)?)?)
}

/// A text without a time of day at its end.
pub(super) fn without_time(text: &str) -> &str {
    let Some(colon) = text.find(':') else {
        return text;
    };
    let head = text.get(..colon).unwrap_or(text);
    head.trim_end_matches(|c: char| c.is_ascii_digit())
        .trim_end_matches([' ', 'T', ',', 't'])
        .trim_end_matches("at")
        .trim_end()
}

fn tokens(text: &str) -> Option<Vec<Token<'_>>> {
    let mut tokens = Vec::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let same = |other: char| {
            if c.is_ascii_digit() {
                other.is_ascii_digit()
            } else {
                c.is_alphabetic() && other.is_alphabetic()
            }
        };
        let length: usize = rest
            .chars()
            .take_while(|other| same(*other))
            .map(char::len_utf8)
            .sum();
        if c.is_ascii_digit() {
            let digits = rest.get(..length)?;
            tokens.push(Token::Number(digits.parse().ok()?, length));
            rest = rest.get(length..)?;
        } else if c.is_alphabetic() {
            tokens.push(Token::Word(rest.get(..length)?));
            rest = rest.get(length..)?;
        } else if matches!(
            c,
            '/' | '-' | '.' | ',' | ' ' | '\'' | '(' | ')' | '_' | 'º' | '°'
        ) {
            rest = rest.get(c.len_utf8()..)?;
        } else {
            return None;
        }
        if tokens.len() > 8 {
            return None;
        }
    }
    Some(tokens)
}
