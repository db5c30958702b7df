//! Text of cells: superscripts, escapes of the formats, and what must not stand in a text.

use std::borrow::Cow;
use std::sync::Arc;

/// Text in a raised run, as Unicode superscripts: so that a footnote's mark is not read as a digit of the number before it.
pub(super) fn raised(text: &str) -> String {
    text.chars().map(superscript).collect()
}

fn superscript(character: char) -> char {
    const FROM: &str = "0123456789+-=()abcdefghijklmnoprstuvwxyz−";
    const TO: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ᵃᵇᶜᵈᵉᶠᵍʰⁱʲᵏˡᵐⁿᵒᵖʳˢᵗᵘᵛʷˣʸᶻ⁻";
    FROM.chars()
        .zip(TO.chars())
        .find_map(|(from, to)| (from == character).then_some(to))
        .unwrap_or(character)
}

/// Characters that control a terminal, don't show, or turn the direction of writing, so that a name reads as another.
pub(in crate::logbook) fn misleads(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}'
        )
}

/// A sheet's name as it may be shown: what misleads stands as `�`.
pub(super) fn sheet_name(name: &str) -> Arc<str> {
    if name.contains(misleads) {
        Arc::from(name.replace(misleads, "\u{fffd}"))
    } else {
        Arc::from(name)
    }
}

/// Text of a workbook, its escapes (`_x000D_`) replaced. Source: ECMA-376-1, 22.9.2.19 (`ST_Xstring`).
pub(super) fn unescaped(bytes: &[u8]) -> Cow<'_, str> {
    if memchr::memmem::find(bytes, b"_x").is_none() {
        return String::from_utf8_lossy(bytes);
    }
    let all = String::from_utf8_lossy(bytes);
    let mut out = String::with_capacity(all.len());
    let mut rest = &*all;
    while let Some(at) = rest.find("_x") {
        let (before, from) = rest.split_at_checked(at).unwrap_or((rest, ""));
        out.push_str(before);
        let code = from
            .get(2..6)
            .filter(|_| from.as_bytes().get(6) == Some(&b'_'))
            .filter(|hex| hex.bytes().all(|byte| byte.is_ascii_hexdigit()))
            .and_then(|hex| u32::from_str_radix(hex, 16).ok())
            .and_then(char::from_u32);
        if let Some(character) = code {
            // A return stands only beside the line feed that it belongs to; other controls mean nothing in a cell.
            if !character.is_control() || matches!(character, '\t' | '\n') {
                out.push(character);
            }
            rest = from.get(7..).unwrap_or_default();
        } else {
            out.push_str("_x");
            rest = from.get(2..).unwrap_or_default();
        }
    }
    out.push_str(rest);
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raised_marks_are_superscripts() {
        assert_eq!(raised("2a*"), "²ᵃ*");
        assert_eq!(
            "0123456789+-=()abcdefghijklmnoprstuvwxyz−".chars().count(),
            raised("0123456789+-=()abcdefghijklmnoprstuvwxyz−")
                .chars()
                .count()
        );
        assert_eq!(raised("z−"), "ᶻ⁻");
    }

    #[test]
    fn names_of_sheets_show_as_what_they_are() {
        assert_eq!(&*sheet_name("Raw data"), "Raw data");
        assert_eq!(&*sheet_name("Tri\u{202e}slai"), "Tri\u{fffd}slai");
    }

    #[test]
    fn escapes_of_workbooks_are_replaced() {
        assert_eq!(unescaped(b"a_x000D_\nb"), "a\nb");
        assert_eq!(unescaped(b"_x005F_x0041_"), "_x0041_");
        assert_eq!(unescaped(b"max_x and _x00"), "max_x and _x00");
    }
}
