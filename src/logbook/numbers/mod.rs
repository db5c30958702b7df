//! Numbers as people type them: decimal comma or point, thousands marks, units, percent signs, fractions, bounds.

mod digits;

use std::borrow::Cow;

pub(crate) use self::digits::marks_of;
use self::digits::{Digits, read_digits};
use crate::number::{Bound, Stated};

/// Which mark separates the decimals of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Marks {
    /// Nothing in the column settles it.
    #[default]
    Open,
    /// `3.5`, and `1,234` is over a thousand.
    Point,
    /// `3,5`, and `1.234` is over a thousand.
    Comma,
}

/// A number with what stood beside it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Typed {
    /// The number as stated.
    pub stated: Stated,
    /// What stood before it (`p =`), trimmed; empty for most.
    pub before: String,
    /// What stood behind it (`cm`), trimmed, without brackets; empty for most.
    pub after: String,
}

/// How a text reads as a number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum NumberText {
    /// One number.
    Number(Typed),
    /// A mark that could separate thousands or decimals.
    TwoWays {
        /// Read with the mark before decimals.
        decimal: Typed,
        /// Read with the mark between thousands.
        thousands: Typed,
    },
    /// One whole number over another: `3/4`, `7 out of 10`.
    Fraction {
        /// Above the line.
        numerator: f64,
        /// Below it.
        denominator: f64,
    },
    /// A number with a raised digit, which may be a power or mark a footnote.
    Raised {
        /// The number without it.
        number: Typed,
        /// The raised digits.
        mark: String,
    },
    /// A number and a question mark.
    Doubted(f64),
    /// `4:34`: minutes and seconds, or seconds and hundredths.
    Clock,
    /// No number.
    No,
}

/// A text with full-width digits, all kinds of spaces and minus signs, and invisible marks made plain.
pub(crate) fn plain(text: &str) -> Cow<'_, str> {
    if text.is_ascii() {
        return Cow::Borrowed(text.trim().trim_start_matches('\'').trim());
    }
    let mapped: String = text
        .chars()
        .filter_map(|c| match c {
            '\u{ff10}'..='\u{ff19}' => char::from_digit(u32::from(c) - 0xff10, 10),
            '\u{660}'..='\u{669}' => char::from_digit(u32::from(c) - 0x660, 10),
            '\u{ff0e}' => Some('.'),
            '\u{ff0c}' | '\u{66b}' => Some(','),
            '\u{ff05}' => Some('%'),
            '\u{ff0f}' | '\u{2044}' | '\u{2215}' => Some('/'),
            '\u{ff0b}' => Some('+'),
            '\u{2212}' | '\u{2010}'..='\u{2015}' | '\u{ff0d}' | '\u{fe63}' | '\u{207b}' => {
                Some('-')
            }
            '\u{a0}' | '\u{2000}'..='\u{200a}' | '\u{202f}' | '\u{205f}' | '\u{3000}' => Some(' '),
            '\u{2018}' | '\u{2019}' => Some('\''),
            '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{2069}'
            | '\u{feff}' => None,
            _ => Some(c),
        })
        .collect();
    Cow::Owned(mapped.trim().trim_start_matches('\'').trim().to_owned())
}

/// Reads a text as a number, with the marks that its column has settled on.
pub(crate) fn read_number(text: &str, marks: Marks) -> NumberText {
    if let Some(stated) = simple(text) {
        return NumberText::Number(Typed {
            stated,
            before: String::new(),
            after: String::new(),
        });
    }
    let text = plain(text);
    let Some(parts) = Parts::of(&text) else {
        return vulgar_fraction(&text);
    };
    parts.read(marks)
}

/// The quickest way, for the texts of most cells: digits with at most one point, nothing else.
fn simple(text: &str) -> Option<Stated> {
    let bytes = text.as_bytes();
    if bytes.is_empty() || bytes.len() > 15 {
        return None;
    }
    let mut point = None;
    for (index, byte) in bytes.iter().enumerate() {
        match byte {
            b'0'..=b'9' => {}
            b'-' if index == 0 => {}
            b'.' if point.is_none() => point = Some(index),
            _ => return None,
        }
    }
    // `1.234` may be over a thousand: the long way decides.
    if point.is_some_and(|at| bytes.len() - at == 4) {
        return None;
    }
    let decimals = point.map_or(0, |at| bytes.len() - at - 1);
    let value: f64 = text.parse().ok()?;
    Some(Stated::new(value, u8::try_from(decimals).ok()?))
}

/// A text cut at its first run of digits.
struct Parts<'a> {
    before: &'a str,
    negative: bool,
    bound: Bound,
    /// Digits with marks between them.
    digits: &'a str,
    after: &'a str,
}

