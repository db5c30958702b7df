//! Files made to take more than their share: each is refused by name, or read, quickly and in little memory.

use std::time::{Duration, Instant};

use evenhand::logbook::open::{Limits, OpenError, Opened, open};

use super::package::{ods, xlsx, zipped};

/// Opens within the default limits; what takes minutes is a failure, whatever the result. (Unoptimised, and on a busy machine, seconds are usual.)
fn quickly(bytes: &[u8], name: &str) -> Result<Opened, OpenError> {
    let start = Instant::now();
    let result = open(bytes, name, &Limits::default());
    let taken = start.elapsed();
    assert!(taken < Duration::from_secs(60), "{name} took {taken:?}");
    result
}

fn cells(opened: &Opened) -> usize {
    opened.grids.iter().map(|grid| grid.cells.len()).sum()
}

#[test]
fn a_cell_in_the_last_corner_costs_nothing() {
    let sheet = b"<worksheet><dimension ref='A1:XFD1048576'/><sheetData><row r='1'><c r='A1'><v>1</v></c></row><row r='1048576'><c r='A1048576'><v>2</v></c><c r='XFD1048576'><v>3</v></c></row></sheetData></worksheet>";
    let opened = quickly(&xlsx(sheet), "corner.xlsx").unwrap();
    assert_eq!(cells(&opened), 3);
}

#[test]
fn a_part_of_blanks_is_refused_before_it_is_unpacked() {
    let mut sheet = b"<worksheet>".to_vec();
    sheet.resize(40 << 20, b' ');
    let result = quickly(&xlsx(&sheet), "blanks.xlsx");
    assert_eq!(result.unwrap_err(), OpenError::Bomb { ratio: 200 });
}

/// Blanks that don't pack well enough to be refused are passed over in a window.
#[test]
fn many_blanks_below_the_ratio_are_passed_over() {
    let mut sheet = b"<worksheet>".to_vec();
    let mut state = 1_u32;
    while sheet.len() < 24 << 20 {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        sheet.extend(std::iter::repeat_n(b' ', 200));
        sheet.push(if state >> 31 == 0 { b'\n' } else { b'\t' });
    }
    sheet.extend_from_slice(
        b"<sheetData><row r='1'><c r='A1'><v>1</v></c></row></sheetData></worksheet>",
    );
    match quickly(&xlsx(&sheet), "blanks.xlsx") {
        Ok(opened) => assert_eq!(cells(&opened), 1),
        Err(error) => assert_eq!(error, OpenError::Bomb { ratio: 200 }),
    }
}

#[test]
fn an_enormous_text_is_refused() {
    let mut sheet = b"<worksheet><sheetData><row r='1'><c r='A1' t='inlineStr'><is><t>".to_vec();
    let mut state = 1_u32;
    while sheet.len() < 2 << 20 {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        sheet.push(b'a' + u8::try_from(state >> 28).unwrap());
    }
    sheet.extend_from_slice(b"</t></is></c></row></sheetData></worksheet>");
    let result = quickly(&xlsx(&sheet), "text.xlsx");
    assert_eq!(result.unwrap_err(), OpenError::LongCell);
}

#[test]
fn rows_and_columns_repeated_with_something_in_them_are_counted() {
    let many = ods(
        "<table:table-row table:number-rows-repeated='1000000'><table:table-cell table:number-columns-repeated='90' office:value-type='float' office:value='1'/></table:table-row>",
    );
    let result = quickly(&many, "repeated.ods");
    assert!(
        matches!(
            result,
            Err(OpenError::TooManyCells { .. } | OpenError::TooManyRows { .. })
        ),
        "{result:?}"
    );
    let beyond = ods(
        "<table:table-row table:number-rows-repeated='4294967295'/><table:table-row><table:table-cell table:number-columns-repeated='4294967295'/><table:table-cell office:value-type='float' office:value='1'/></table:table-row>",
    );
    assert!(matches!(
        quickly(&beyond, "beyond.ods"),
        Err(OpenError::Damaged { .. })
    ));
}

#[test]
fn numbers_of_rows_beyond_any_sheet_are_refused() {
    let sheet = b"<worksheet><sheetData><row r='999999997'><c r='A999999997'><v>1</v></c></row></sheetData></worksheet>";
    let result = quickly(&xlsx(sheet), "row.xlsx");
    assert!(
        matches!(result, Err(OpenError::Damaged { .. })),
        "{result:?}"
    );
}

