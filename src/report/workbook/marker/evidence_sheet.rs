//! The sheet of evidence: a page of paper a pair, with the curve and the tests, the evidence by criterion, the claims and the findings.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::curves_sheet::{Curve, drawing, half_width};
use super::words::{block_title, evidence_running, is_wrong, recomputed};
use super::{Assigned, MarkerBook};
use crate::claims::Verdict;
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::BlockRow;
use crate::number::readable;
use crate::place::Place;
use crate::report::wording::{claim_in_words, id_in_words};
use crate::report::workbook::links::place_in_short;
use crate::report::workbook::sheet::{CellContent, lines_of_text, write_cell};
use crate::report::workbook::style::{Look, Looks};
use crate::wording::counted;

/// The sheet's own name.
pub const NAME: &str = "Evidence";

/// The widths of the columns, in characters: together a page at [`SCALE`].
const WIDTHS: [f64; 6] = [19.0, 62.0, 13.0, 12.0, 8.0, 13.0];
/// Percent of its size at which the page is printed.
const SCALE: u16 = 74;
/// Points that a page takes at that scale, with a little to spare: A4 is 842 high, 72 of it margins.
const PAGE_HEIGHT: f64 = 990.0;
/// Points of a line of small text.
const SMALL_LINE: f64 = 12.0;
/// Lines of small text that one row takes: what is longer stands on the sheet to mark in.
const MOST_LINES: usize = 12;
/// Points of a line of a table.
const LINE: f64 = 15.5;
/// Rows beside which the chart stands.
const CHART_ROWS: u32 = 12;
/// Pixels of the chart.
const CHART: (u32, u32) = (572, 244);
/// Points kept for a line that says how much more there is.
const KEPT: f64 = 2.0 * LINE;

/// One row of a page.
struct Row {
    height: f64,
    cells: Vec<(CellContent, Look)>,
}

impl Row {
    /// A row as tall as its small text in the wide column, or in the last ones where it is longer there.
    fn new(cells: Vec<(CellContent, Look)>) -> Self {
        let lines = cells
            .iter()
            .zip(WIDTHS)
            .filter_map(|((cell, look), width)| {
                let CellContent::Text(text) = cell else {
                    return None;
                };
                // Small text takes a little less room than the width is counted in.
                look.wraps().then(|| lines_of_text(text, width * 1.1))
            });
        let lines = lines.max().unwrap_or(1).min(MOST_LINES);
        Self {
            height: (lines as f64 * SMALL_LINE + 3.0).max(LINE),
            cells,
        }
    }

    fn title(text: &str, rest: [&str; 4]) -> Self {
        let mut cells: Vec<(CellContent, Look)> = vec![
            (text.into(), Look::Header),
            (CellContent::Empty, Look::Header),
        ];
        cells.extend(rest.map(|text| (text.into(), Look::Header)));
        Self {
            height: 18.0,
            cells,
        }
    }

    fn remark(text: String) -> Self {
        let cells = vec![(text.into(), Look::Hint)];
        Self {
            height: LINE,
            cells,
        }
    }
}

/// Writes the sheet: a page for each of the marker's pairs. The first row of each is given back.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    curves: &[Vec<Curve>],
) -> Result<Vec<u32>, XlsxError> {
    /// Breaks that a sheet takes.
    const MOST_BREAKS: usize = 1_000;
    sheet.set_name(NAME)?;
    for (column, width) in (0_u16..).zip(WIDTHS) {
        sheet.set_column_width(column, width)?;
    }
    let mut pages = Vec::new();
    let mut at = 0;
    for (pair, curves) in book.pairs.iter().zip(curves) {
        pages.push(at);
        at = write_page(sheet, book, pair, curves, at)?;
    }
    sheet.protect();
    sheet.set_portrait();
    sheet.set_paper_size(9);
    sheet.set_print_scale(SCALE);
    sheet.set_margins(0.35, 0.35, 0.45, 0.55, 0.2, 0.25);
    sheet.set_print_center_horizontally(true);
    sheet.set_footer("&LEvidence&RPage &P of &N");
    let breaks: Vec<u32> = pages.iter().skip(1).copied().collect();
    sheet.set_page_breaks(breaks.get(..MOST_BREAKS).unwrap_or(&breaks))?;
    Ok(pages)
}

