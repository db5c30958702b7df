//! Which mark of a run of digits separates decimals, and which thousands.

use super::{Marks, Parts, plain};

/// How a run of digits and marks reads.
pub(super) enum Digits {
    One(f64, usize),
    Two {
        decimal: (f64, usize),
        thousands: f64,
    },
    None,
}

/// What the marks of one run of digits say.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Shape {
    /// No mark.
    Whole,
    /// This mark separates decimals, beyond doubt.
    Decimal(u8),
    /// This mark separates thousands, beyond doubt.
    Thousands(u8),
    /// One mark before exactly three digits.
    Either(u8),
    /// Nothing that a number looks like.
    Broken,
}

fn shape(digits: &str) -> Shape {
    let bytes = digits.as_bytes();
    let groups_of_three = |mark: u8| {
        let mut groups = bytes.split(|b| *b == mark);
        groups
            .next()
            .is_some_and(|first| (1..=3).contains(&first.len()))
            && groups.all(|group| group.len() == 3)
    };
    let count = |mark: char| digits.matches(mark).count();
    let last = |mark: u8| bytes.iter().rposition(|b| *b == mark).unwrap_or(0);
    match (count('.'), count(',')) {
        (0, 0) => Shape::Whole,
        (points, commas) if points > 0 && commas > 0 => {
            if last(b'.') > last(b',') && points == 1 {
                Shape::Decimal(b'.')
            } else if last(b',') > last(b'.') && commas == 1 {
                Shape::Decimal(b',')
            } else {
                Shape::Broken
            }
        }
        (points, commas) => {
            let (mark, n) = if points > 0 {
                (b'.', points)
            } else {
                (b',', commas)
            };
            let at = last(mark);
            let behind = bytes.len() - at - 1;
            if n > 1 {
                if groups_of_three(mark) {
                    Shape::Thousands(mark)
                } else {
                    Shape::Broken
                }
            } else if behind == 3 && (1..=3).contains(&at) && bytes.first() != Some(&b'0') {
                Shape::Either(mark)
            } else {
                Shape::Decimal(mark)
            }
        }
    }
}

pub(super) fn read_digits(digits: &str, marks: Marks) -> Digits {
    let compact: String = digits
        .chars()
        .filter(|c| !matches!(c, ' ' | '\''))
        .collect();
    let decimal = |mark: u8| {
        let other = if mark == b'.' { ',' } else { '.' };
        let text = compact.replace(other, "").replace(char::from(mark), ".");
        let decimals = text.rsplit_once('.').map_or(0, |(_, behind)| behind.len());
        text.parse::<f64>().ok().map(|value| (value, decimals))
    };
    let thousands = |mark: u8| compact.replace(char::from(mark), "").parse::<f64>().ok();
    let one =
        |read: Option<(f64, usize)>| read.map_or(Digits::None, |(value, n)| Digits::One(value, n));
    match shape(&compact) {
        Shape::Whole => one(compact.parse().ok().map(|value| (value, 0))),
        Shape::Decimal(mark) => one(decimal(mark)),
        Shape::Thousands(mark) => one(thousands(mark).map(|value| (value, 0))),
        Shape::Either(mark) => match (mark, marks) {
            (b'.', Marks::Point | Marks::Open) | (b',', Marks::Comma) => one(decimal(mark)),
            (b'.', Marks::Comma) | (b',', Marks::Point) => {
                one(thousands(mark).map(|value| (value, 0)))
            }
            _ => match (decimal(mark), thousands(mark)) {
                (Some(decimal), Some(thousands)) => Digits::Two { decimal, thousands },
                _ => Digits::None,
            },
        },
        Shape::Broken => Digits::None,
    }
}

/// What the texts of a column say of their marks: a text that can be read in one way only settles the others.
pub(crate) fn marks_of<'a>(texts: impl IntoIterator<Item = &'a str>) -> Marks {
    let (mut point, mut comma) = (0_u32, 0_u32);
    for text in texts {
        let text = plain(text);
        let Some(parts) = Parts::of(&text) else {
            continue;
        };
        match shape(parts.digits) {
            Shape::Decimal(b'.') | Shape::Thousands(b',') => point += 1,
            Shape::Decimal(b',') | Shape::Thousands(b'.') => comma += 1,
            _ => {}
        }
    }
    match (point, comma) {
        (0, 0) => Marks::Open,
        (0, _) => Marks::Comma,
        (_, 0) => Marks::Point,
        // Both in one column: neither settles the others.
        _ => Marks::Open,
    }
}