#[test]
fn more_cells_or_rows_than_the_limits_are_refused() {
    use std::fmt::Write;
    let mut sheet = "<worksheet><sheetData>".to_owned();
    for row in 1..=50 {
        write!(sheet, "<row r='{row}'><c><v>1</v></c><c><v>2</v></c></row>").unwrap();
    }
    sheet.push_str("</sheetData></worksheet>");
    let bytes = xlsx(sheet.as_bytes());
    let limits = |cells, rows| Limits {
        cells,
        rows,
        ..Limits::default()
    };
    assert!(open(&bytes, "a.xlsx", &limits(100, 50)).is_ok());
    assert_eq!(
        open(&bytes, "a.xlsx", &limits(99, 50)).unwrap_err(),
        OpenError::TooManyCells { limit: 99 }
    );
    assert_eq!(
        open(&bytes, "a.xlsx", &limits(100, 49)).unwrap_err(),
        OpenError::TooManyRows { limit: 49 }
    );
    let csv = "1,2\n".repeat(51);
    assert_eq!(
        open(csv.as_bytes(), "a.csv", &limits(1_000, 50)).unwrap_err(),
        OpenError::TooManyRows { limit: 50 }
    );
}

#[test]
fn a_line_of_a_hundred_thousand_fields_is_refused() {
    let csv = format!("{}\n", "1,".repeat(100_000));
    let result = quickly(csv.as_bytes(), "wide.csv");
    assert!(
        matches!(result, Err(OpenError::TooManyColumns { .. })),
        "{result:?}"
    );
}

#[test]
fn nothing_but_line_ends_is_refused() {
    let result = quickly(&b"\n".repeat(4 << 20), "lines.csv");
    assert!(
        matches!(result, Err(OpenError::TooManyRows { .. })),
        "{result:?}"
    );
}

#[test]
fn nothing_but_quotes_ends() {
    for piece in ["\"", "\"\"", "\"a\"\",", "\"\",\"", "\"\n"] {
        let csv = piece.repeat((4 << 20) / piece.len());
        let _ = quickly(csv.as_bytes(), "quotes.csv");
    }
}

/// A long formula shared by very many cells is written out for some of them; the values are all there.
#[test]
fn a_formula_shared_by_many_cells_multiplies_within_limits() {
    use std::fmt::Write;
    let formula = format!("SUM({})", "A1+".repeat(2_000));
    let mut sheet = format!(
        "<worksheet><sheetData><row r='1'><c r='A1'><f t='shared' si='0'>{formula}</f><v>1</v></c></row>"
    );
    for row in 2..=20_000 {
        write!(
            sheet,
            "<row r='{row}'><c r='A{row}'><f t='shared' si='0'/><v>1</v></c></row>"
        )
        .unwrap();
    }
    sheet.push_str("</sheetData></worksheet>");
    let opened = quickly(&xlsx(sheet.as_bytes()), "shared.xlsx").unwrap();
    assert_eq!(cells(&opened), 20_000);
    let long = opened.grids.iter().flat_map(|grid| &grid.cells);
    let long: usize = long
        .filter_map(|cell| cell.formula.as_ref())
        .map(|f| f.len())
        .sum();
    assert!(long < 16 << 20, "{long} bytes of formulas");
}

#[test]
fn a_zip_that_is_no_workbook_says_so() {
    let bundle = zipped(&[("trials.csv", b"phase,score\n")]);
    assert_eq!(
        quickly(&bundle, "bundle.xlsx").unwrap_err(),
        OpenError::Bundle
    );
    let many: Vec<String> = (0..20_001).map(|number| format!("part{number}")).collect();
    let many: Vec<(&str, &[u8])> = many.iter().map(|name| (&**name, &b""[..])).collect();
    assert_eq!(
        quickly(&zipped(&many), "many.xlsx").unwrap_err(),
        OpenError::TooManyParts { limit: 20_000 }
    );
}

#[test]
fn a_size_that_a_part_understates_or_overstates_is_noticed() {
    let sheet =
        b"<worksheet><sheetData><row r='1'><c r='A1'><v>1</v></c></row></sheetData></worksheet>";
    let sound = xlsx(sheet);
    let size = u32::try_from(sheet.len()).unwrap().to_le_bytes();
    for wrong in [1_u32, 80, 10_000, 400 << 20] {
        let mut bytes = sound.clone();
        // The last place where the size stands is the directory.
        let at = bytes.windows(4).rposition(|four| four == size).unwrap();
        bytes[at..at + 4].copy_from_slice(&wrong.to_le_bytes());
        let result = quickly(&bytes, "sizes.xlsx");
        assert!(
            matches!(
                result,
                Err(OpenError::Damaged { .. } | OpenError::Bomb { .. })
            ),
            "{wrong}: {result:?}"
        );
    }
}

#[test]
fn a_file_over_the_limit_is_not_looked_at() {
    let limits = Limits {
        file_mib: 0,
        ..Limits::default()
    };
    assert_eq!(
        open(b"x", "a.csv", &limits).unwrap_err(),
        OpenError::TooLarge { limit_mib: 0 }
    );
}

#[test]
fn an_encrypted_old_workbook_is_said_to_be() {
    // The beginning of a workbook, and the record that announces encryption.
    let stream = [
        &[0x09, 0x08, 0x10, 0, 0, 6, 5, 0][..],
        &[0; 12],
        &[0x2f, 0, 6, 0, 1, 0, 1, 0, 1, 0],
    ]
    .concat();
    assert_eq!(
        quickly(&stream, "old.xls").unwrap_err(),
        OpenError::PasswordProtected
    );
}
