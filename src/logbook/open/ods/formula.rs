//! Formulas of `OpenDocument` as other spreadsheets write them: `of:=AVERAGE([.C2:.C9])` is `AVERAGE(C2:C9)`.

/// The formula without its namespace and `=`, references and separators as in A1 notation.
pub(super) fn plain(formula: &str) -> String {
    let body = ["of:", "oooc:", "msoxl:"]
        .iter()
        .find_map(|prefix| formula.strip_prefix(prefix))
        .unwrap_or(formula);
    let body = body.strip_prefix('=').unwrap_or(body);
    let mut out = String::with_capacity(body.len());
    let mut rest = body;
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '"' => quoted_end(rest, '"'),
            '[' => {
                let end = reference_end(rest);
                reference(rest.get(1..end - 1).unwrap_or_default(), &mut out);
                rest = rest.get(end..).unwrap_or_default();
                continue;
            }
            ';' => {
                out.push(',');
                rest = rest.get(1..).unwrap_or_default();
                continue;
            }
            _ => first.len_utf8(),
        };
        out.push_str(rest.get(..length).unwrap_or_default());
        rest = rest.get(length..).unwrap_or_default();
    }
    out
}

fn quoted_end(rest: &str, quote: char) -> usize {
    rest.get(1..)
        .and_then(|inside| inside.find(quote))
        .map_or(rest.len(), |end| end + 2)
}

/// One past the bracket that closes a reference; a sheet's name in quotes may hold one. At least two.
fn reference_end(rest: &str) -> usize {
    let mut in_quotes = false;
    let end = rest.find(|c| {
        in_quotes ^= c == '\'';
        c == ']' && !in_quotes
    });
    end.map_or(rest.len(), |end| end + 1).max(2)
}

/// `.C2:.C9`, `$Trials.C2:.C9`, `$'Raw data'.$C$2`.
fn reference(inside: &str, out: &mut String) {
    let mut in_quotes = false;
    let colon = inside.find(|c| {
        in_quotes ^= c == '\'';
        c == ':' && !in_quotes
    });
    let (first, last) = match colon {
        Some(at) => inside.split_at_checked(at).unwrap_or((inside, "")),
        None => (inside, ""),
    };
    let (sheet, cell) = sheet_and_cell(first);
    if !sheet.is_empty() {
        out.push_str(sheet);
        out.push('!');
    }
    out.push_str(cell);
    if let Some(last) = last.strip_prefix(':') {
        out.push(':');
        // The other end names its sheet only where that differs.
        let (_, cell) = sheet_and_cell(last);
        out.push_str(cell);
    }
}

fn sheet_and_cell(end: &str) -> (&str, &str) {
    let (sheet, cell) = end.rsplit_once('.').unwrap_or(("", end));
    (sheet.strip_prefix('$').unwrap_or(sheet), cell)
}

#[cfg(test)]
mod tests {
    use super::plain;

    // The left side is what LibreOffice 7 writes for the formula on the right.
    #[test]
    fn formulas_read_as_in_other_spreadsheets() {
        assert_eq!(plain("of:=AVERAGE([.C2:.C9])"), "AVERAGE(C2:C9)");
        assert_eq!(
            plain("of:=IF([.A1]>2;\"a;b\";SUM([.$B$1:.B3];4))"),
            "IF(A1>2,\"a;b\",SUM($B$1:B3,4))"
        );
        assert_eq!(
            plain("of:=AVERAGE([$Trials.D2:.D10])"),
            "AVERAGE(Trials!D2:D10)"
        );
        assert_eq!(plain("of:=[$'Raw. data]'.C4]*2"), "'Raw. data]'!C4*2");
        assert_eq!(plain("of:=[.#REF!]+1"), "#REF!+1");
        assert_eq!(plain("of:=SUM([.C2"), "SUM(C");
        assert_eq!(plain("["), "");
        assert_eq!(plain("=A1+1"), "A1+1");
    }
}
