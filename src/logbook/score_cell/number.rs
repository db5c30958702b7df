//! A number in a score cell, on the scale and in the unit of its measure.

use super::{ScoreColumnContext, meaning, unreadable};
use crate::logbook::model::{Measure, Score};
use crate::logbook::numbers::Typed;
use crate::logbook::problem::{Doubt, ProblemKind};
use crate::logbook::spelling::key;
use crate::number::{Bound, Stated, plain};

/// A number counts with nothing beside it, or a unit.
pub(super) fn number_or_words(
    typed: &Typed,
    text: &str,
    context: &ScoreColumnContext,
) -> (Score, Option<Doubt>) {
    let aliases = &context.settings.aliases;
    let measure = context.measure;
    let own_unit = measure.unit.as_deref().map(key);
    let known = |beside: &str| {
        let key = key(beside);
        beside.is_empty()
            || own_unit.as_deref() == Some(key.as_str())
            || aliases.is_unit(&key)
            || key == "score"
    };
    let bounded = typed.stated.bound != Bound::Exactly;
    if !known(&typed.before) || !known(&typed.after) || bounded {
        return match meaning(text, context) {
            Some(settled) => settled,
            None => unreadable(
                text,
                ProblemKind::NotANumber,
                format!("“{text}” is no single number."),
            ),
        };
    }
    if let Some(factor) = other_unit(&typed.after, own_unit.as_deref()) {
        let value = typed.stated.value * factor;
        return (
            Score::Number(clean(value)),
            Some(Doubt::new(
                ProblemKind::AmbiguousValue,
                format!("“{text}” is in another unit than its measure."),
                format!(
                    "It was read as {} {}.",
                    plain(clean(value)),
                    measure.unit.as_deref().unwrap_or_default()
                ),
            )),
        );
    }
    let value = if typed.stated.percent {
        of_percent(typed.stated.value, measure)
    } else {
        typed.stated.value
    };
    (Score::Number(value), None)
}

/// A product of decimals without the last bit's dust: 0.12 m is 12 cm.
fn clean(value: f64) -> f64 {
    Stated::from_stored(value).value
}

/// The factor from a typed unit to the measure's own, where both are lengths or both are times and they differ.
fn other_unit(typed: &str, own: Option<&str>) -> Option<f64> {
    let size = |unit: &str| -> Option<(u8, f64)> {
        match unit {
            "mm" => Some((0, 0.001)),
            "cm" | "cms" | "centimetres" | "centimeters" => Some((0, 0.01)),
            "m" | "metre" | "metres" | "meter" | "meters" => Some((0, 1.0)),
            "km" => Some((0, 1000.0)),
            "ms" | "msec" => Some((1, 0.001)),
            "s" | "sec" | "secs" | "second" | "seconds" => Some((1, 1.0)),
            "min" | "mins" | "minute" | "minutes" => Some((1, 60.0)),
            _ => None,
        }
    };
    let (kind, typed) = size(&key(typed))?;
    let (own_kind, own) = size(own?)?;
    (kind == own_kind && (typed - own).abs() > f64::EPSILON).then_some(typed / own)
}

/// A percentage on the measure's scale: 85 % is 0.85 on a scale that ends at 1, else 85.
pub(super) fn of_percent(percent: f64, measure: &Measure) -> f64 {
    let unit_is_percent = measure
        .unit
        .as_deref()
        .is_some_and(|unit| unit.contains('%'));
    if measure.highest == Some(1.0) && !unit_is_percent {
        percent / 100.0
    } else {
        clean(percent)
    }
}

/// A text that is one number or another by what its mark separates: the scale settles it, or the rest of the column.
pub(super) fn two_ways(
    decimal: &Typed,
    thousands: &Typed,
    text: &str,
    context: &ScoreColumnContext,
) -> (Score, Option<Doubt>) {
    let (small, large) = (decimal.stated.value, thousands.stated.value);
    let on_scale = |value: f64| {
        context.measure.lowest.is_none_or(|lowest| value >= lowest)
            && context
                .measure
                .highest
                .is_none_or(|highest| value <= highest)
    };
    let in_column = |value: f64| {
        context.span.is_some_and(|(low, high)| {
            value.abs() <= 5.0 * low.abs().max(high.abs())
                && value.abs() >= 0.2 * low.abs().min(high.abs())
        })
    };
    // An end of the scale decides only where there is one above: every number lies above 0.
    let by_scale = context.measure.highest.is_some() && on_scale(small) != on_scale(large);
    let chosen = if by_scale {
        Some(if on_scale(small) { decimal } else { thousands })
    } else if in_column(small) != in_column(large) {
        Some(if in_column(small) { decimal } else { thousands })
    } else {
        None
    };
    match chosen {
        Some(typed) => number_or_words(typed, text, context),
        None => unreadable(
            text,
            ProblemKind::AmbiguousValue,
            format!(
                "“{text}” may be {} or {}, and nothing else in its column settles it.",
                plain(small),
                plain(large)
            ),
        ),
    }
}

/// `3/4`: a score out of the top of the scale.
pub(super) fn fraction(
    numerator: f64,
    denominator: f64,
    text: &str,
    measure: &Measure,
) -> (Score, Option<Doubt>) {
    if measure.highest == Some(denominator) {
        return (Score::Number(numerator), None);
    }
    let says = match measure.highest {
        Some(highest) => format!(
            "“{text}” is out of {}, and the measure's scale ends at {}.",
            plain(denominator),
            plain(highest)
        ),
        None => format!("“{text}” is a fraction, and the measure's scale has no upper end."),
    };
    unreadable(text, ProblemKind::AmbiguousValue, says)
}