impl<'a> Parts<'a> {
    fn of(text: &'a str) -> Option<Self> {
        let outside_brackets = opening_bracket_of_degrees(text);
        let first = text
            .char_indices()
            .find(|(at, c)| *at >= outside_brackets && c.is_ascii_digit())
            .map(|(at, _)| at)?;
        let mut start = first;
        // `.03` begins with its mark.
        if let Some(head) = text.get(..first)
            && head.ends_with(['.', ','])
            && !head
                .trim_end_matches(['.', ','])
                .ends_with(|c: char| c.is_alphanumeric())
        {
            start = first - 1;
        }
        let rest = text.get(start..)?;
        let length = digits_length(rest);
        let mut before = text.get(..start)?.trim_end();
        let mut negative = false;
        if let Some(head) = before.strip_suffix('-') {
            // A hyphen after a word is no minus (`T-1`).
            if !head.ends_with(|c: char| c.is_alphanumeric()) {
                negative = true;
                before = head.trim_end();
            }
        } else if let Some(head) = before.strip_suffix('+') {
            before = head.trim_end();
        }
        let (before, bound) = take_bound(before);
        Some(Self {
            before: about(before),
            negative,
            bound,
            digits: rest.get(..length)?,
            after: rest.get(length..)?.trim(),
        })
    }

    fn typed(&self, value: f64, decimals: usize, after: &str) -> Typed {
        let percent = after.starts_with('%')
            || after
                .get(..7)
                .is_some_and(|word| word.eq_ignore_ascii_case("percent"))
            || after
                .get(..8)
                .is_some_and(|words| words.eq_ignore_ascii_case("per cent"));
        Typed {
            stated: Stated {
                value: if self.negative { -value } else { value },
                decimals: u8::try_from(decimals).unwrap_or(u8::MAX),
                bound: self.bound,
                percent,
            },
            before: self.before.to_owned(),
            after: if percent {
                String::new()
            } else {
                super::spelling::without_brackets(after).trim().to_owned()
            },
        }
    }

    fn read(&self, marks: Marks) -> NumberText {
        let (digits, after, exponent) = take_exponent(self.digits, self.after);
        if let Some(fraction) = self.fraction(digits, after) {
            return fraction;
        }
        if is_clock(after) {
            return NumberText::Clock;
        }
        if let Some(half) = after.chars().next().and_then(vulgar)
            && let Ok(whole) = digits.parse::<f64>()
        {
            let rest = after.chars().skip(1).collect::<String>();
            return NumberText::Number(self.typed(whole + half, 2, rest.trim()));
        }
        let after = after.trim_start_matches(['*', '†', '‡', '§']).trim_start();
        if after == "?" {
            return match read_digits(digits, marks) {
                Digits::One(value, _) => NumberText::Doubted(value),
                _ => NumberText::No,
            };
        }
        let raised: String = after.chars().take_while(|c| raised_digit(*c)).collect();
        let behind = after.get(raised.len()..).unwrap_or_default().trim();
        let number = |value: f64, decimals: usize| {
            let value = value * 10_f64.powi(exponent);
            let decimals = i64::try_from(decimals).unwrap_or(0) - i64::from(exponent);
            self.typed(
                value,
                usize::try_from(decimals.clamp(0, 255)).unwrap_or(0),
                behind,
            )
        };
        let read = match read_digits(digits, marks) {
            Digits::One(value, decimals) => NumberText::Number(number(value, decimals)),
            Digits::Two {
                decimal: (d, decimals),
                thousands,
            } => NumberText::TwoWays {
                decimal: number(d, decimals),
                thousands: number(thousands, 0),
            },
            Digits::None => NumberText::No,
        };
        match read {
            NumberText::Number(number) if !raised.is_empty() => NumberText::Raised {
                number,
                mark: raised,
            },
            read => read,
        }
    }

    /// `3/4`, `3 / 4`, `3 out of 4`, `3 of 4`.
    fn fraction(&self, digits: &str, after: &str) -> Option<NumberText> {
        let lower = after.to_ascii_lowercase();
        let denominator = lower
            .strip_prefix('/')
            .or_else(|| lower.strip_prefix("out of"))
            .or_else(|| lower.strip_prefix("of "))?
            .trim();
        let numerator: f64 = digits.replace(',', ".").parse().ok()?;
        let denominator: f64 = denominator.parse().ok()?;
        let numerator = if self.negative { -numerator } else { numerator };
        (denominator > 0.0).then_some(NumberText::Fraction {
            numerator,
            denominator,
        })
    }
}

