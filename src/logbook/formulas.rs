//! Formulas that sum up a range: which function over which cells, and what it gives where the file holds no value.

/// What a formula computes over its range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Function {
    Average,
    Sum,
    StdevSample,
    StdevPopulation,
    Median,
    Count,
    Min,
    Max,
}

/// Cells between two corners, both included, rows and columns from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CellRange {
    /// The sheet, where the formula names one.
    pub sheet: Option<String>,
    pub first: (u32, u32),
    pub last: (u32, u32),
}

impl CellRange {
    /// Whether a cell lies within, sheets aside.
    pub(crate) fn holds(&self, row: u32, column: u32) -> bool {
        (self.first.0..=self.last.0).contains(&row)
            && (self.first.1..=self.last.1).contains(&column)
    }
}

/// A formula that is one function over ranges.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Summary {
    pub function: Function,
    pub ranges: Vec<CellRange>,
    /// `ROUND(…, 2)` around it.
    pub rounded_to: Option<i32>,
    /// `SUM(…)/10`: a mean with a typed number of trials.
    pub divided_by: Option<f64>,
}

/// Reads a formula, with or without its equals sign and a file format's own prefix. None for anything but one function over ranges.
pub(crate) fn parse(formula: &str) -> Option<Summary> {
    if formula.len() > 2_000 {
        return None;
    }
    let text = formula.trim();
    let text = text
        .strip_prefix("of:")
        .or_else(|| text.strip_prefix("oooc:"))
        .or_else(|| text.strip_prefix("msoxl:"))
        .unwrap_or(text);
    parse_expression(text.trim_start_matches('=').trim(), 0)
}

fn parse_expression(text: &str, depth: u32) -> Option<Summary> {
    if depth > 3 {
        return None;
    }
    let (name, arguments, rest) = call(text)?;
    let rest = rest.trim();
    let upper = name.to_ascii_uppercase();
    let plain_name = upper.strip_prefix("_XLFN.").unwrap_or(&upper);
    if plain_name == "ROUND" && rest.is_empty() {
        let (inner, digits) = split_arguments(arguments)
            .split_last()
            .map(|(last, head)| (head.to_vec(), *last))?;
        let [inner] = inner.as_slice() else {
            return None;
        };
        let summary = parse_expression(inner.trim(), depth + 1)?;
        return Some(Summary {
            rounded_to: Some(digits.trim().parse().ok()?),
            ..summary
        });
    }
    let function = match plain_name {
        "AVERAGE" | "AVERAGEA" => Function::Average,
        "SUM" => Function::Sum,
        "STDEV" | "STDEV.S" | "STDEVA" => Function::StdevSample,
        "STDEV.P" | "STDEVP" | "STDEVPA" => Function::StdevPopulation,
        "MEDIAN" => Function::Median,
        "COUNT" | "COUNTA" => Function::Count,
        "MIN" => Function::Min,
        "MAX" => Function::Max,
        _ => return None,
    };
    let ranges: Option<Vec<CellRange>> = split_arguments(arguments)
        .into_iter()
        .map(|argument| parse_range(argument.trim()))
        .collect();
    let summary = Summary {
        function,
        ranges: ranges.filter(|ranges| !ranges.is_empty())?,
        rounded_to: None,
        divided_by: None,
    };
    match rest.strip_prefix('/') {
        None => rest.is_empty().then_some(summary),
        Some(divisor) if function == Function::Sum => {
            let divisor = divisor.trim();
            if let Ok(n) = divisor.parse::<f64>() {
                return (n > 0.0).then_some(Summary {
                    function: Function::Average,
                    divided_by: Some(n),
                    ..summary
                });
            }
            let count = parse_expression(divisor, depth + 1)?;
            (count.function == Function::Count && count.ranges == summary.ranges).then_some(
                Summary {
                    function: Function::Average,
                    ..summary
                },
            )
        }
        Some(_) => None,
    }
}

