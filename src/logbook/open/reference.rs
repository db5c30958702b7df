//! Names of cells and ranges (`F14`, `A1:C1`), and formulas shared down a column.

use std::fmt::Write as _;

use super::sheet_builder::{COLUMNS, ROWS};
use crate::logbook::grid::Merged;

/// Row and column, from 0, of a cell's name. Numbers beyond any sheet are given as they are, up to what fits.
pub(super) fn cell(name: &[u8]) -> Option<(u32, u32)> {
    let mut column = 0_u32;
    let mut row = 0_u32;
    let mut digits = false;
    for byte in name {
        match byte {
            b'$' => {}
            b'A'..=b'Z' | b'a'..=b'z' if !digits => {
                let letter = u32::from(byte.to_ascii_uppercase() - b'A') + 1;
                column = column.checked_mul(26)?.checked_add(letter)?;
            }
            b'0'..=b'9' => {
                digits = true;
                row = row.checked_mul(10)?.checked_add(u32::from(byte - b'0'))?;
            }
            _ => return None,
        }
    }
    Some((row.checked_sub(1)?, column.checked_sub(1)?))
}

/// A range by its name; one cell is a range too.
pub(super) fn range(name: &[u8]) -> Option<Merged> {
    let mut ends = name.splitn(2, |byte| *byte == b':');
    let (first_row, first_column) = cell(ends.next()?)?;
    let (last_row, last_column) = match ends.next() {
        Some(end) => cell(end)?,
        None => (first_row, first_column),
    };
    Some(Merged {
        first_row,
        first_column,
        last_row,
        last_column,
    })
}

/// A formula written for one cell as it reads `rows` down and `columns` to the right. A reference that leaves the sheet becomes `#REF!`.
///
/// Text in quotes, names of sheets, functions and tables stay as they are; ranges of whole rows or columns move too.
pub(super) fn moved(formula: &str, rows: i64, columns: i64) -> String {
    let mut out = String::with_capacity(formula.len() + 8);
    let mut rest = formula;
    let mut before = None;
    while let Some(first) = rest.chars().next() {
        if let Some(length) = unmoved(rest, first) {
            let (kept, later) = rest.split_at_checked(length).unwrap_or((rest, ""));
            out.push_str(kept);
            before = kept.chars().next_back();
            rest = later;
            continue;
        }
        if is_name(first) || first == '$' {
            let length = rest
                .find(|c: char| !is_name(c) && c != '$')
                .unwrap_or(rest.len());
            let (word, later) = rest.split_at_checked(length).unwrap_or((rest, ""));
            // A name before `!` is a sheet's, before `(` a function's.
            let other = later.starts_with(['!', '(', '[']) || before == Some('\\');
            let colon = later.starts_with(':') || before == Some(':');
            if other || !push_moved(word, rows, columns, colon, &mut out) {
                out.push_str(word);
            }
            before = word.chars().next_back();
            rest = later;
            continue;
        }
        out.push(first);
        before = Some(first);
        rest = rest.get(first.len_utf8()..).unwrap_or_default();
    }
    out
}

/// The length of a stretch at the front that no move touches: quoted text, a quoted sheet name, the columns of a table.
fn unmoved(rest: &str, first: char) -> Option<usize> {
    match first {
        '"' | '\'' => {
            let inside = rest.get(1..)?;
            Some(inside.find(first).map_or(rest.len(), |end| end + 2))
        }
        '[' => {
            let mut depth = 0_i32;
            let end = rest.find(|c| {
                depth += match c {
                    '[' => 1,
                    ']' => -1,
                    _ => 0,
                };
                depth == 0
            });
            Some(end.map_or(rest.len(), |end| end + 1))
        }
        _ => None,
    }
}

fn is_name(character: char) -> bool {
    character.is_alphanumeric() || matches!(character, '_' | '.')
}

