//! What small drawings are made of: labels, and numbers that take little room.

use std::fmt::Write as _;

use crate::number::readable;
use crate::report::page::chart::escaped;

/// An end of the scale: fewer decimals the larger it is, for there is little room.
pub(super) fn end_in_short(end: f64) -> String {
    let scale = match end.abs() {
        size if size >= 100.0 => 1.0,
        size if size >= 10.0 => 10.0,
        _ => 100.0,
    };
    readable((end * scale).round() / scale)
}

/// A label at a place.
pub(super) fn text(out: &mut String, x: f64, y: f64, text: &str, class: &str) {
    let class = if class.is_empty() {
        String::new()
    } else {
        format!(" class=\"{class}\"")
    };
    let _ = write!(
        out,
        "<text{class} x=\"{}\" y=\"{}\">{}</text>",
        short(x),
        short(y),
        escaped(text)
    );
}

/// A coordinate: to a tenth, without an idle zero.
pub(super) fn short(coordinate: f64) -> String {
    let text = format!("{coordinate:.1}");
    match text.strip_suffix(".0") {
        Some("-0") => String::from("0"),
        Some(whole) => whole.to_owned(),
        None => text,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ends_of_scales_fit_beside_the_plot() {
        let ends = [4.0, 0.5, 14.337, 1234.567, -3.0].map(end_in_short);
        assert_eq!(ends, ["4", "0.5", "14.3", "1235", "-3"]);
    }

    #[test]
    fn coordinates_are_short() {
        assert_eq!(
            [12.0, 0.04, -0.04, 3.25].map(short),
            ["12", "0", "0", "3.2"]
        );
    }
}