/// A call's name, what stands in its brackets, and what follows.
fn call(text: &str) -> Option<(&str, &str, &str)> {
    let open = text.find('(')?;
    let name = text.get(..open)?.trim();
    if name.is_empty()
        || !name
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '.' | '_'))
    {
        return None;
    }
    let mut depth = 0_i32;
    let mut quoted = false;
    for (at, c) in text.char_indices().skip_while(|(at, _)| *at < open) {
        match c {
            '\'' => quoted = !quoted,
            '(' if !quoted => depth += 1,
            ')' if !quoted => {
                depth -= 1;
                if depth == 0 {
                    return Some((name, text.get(open + 1..at)?, text.get(at + 1..)?));
                }
            }
            _ => {}
        }
    }
    None
}

fn split_arguments(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut depth, mut quoted, mut start) = (0_i32, false, 0);
    for (at, c) in text.char_indices() {
        match c {
            '\'' => quoted = !quoted,
            '(' | '[' if !quoted => depth += 1,
            ')' | ']' if !quoted => depth -= 1,
            ',' | ';' | '~' if !quoted && depth == 0 => {
                parts.extend(text.get(start..at));
                start = at + 1;
            }
            _ => {}
        }
    }
    parts.extend(text.get(start..));
    parts
}

/// `D2:D10`, `$D$2:$D$10`, `Trials!D2:D10`, `'Raw data'!D2`, `D:D`, and the forms of ODF `[.D2:.D10]`, `[$Trials.D2:.D10]`.
fn parse_range(text: &str) -> Option<CellRange> {
    if let Some(inner) = text
        .strip_prefix('[')
        .and_then(|rest| rest.strip_suffix(']'))
    {
        let (first, last) = inner.split_once(':').unwrap_or((inner, inner));
        let (sheet, first) = first.rsplit_once('.')?;
        let last = last.rsplit_once('.').map_or(last, |(_, last)| last);
        return corners(sheet_name(sheet.trim_start_matches('$')), first, last);
    }
    let (sheet, cells) = match text.rsplit_once('!') {
        Some((sheet, cells)) => (sheet_name(sheet), cells),
        None => (None, text),
    };
    let (first, last) = cells.split_once(':').unwrap_or((cells, cells));
    corners(sheet, first, last)
}

fn sheet_name(text: &str) -> Option<String> {
    let name = text.trim().trim_start_matches('$');
    let name = name
        .strip_prefix('\'')
        .and_then(|rest| rest.strip_suffix('\''))
        .map_or_else(|| name.to_owned(), |inner| inner.replace("''", "'"));
    (!name.is_empty()).then_some(name)
}

fn corners(sheet: Option<String>, first: &str, last: &str) -> Option<CellRange> {
    let (a, b) = (corner(first)?, corner(last)?);
    let whole = |row: Option<u32>, open: u32| row.unwrap_or(open);
    let rows = (whole(a.0, 0), whole(b.0, u32::MAX));
    Some(CellRange {
        sheet,
        first: (rows.0.min(rows.1), a.1.min(b.1)),
        last: (rows.0.max(rows.1), a.1.max(b.1)),
    })
}

/// A corner's row (none for a whole column) and column.
fn corner(text: &str) -> Option<(Option<u32>, u32)> {
    let text = text.trim().replace('$', "");
    let letters = text.chars().take_while(char::is_ascii_alphabetic).count();
    if letters == 0 || letters > 3 {
        return None;
    }
    let (column, row) = text.split_at(letters);
    let column = column
        .bytes()
        .fold(0_u32, |sum, letter| {
            sum * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1
        })
        .checked_sub(1)?;
    if row.is_empty() {
        return Some((None, column));
    }
    Some((Some(row.parse::<u32>().ok()?.checked_sub(1)?), column))
}