/// Appends a word as a moved reference; false where it is no reference. Rows or columns alone are references only beside a colon.
fn push_moved(word: &str, rows: i64, columns: i64, colon: bool, out: &mut String) -> bool {
    let (column_fixed, rest) = strip_fixed(word);
    let letters_end = rest
        .find(|c: char| !c.is_ascii_alphabetic())
        .unwrap_or(rest.len());
    let (letters, rest) = rest.split_at_checked(letters_end).unwrap_or((rest, ""));
    let (row_fixed, digits) = if letters.is_empty() {
        (column_fixed, rest)
    } else {
        strip_fixed(rest)
    };
    let both = !letters.is_empty() && !digits.is_empty();
    if letters.len() > 3
        || digits.len() > 7
        || !digits.bytes().all(|b| b.is_ascii_digit())
        || !(both || colon)
        || (letters.is_empty() && digits.is_empty())
    {
        return false;
    }
    let column = letters.bytes().fold(0_u32, |column, letter| {
        column * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1
    });
    let row = digits
        .bytes()
        .fold(0_u32, |row, digit| row * 10 + u32::from(digit - b'0'));
    if column > COLUMNS || (row == 0 && !digits.is_empty()) {
        return false;
    }
    let new_column = column
        .checked_sub(1)
        .map(|column| shifted(column, if column_fixed { 0 } else { columns }, COLUMNS));
    let new_row = row
        .checked_sub(1)
        .map(|row| shifted(row, if row_fixed { 0 } else { rows }, ROWS));
    if new_column == Some(None) || new_row == Some(None) {
        out.push_str("#REF!");
        return true;
    }
    if let Some(column) = new_column.flatten() {
        if column_fixed {
            out.push('$');
        }
        push_letters(column, out);
    }
    if let Some(row) = new_row.flatten() {
        if row_fixed {
            out.push('$');
        }
        // Writing into a string can't fail.
        let _ = write!(out, "{}", row + 1);
    }
    true
}

/// A column's letters, without a string of their own: formulas shared by many cells are written out for each.
fn push_letters(column: u32, out: &mut String) {
    if column >= 26 {
        push_letters(column / 26 - 1, out);
    }
    out.push(char::from(b'A' + u8::try_from(column % 26).unwrap_or(0)));
}

fn strip_fixed(word: &str) -> (bool, &str) {
    match word.strip_prefix('$') {
        Some(rest) => (true, rest),
        None => (false, word),
    }
}

fn shifted(from: u32, by: i64, end: u32) -> Option<u32> {
    u32::try_from(i64::from(from) + by)
        .ok()
        .filter(|to| *to < end)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_cells_and_ranges() {
        assert_eq!(cell(b"A1"), Some((0, 0)));
        assert_eq!(cell(b"XFD1048576"), Some((1_048_575, 16_383)));
        assert_eq!(cell(b"$F$14"), Some((13, 5)));
        assert_eq!(cell(b"a999999997"), Some((999_999_996, 0)));
        for none in [
            &b""[..],
            b"A",
            b"1",
            b"A0",
            b"1A",
            b"A1B",
            b"A99999999999",
            b"ZZZZZZZZZ1",
        ] {
            assert_eq!(cell(none), None, "{none:?}");
        }
        let merged = range(b"B2:D5").unwrap();
        assert_eq!((merged.first_row, merged.last_column), (1, 3));
    }

    // Expected: what LibreOffice Calc shows after the first formula is filled down or right.
    #[test]
    fn a_shared_formula_reads_as_if_filled() {
        assert_eq!(moved("AVERAGE(D2:D10)", 0, 2), "AVERAGE(F2:F10)");
        assert_eq!(
            moved("SUM($B2:$D2)/COUNT(B$2:B2)", 3, 1),
            "SUM($B5:$D5)/COUNT(C$2:C5)"
        );
        assert_eq!(
            moved("Trials!C2+'A1 B2'!C2&\"A1\"", 1, 0),
            "Trials!C3+'A1 B2'!C3&\"A1\""
        );
        assert_eq!(
            moved("LOG10(A1)+Table1[A1]+A1B", 1, 0),
            "LOG10(A2)+Table1[A1]+A1B"
        );
        assert_eq!(moved("SUM(A:A)+SUM(2:2)+1", 1, 1), "SUM(B:B)+SUM(3:3)+1");
        assert_eq!(moved("A1*2", -1, 0), "#REF!*2");
        assert_eq!(moved("\"never closed A1", 1, 0), "\"never closed A1");
    }
}