/// Writes a page from a row on; gives the row after it.
fn write_page(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    pair: &Assigned<'_>,
    curves: &[Curve],
    first: u32,
) -> Result<u32, XlsxError> {
    let result = pair.result;
    let mut page = Page {
        sheet,
        looks: book.looks,
        at: first,
        room: PAGE_HEIGHT,
    };
    for row in heading(book, pair) {
        page.write(&row)?;
    }
    let chart_row = first + 2;
    for row in tests(result) {
        page.write(&row)?;
    }
    page.write(&Row::title("Evidence", ["Gives", "Yours", "", "Mark"]))?;
    for row in criteria(book, result) {
        page.write(&row)?;
    }
    for row in stage_and_theory(result) {
        page.write(&row)?;
    }
    page.write(&Row::title("Claims", ["Claimed", "Recomputed", "", "Cell"]))?;
    let (claims, rest) = claims(result);
    let findings = findings(result);
    // Findings come before claims where there isn't room for both: those about claims say the numbers too.
    let of_findings: f64 = findings.iter().map(|row| row.height).sum();
    let left = page.room - KEPT - LINE;
    let for_claims = (left - of_findings).max(left / 3.0);
    let shown = fitting(&claims, for_claims);
    for row in claims.iter().take(shown) {
        page.write(row)?;
    }
    let more = claims.len() - shown;
    let more = (more > 0).then(|| format!("{more} more that differ: sheet Claims. "));
    page.write(&Row::remark(format!("{}{rest}", more.unwrap_or_default())))?;
    page.write(&Row::title("Findings", ["Cells", "", "", "Decision"]))?;
    let used: f64 = claims.iter().take(shown).map(|row| row.height).sum();
    let shown = fitting(&findings, left - used);
    for row in findings.iter().take(shown) {
        page.write(row)?;
    }
    let remark = match (findings.len(), findings.len() - shown) {
        (0, _) => Some(String::from("None.")),
        (_, 0) => None,
        (_, more) => Some(format!("{more} more: sheet Marks.")),
    };
    if let Some(remark) = remark {
        page.write(&Row::remark(remark))?;
    }
    let at = page.at;
    if let Some(curve) = curves.first() {
        let chart = drawing(curve, CHART.0, CHART.1);
        sheet.insert_chart_with_offset(chart_row, 0, &chart, 2, 2)?;
    }
    Ok(at)
}

/// How many rows there is room for.
fn fitting(rows: &[Row], room: f64) -> usize {
    let mut used = 0.0;
    rows.iter()
        .take_while(|row| {
            used += row.height;
            used <= room
        })
        .count()
}

/// A page being written.
struct Page<'a> {
    sheet: &'a mut Worksheet,
    looks: &'a Looks,
    /// The row that comes next.
    at: u32,
    /// Points that are left on it.
    room: f64,
}

impl Page<'_> {
    fn write(&mut self, row: &Row) -> Result<(), XlsxError> {
        for (column, (cell, look)) in (0_u16..).zip(&row.cells) {
            if (cell, look) != (&CellContent::Empty, &Look::Label) {
                write_cell(self.sheet, self.at, column, cell, self.looks.of(*look))?;
            }
        }
        self.sheet.set_row_height(self.at, row.height)?;
        self.at += 1;
        self.room -= row.height;
        Ok(())
    }
}