impl Summary {
    /// What the formula gives for the numbers of its range; none where it gives an error.
    pub(crate) fn evaluate(&self, numbers: &[f64]) -> Option<f64> {
        let n = numbers.len() as f64;
        let sum = || numbers.iter().sum::<f64>();
        let spread = |denominator: f64| {
            let mean = sum() / n;
            (denominator > 0.0).then(|| {
                (numbers.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / denominator).sqrt()
            })
        };
        let value = match self.function {
            Function::Average => match self.divided_by {
                Some(divisor) => Some(sum() / divisor),
                None => (n > 0.0).then(|| sum() / n),
            },
            Function::Sum => Some(sum()),
            Function::StdevSample => spread(n - 1.0),
            Function::StdevPopulation => spread(n),
            Function::Median => median(numbers),
            Function::Count => Some(n),
            Function::Min => numbers.iter().copied().reduce(f64::min),
            Function::Max => numbers.iter().copied().reduce(f64::max),
        };
        let value = value?;
        Some(match self.rounded_to {
            Some(digits) if digits.abs() <= 15 => {
                let scale = 10_f64.powi(digits);
                (value * scale).round() / scale
            }
            _ => value,
        })
    }
}

fn median(numbers: &[f64]) -> Option<f64> {
    let mut sorted = numbers.to_vec();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    if sorted.len() % 2 == 1 {
        sorted.get(middle).copied()
    } else {
        let below = sorted.get(middle.checked_sub(1)?)?;
        Some((below + sorted.get(middle)?) / 2.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_function_over_ranges() {
        let summary = parse("AVERAGE(D2:D10)").expect("a summary");
        assert_eq!(summary.function, Function::Average);
        assert_eq!(
            (summary.ranges[0].first, summary.ranges[0].last),
            ((1, 3), (9, 3))
        );
        let named = parse("=ROUND(STDEV.S('Raw data'!$B$2:$B$11);2)").expect("a summary");
        assert_eq!(named.function, Function::StdevSample);
        assert_eq!(named.ranges[0].sheet.as_deref(), Some("Raw data"));
        assert_eq!(named.rounded_to, Some(2));
        let ods = parse("of:=AVERAGE([.C4:.C13])").expect("a summary");
        assert_eq!((ods.ranges[0].first, ods.ranges[0].last), ((3, 2), (12, 2)));
        let ods = parse("of:=SUM([$Trials.C4];[.C6])").expect("a summary");
        assert_eq!(ods.ranges.len(), 2);
        assert_eq!(ods.ranges[0].sheet.as_deref(), Some("Trials"));
        let by_hand = parse("SUM(B2:B11)/10").expect("a summary");
        assert_eq!(
            (by_hand.function, by_hand.divided_by),
            (Function::Average, Some(10.0))
        );
        assert_eq!(
            parse("SUM(B2:B11)/COUNT(B2:B11)").map(|s| s.divided_by),
            Some(None)
        );
        assert_eq!(
            parse("_xlfn.STDEV.P(A:A)").map(|s| s.ranges[0].last.0),
            Some(u32::MAX)
        );
        assert_eq!(parse("B12-B3"), None);
        assert_eq!(parse("AVERAGE(B2:B4)*100"), None);
        assert_eq!(parse("HYPERLINK(\"x\")"), None);
        assert_eq!(parse("((((((("), None);
    }

    #[test]
    fn what_a_formula_gives() {
        // Numbers of the NIST Lew-like kind are not needed here: 2, 4, 4, 4, 5, 5, 7, 9 has population sd 2 (worked by hand).
        let numbers = [2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0];
        let of = |formula: &str| parse(formula).and_then(|summary| summary.evaluate(&numbers));
        assert_eq!(of("AVERAGE(A1:A8)"), Some(5.0));
        assert_eq!(of("STDEVP(A1:A8)"), Some(2.0));
        assert_eq!(of("MEDIAN(A1:A8)"), Some(4.5));
        assert_eq!(of("COUNT(A1:A8)"), Some(8.0));
        assert_eq!(of("SUM(A1:A8)/10"), Some(4.0));
        assert_eq!(of("ROUND(STDEV(A1:A8),1)"), Some(2.1));
        assert_eq!(
            parse("STDEV(A1)").and_then(|summary| summary.evaluate(&[1.0])),
            None
        );
    }
}