/// `t(18) = 2.31`: the number after the equals sign is meant, not the degrees of freedom.
fn opening_bracket_of_degrees(text: &str) -> usize {
    match (text.find('('), text.rfind(['=', '<', '>', '≤', '≥'])) {
        (Some(bracket), Some(sign)) if bracket < sign => sign,
        (None, Some(sign)) => sign,
        _ => 0,
    }
}

/// How long the run of digits, marks and spaces between digits is that begins a text.
fn digits_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let digit = |at: usize| bytes.get(at).is_some_and(u8::is_ascii_digit);
    let mut at = 0;
    loop {
        match bytes.get(at) {
            Some(b'0'..=b'9') => at += 1,
            Some(b'.' | b',') if digit(at + 1) => at += 1,
            // A space or an apostrophe separates thousands only before exactly three digits.
            Some(b' ' | b'\'')
                if at > 0 && digit(at + 1) && digit(at + 2) && digit(at + 3) && !digit(at + 4) =>
            {
                at += 1;
            }
            // `3.` ends with its mark.
            Some(b'.' | b',') if at > 0 && bytes.get(at + 1).is_none() => return at + 1,
            _ => return at,
        }
    }
}

fn take_bound(before: &str) -> (&str, Bound) {
    for (sign, bound) in [
        ("<=", Bound::AtMost),
        (">=", Bound::AtLeast),
        ("≤", Bound::AtMost),
        ("≥", Bound::AtLeast),
        ("<", Bound::Below),
        (">", Bound::Above),
    ] {
        if let Some(head) = before.strip_suffix(sign) {
            return (head.trim_end(), bound);
        }
    }
    (before, Bound::Exactly)
}

/// What stands before a number, without an equals sign and without words for "about".
fn about(before: &str) -> &str {
    let mut rest = before.trim();
    loop {
        let shorter = rest
            .trim_end_matches(['=', '≈', '~', '∼', ':', '≅'])
            .trim_end();
        if shorter.len() == rest.len() {
            break;
        }
        rest = shorter;
    }
    let word = rest.trim_end_matches('.').to_ascii_lowercase();
    if matches!(
        word.as_str(),
        "c" | "ca" | "circa" | "about" | "approx" | "approximately" | "around"
    ) {
        ""
    } else {
        rest
    }
}

fn take_exponent<'a>(digits: &'a str, after: &'a str) -> (&'a str, &'a str, i32) {
    let Some(rest) = after.strip_prefix(['e', 'E']) else {
        return (digits, after, 0);
    };
    let sign = usize::from(rest.starts_with(['+', '-']));
    let length = rest
        .bytes()
        .skip(sign)
        .take_while(u8::is_ascii_digit)
        .count();
    let exponent = rest.get(..sign + length).and_then(|text| text.parse().ok());
    match exponent {
        Some(exponent) if length > 0 => (
            digits,
            rest.get(sign + length..).unwrap_or_default().trim(),
            exponent,
        ),
        _ => (digits, after, 0),
    }
}