fn heading(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> [Row; 2] {
    let result = pair.result;
    let title = match &result.skill {
        Some(skill) => format!("Pair {}: {skill}", result.pair),
        None => format!("Pair {}", result.pair),
    };
    let mut about = vec![format!("{} as {}", book.marker, pair.marking_as.word())];
    about.extend(book.names(&result.pair));
    if let Some(hand_in) = &result.hand_in {
        about.push(format!("hand-in {}", hand_in.name));
    }
    about.push(format!(
        "{} recomputed from {}",
        counted(result.coverage.numbers, "number"),
        counted(result.coverage.cells, "cell")
    ));
    let row = |height: f64, text: String, look: Look| Row {
        height,
        cells: vec![(text.into(), look)],
    };
    [
        row(22.0, title, Look::Title),
        row(LINE, about.join(" · "), Look::Hint),
    ]
}

/// The rows beside the chart: the tests and the whole of practice of the primary measure.
fn tests(result: &PairResult) -> Vec<Row> {
    let aside = || vec![(CellContent::Empty, Look::Label); 2];
    let row = |texts: [CellContent; 4], looks: [Look; 4]| {
        let mut cells = aside();
        cells.extend(texts.into_iter().zip(looks));
        Row {
            height: LINE,
            cells,
        }
    };
    let mut rows = Vec::new();
    if let Some(measure) = result.measures.first() {
        rows.push(row(
            [
                "Block (n)".into(),
                "Mean".into(),
                "sd".into(),
                "95 % ±".into(),
            ],
            [Look::Header; 4],
        ));
        let of_measure =
            |block: &&BlockRow| block.measure == measure.name && block.session.is_none();
        let number = |number: Option<f64>| CellContent::from(number.map(readable));
        for block in result.blocks.iter().filter(of_measure) {
            let title = block_title(block.phase).replace(" test", "");
            let half = half_width(block).filter(|_| block.phase.kind.is_test());
            rows.push(row(
                [
                    format!("{title} ({})", block.n).into(),
                    number(block.mean),
                    number(block.sd),
                    number(half),
                ],
                [Look::Text, Look::Text, Look::Text, Look::Text],
            ));
        }
    }
    let wanted = usize::try_from(CHART_ROWS).unwrap_or(0);
    rows.truncate(wanted);
    while rows.len() < wanted {
        rows.push(Row {
            height: LINE,
            cells: Vec::new(),
        });
    }
    rows
}

fn criteria(book: &MarkerBook<'_>, result: &PairResult) -> Vec<Row> {
    let after = book.moderation.suggest_after;
    book.rubric
        .criteria
        .iter()
        .map(|criterion| {
            let mut suggestions = result.suggestions.iter();
            let suggestion = suggestions.find(|one| one.criterion == criterion.id);
            let text = suggestion.map(|one| evidence_running(one, result, after));
            let gives = suggestion
                .filter(|one| !after && one.out_of > 0.0)
                .map(|one| format!("{} of {}", readable(one.suggested), readable(one.out_of)));
            let yours = suggestion.map(|one| format!("of {}", readable(one.judged_out_of)));
            let mut row = Row::new(vec![
                (criterion.title.as_str().into(), Look::Strong),
                (text.into(), Look::Small),
                (gives.into(), Look::Text),
                (yours.into(), Look::Text),
                (CellContent::Empty, Look::Text),
                (
                    format!("of {}", readable(criterion.marks)).into(),
                    Look::Box,
                ),
            ]);
            row.height = row.height.max(2.0 * LINE);
            row
        })
        .collect()
}

/// What the record says of the stages and the theory.
fn stage_and_theory(result: &PairResult) -> Vec<Row> {
    let about = super::words::stage_and_theory(result);
    about
        .into_iter()
        .map(|(about, sentence)| {
            let mut cells = vec![(about.into(), Look::Small), (sentence.into(), Look::Small)];
            cells.extend(vec![(CellContent::Empty, Look::Small); 4]);
            Row::new(cells)
        })
        .collect()
}

/// The claims that differ, and one line about all others.
fn claims(result: &PairResult) -> (Vec<Row>, String) {
    let wrong = result.claims.iter().filter(|claim| is_wrong(claim));
    let rows = wrong.map(claim).collect();
    let with = |verdict| result.claims_with(verdict);
    let rest = match (result.claims.len(), with(Verdict::Agrees)) {
        (0, _) => String::from("No claims that could be read."),
        (all, agree) => format!("{agree} of {all} follow from the data."),
    };
    let rest = match with(Verdict::NotRecomputable) {
        0 => rest,
        count => format!("{rest} {count} could not be recomputed."),
    };
    (rows, rest)
}

fn claim(examined: &ExaminedClaim) -> Row {
    let claim = &examined.claim;
    let when: Vec<String> = examined
        .recomputed
        .explanations
        .iter()
        .take(2)
        .map(|explanation| format!("{}: {}", id_in_words(&explanation.code()), explanation.when))
        .collect();
    let explained = if examined.recomputed.unread > 0 {
        String::from("It may be right: a score that could not be read would make it so.")
    } else if when.is_empty() {
        String::from("No slip that was tried gives the claimed number.")
    } else {
        format!("What gives the claimed number: {}", when.join("; or "))
    };
    let cell = place_in_short(&claim.place, 1);
    Row::new(vec![
        (claim_in_words(claim).into(), Look::Small),
        (explained.into(), Look::Small),
        ((&*claim.value_text).into(), Look::Small),
        (recomputed(examined).into(), Look::Small),
        (CellContent::Empty, Look::Small),
        (cell.into(), Look::Small),
    ])
}

fn findings(result: &PairResult) -> Vec<Row> {
    let mut findings: Vec<_> = result.findings.iter().collect();
    findings.sort_by_key(|finding| std::cmp::Reverse(finding.weight));
    let in_short = |places: &[Place]| {
        let first = places.first()?;
        Some(place_in_short(first, places.len()))
    };
    let row = |finding: &&crate::checks::Finding| {
        let mut row = Row::new(vec![
            (finding.weight.name().into(), Look::Small),
            (finding.message.clone().into(), Look::Small),
            (in_short(&finding.places).into(), Look::Small),
            (CellContent::Empty, Look::Small),
            (CellContent::Empty, Look::Small),
            (CellContent::Empty, Look::Box),
        ]);
        row.height = row.height.max(2.0 * SMALL_LINE + 3.0);
        row
    };
    findings.iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_taken_as_long_as_they_fit() {
        let rows: Vec<Row> = (0..5).map(|_| Row::remark(String::from("x"))).collect();
        assert_eq!(fitting(&rows, 3.5 * LINE), 3);
        assert_eq!(fitting(&rows, 0.0), 0);
        assert_eq!(fitting(&rows, 100.0 * LINE), 5);
    }

    #[test]
    fn a_row_is_as_tall_as_its_longest_text() {
        let of = |text: String| {
            Row::new(vec![
                (CellContent::Empty, Look::Small),
                (text.into(), Look::Small),
            ])
        };
        assert!(of("word ".repeat(40)).height > of("word".into()).height);
        assert!(of("word ".repeat(4000)).height <= SMALL_LINE * MOST_LINES as f64 + 3.0);
    }
}