fn is_clock(after: &str) -> bool {
    after
        .strip_prefix(':')
        .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

fn raised_digit(c: char) -> bool {
    matches!(
        c,
        '\u{b2}' | '\u{b3}' | '\u{b9}' | '\u{2070}' | '\u{2074}'..='\u{2079}'
    )
}

/// The plain digits of raised ones: `²` is `2`.
pub(crate) fn lowered(mark: &str) -> String {
    mark.chars()
        .filter_map(|c| match c {
            '\u{b9}' => Some('1'),
            '\u{b2}' => Some('2'),
            '\u{b3}' => Some('3'),
            '\u{2070}' => Some('0'),
            '\u{2074}'..='\u{2079}' => char::from_digit(u32::from(c) - 0x2070, 10),
            _ => None,
        })
        .collect()
}

fn vulgar(c: char) -> Option<f64> {
    match c {
        '½' => Some(0.5),
        '¼' => Some(0.25),
        '¾' => Some(0.75),
        _ => None,
    }
}

fn vulgar_fraction(text: &str) -> NumberText {
    let mut chars = text.chars();
    match (chars.next().and_then(vulgar), chars.next()) {
        (Some(value), None) => NumberText::Number(Typed {
            stated: Stated::new(value, 2),
            before: String::new(),
            after: String::new(),
        }),
        _ => NumberText::No,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, marks: Marks) -> Option<(f64, u8)> {
        match read_number(text, marks) {
            NumberText::Number(typed) => Some((typed.stated.value, typed.stated.decimals)),
            _ => None,
        }
    }

    #[test]
    fn plain_numbers_and_marks() {
        assert_eq!(value("3", Marks::Open), Some((3.0, 0)));
        assert_eq!(value("-3.40", Marks::Open), Some((-3.4, 2)));
        assert_eq!(value("2,5", Marks::Open), Some((2.5, 1)));
        assert_eq!(value("1.234,5", Marks::Open), Some((1234.5, 1)));
        assert_eq!(value("1,234.5", Marks::Open), Some((1234.5, 1)));
        assert_eq!(value("1 234", Marks::Open), Some((1234.0, 0)));
        assert_eq!(value("1\u{a0}234,5", Marks::Open), Some((1234.5, 1)));
        assert_eq!(value("1'234", Marks::Open), Some((1234.0, 0)));
        assert_eq!(value("1,234", Marks::Point), Some((1234.0, 0)));
        assert_eq!(value("1,234", Marks::Comma), Some((1.234, 3)));
        assert_eq!(value("1.234", Marks::Comma), Some((1234.0, 0)));
        assert_eq!(value("1.234", Marks::Open), Some((1.234, 3)));
        assert_eq!(value("0,125", Marks::Open), Some((0.125, 3)));
        assert_eq!(value("12,345,678", Marks::Open), Some((12_345_678.0, 0)));
        assert_eq!(value(".03", Marks::Open), Some((0.03, 2)));
        assert_eq!(value("'4", Marks::Open), Some((4.0, 0)));
        assert_eq!(value("\u{2212}4", Marks::Open), Some((-4.0, 0)));
        assert_eq!(value("３．５", Marks::Open), Some((3.5, 1)));
        assert_eq!(value("1.5e3", Marks::Open), Some((1500.0, 0)));
        assert_eq!(value("1e-4", Marks::Open), Some((0.0001, 4)));
        assert_eq!(value("3½", Marks::Open), Some((3.5, 2)));
        assert_eq!(value("", Marks::Open), None);
        assert_eq!(value("three", Marks::Open), None);
        assert!(matches!(
            read_number("1,234", Marks::Open),
            NumberText::TwoWays { .. }
        ));
    }

    fn typed(text: &str) -> Typed {
        match read_number(text, Marks::Open) {
            NumberText::Number(typed) => typed,
            other => panic!("{text}: {other:?}"),
        }
    }

    #[test]
    fn units_bounds_and_words() {
        assert_eq!(typed("3.4 m").after, "m");
        let about = typed("≈12 cm");
        assert_eq!(
            (
                about.stated.value,
                about.after.as_str(),
                about.before.as_str()
            ),
            (12.0, "cm", "")
        );
        assert_eq!(typed("3 (good)").after, "");
        assert_eq!(value("4*", Marks::Open), Some((4.0, 0)));
        let p = typed("p = .03");
        assert_eq!(
            (p.before.as_str(), p.stated.value, p.stated.decimals),
            ("p", 0.03, 2)
        );
        let p = typed("p < .001");
        assert_eq!((p.stated.bound, p.stated.value), (Bound::Below, 0.001));
        assert_eq!(typed("≥ 10").stated.bound, Bound::AtLeast);
        assert_eq!(value("t(18) = 2.31", Marks::Open), Some((2.31, 2)));
        let percent = typed("35 %");
        assert!(percent.stated.percent);
        assert_eq!(value("35 %", Marks::Open), Some((35.0, 0)));
        assert_eq!(value("+12.5%", Marks::Open), Some((12.5, 1)));
        assert_eq!(value("3.4 (SD 0.8)", Marks::Open), Some((3.4, 1)));
        assert_eq!(typed("7 or 8").after, "or 8");
    }

    #[test]
    fn what_is_no_single_number() {
        assert_eq!(
            read_number("3/4", Marks::Open),
            NumberText::Fraction {
                numerator: 3.0,
                denominator: 4.0
            }
        );
        assert!(matches!(
            read_number("7 out of 10", Marks::Open),
            NumberText::Fraction { .. }
        ));
        assert_eq!(read_number("4:34", Marks::Open), NumberText::Clock);
        assert_eq!(read_number("3.5?", Marks::Open), NumberText::Doubted(3.5));
        match read_number("3²", Marks::Open) {
            NumberText::Raised { number, mark } => {
                assert_eq!(number.stated, Stated::new(3.0, 0));
                assert_eq!(lowered(&mark), "2");
            }
            other => panic!("{other:?}"),
        }
        assert_eq!(read_number("1.2.3", Marks::Open), NumberText::No);
    }

    #[test]
    fn a_column_settles_its_marks() {
        assert_eq!(marks_of(["3,5", "1,234"]), Marks::Comma);
        assert_eq!(marks_of(["3.5", "1,234"]), Marks::Point);
        assert_eq!(marks_of(["1,234", "2,345"]), Marks::Open);
        assert_eq!(marks_of(["12 cm", "good"]), Marks::Open);
    }
}
