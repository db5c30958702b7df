//! The first sheet: what was read and from where, how much was found, and the cohort in two charts.

use rust_xlsxwriter::{
    Chart, ChartFont, ChartFormat, ChartSolidFill, ChartType, Worksheet, XlsxError,
};

use super::Moderation;
use super::checks_sheet::Tallies;
use crate::checks::Weight;
use crate::claims::Verdict;
use crate::examination::PairResult;
use crate::report::workbook::sheet::{CellContent, clean, write_cell};
use crate::report::workbook::style::{CLAY, FONT, INK, Look, TEAL};

/// The sheet's own name.
pub const NAME: &str = "Cohort";

/// Bins of the chart of suggestions, in tenths of the evidence points.
const BINS: usize = 10;

/// Writes the sheet.
///
/// # Errors
/// What the writer of workbooks says.
pub(super) fn write(
    sheet: &mut Worksheet,
    book: &Moderation<'_>,
    tallies: &Tallies,
    shares: &EarnedShares,
) -> Result<(), XlsxError> {
    sheet.set_name(NAME)?;
    sheet.set_column_width(0, 34)?;
    sheet.set_column_width(1, 12)?;
    sheet.set_column_width(2, 70)?;
    sheet.set_column_width(3, 70)?;
    let title = if book.title.is_empty() {
        "Cohort"
    } else {
        book.title
    };
    sheet.set_row_height(0, 26)?;
    sheet.write_string_with_format(0, 0, clean(title), book.looks.of(Look::Title))?;
    let hint = "Suggestions are arithmetic on evidence. Marks, comments and decisions are yours: sheets Marks and Findings, green cells.";
    sheet.write_string_with_format(1, 0, hint, book.looks.of(Look::Hint))?;
    let mut row = 3;
    for (label, value, note) in overview(book) {
        write_cell(sheet, row, 0, &label.into(), book.looks.of(Look::Label))?;
        write_cell(sheet, row, 1, &value, book.looks.of(Look::Whole))?;
        write_cell(sheet, row, 2, &note.into(), book.looks.of(Look::Note))?;
        row += 1;
    }
    row += 1;
    let charts_from = row;
    let families = families(tallies);
    let first_bin = write_block(sheet, book, &mut row, "Findings", &families)?;
    row += 1;
    let bins = shares.counted();
    let first_share = write_block(sheet, book, &mut row, "Evidence points earned", &bins)?;
    add_chart(
        sheet,
        (charts_from, 2),
        "Findings, by what they are about",
        first_bin,
        families.len(),
        CLAY,
    )?;
    add_chart(
        sheet,
        (charts_from, 3),
        "Pairs, by share of the evidence points earned",
        first_share,
        bins.len(),
        TEAL,
    )?;
    let not_read = &book.cohort.not_read;
    let not_read = not_read.iter().map(|not| (&*not.file, &*not.why));
    write_reasons(sheet, book, &mut row, "Could not be read", not_read)?;
    let not_checked = &book.cohort.not_checked;
    let not_checked = not_checked.iter().map(|not| (not.check, &*not.why));
    write_reasons(sheet, book, &mut row, "Could not be checked", not_checked)?;
    sheet.protect();
    sheet.set_landscape();
    sheet.set_paper_size(9);
    // One page, unless a long list of what could not be read goes on.
    let pages = u16::from(book.cohort.not_read.len() <= 10);
    sheet.set_print_fit_to_pages(1, pages);
    Ok(())
}

/// What could not be done, a row each with why; nothing where that is none.
fn write_reasons<'a>(
    sheet: &mut Worksheet,
    book: &Moderation<'_>,
    row: &mut u32,
    title: &str,
    reasons: impl Iterator<Item = (&'a str, &'a str)>,
) -> Result<(), XlsxError> {
    let wrapped = book.looks.of(Look::Wrapped);
    for (index, (what, why)) in reasons.enumerate() {
        if index == 0 {
            *row += 1;
            write_cell(sheet, *row, 0, &title.into(), book.looks.of(Look::Header))?;
        }
        *row += 1;
        write_cell(sheet, *row, 0, &what.into(), wrapped)?;
        write_cell(sheet, *row, 2, &why.into(), wrapped)?;
    }
    Ok(())
}

fn overview(book: &Moderation<'_>) -> Vec<(&'static str, CellContent, String)> {
    let cohort = book.cohort;
    let unchecked = cohort.sum(|outline| outline.not_checked) + cohort.not_checked.len();
    let off: Vec<&str> = book.policy.off().collect();
    let none = String::new;
    vec![
        ("Pairs", cohort.pairs.len().into(), none()),
        (
            "Read",
            cohort.read().into(),
            format!("from {}", book.source),
        ),
        ("Not read", cohort.not_read.len().into(), none()),
        (
            "Errors",
            cohort.count(Weight::Error).into(),
            String::from("contradicted by the pair's own data"),
        ),
        (
            "Concerns",
            cohort.count(Weight::Concern).into(),
            String::from("design or interpretation is not supported"),
        ),
        (
            "Queries",
            cohort.count(Weight::Query).into(),
            String::from("a person should look"),
        ),
        (
            "Claims that agree",
            cohort.claims_with(Verdict::Agrees).into(),
            none(),
        ),
        (
            "Claims that differ",
            cohort.claims_with(Verdict::Differs).into(),
            none(),
        ),
        (
            "Claims that no scores can give",
            cohort.claims_with(Verdict::Impossible).into(),
            none(),
        ),
        (
            "Claims that could not be recomputed",
            cohort.claims_with(Verdict::NotRecomputable).into(),
            String::from("each says why on the sheet Claims"),
        ),
        (
            "Numbers recomputed",
            cohort.sum(|outline| outline.numbers).into(),
            format!("from {} cells", cohort.sum(|outline| outline.cells)),
        ),
        (
            "Checks that could not be made",
            unchecked.into(),
            String::from("over all pairs; by check on the sheet Checks"),
        ),
        ("Checks switched off", off.len().into(), off.join(", ")),
        ("Rubric", CellContent::Empty, book.rubric.title.clone()),
        ("Seed", book.seed.to_string().into(), none()),
        (
            "Program",
            CellContent::Empty,
            format!("evenhand {}", env!("CARGO_PKG_VERSION")),
        ),
    ]
}

/// Findings by family of checks, in the order of the checks.
fn families(tallies: &Tallies) -> Vec<(String, usize)> {
    let mut counts: Vec<(String, usize)> = Vec::new();
    for check in crate::checks::ALL {
        let family = check.family();
        if !counts.iter().any(|(known, _)| known == family) {
            counts.push((family.to_owned(), tallies.of_family(family)));
        }
    }
    counts
}

/// Pairs by the share of settled evidence points that they earn, in tenths.
#[derive(Debug, Default)]
pub(super) struct EarnedShares([usize; BINS]);

impl EarnedShares {
    /// Counts a pair.
    pub fn add(&mut self, result: &PairResult) {
        let earned: f64 = result.suggestions.iter().map(|s| s.suggested).sum();
        let out_of: f64 = result.suggestions.iter().map(|s| s.out_of).sum();
        if out_of <= 0.0 {
            return;
        }
        let bin = (0..BINS)
            .rev()
            .find(|bin| earned / out_of >= *bin as f64 / BINS as f64)
            .unwrap_or(0);
        if let Some(count) = self.0.get_mut(bin) {
            *count += 1;
        }
    }

    fn counted(&self) -> Vec<(String, usize)> {
        let label = |bin: usize| format!("{}–{} %", bin * 100 / BINS, (bin + 1) * 100 / BINS);
        let bins = self.0.iter().enumerate();
        bins.map(|(bin, count)| (label(bin), *count)).collect()
    }
}

/// Writes a block of counts under a header; gives its first row.
fn write_block(
    sheet: &mut Worksheet,
    book: &Moderation<'_>,
    row: &mut u32,
    title: &str,
    counts: &[(String, usize)],
) -> Result<u32, XlsxError> {
    write_cell(sheet, *row, 0, &title.into(), book.looks.of(Look::Header))?;
    write_cell(
        sheet,
        *row,
        1,
        &CellContent::Empty,
        book.looks.of(Look::Header),
    )?;
    *row += 1;
    let first = *row;
    for (label, count) in counts {
        write_cell(
            sheet,
            *row,
            0,
            &label.as_str().into(),
            book.looks.of(Look::Text),
        )?;
        write_cell(sheet, *row, 1, &(*count).into(), book.looks.of(Look::Whole))?;
        *row += 1;
    }
    Ok(first)
}

fn add_chart(
    sheet: &mut Worksheet,
    (row, column): (u32, u16),
    title: &str,
    first: u32,
    count: usize,
    colour: rust_xlsxwriter::Color,
) -> Result<(), XlsxError> {
    let last = first + u32::try_from(count).unwrap_or(1).saturating_sub(1);
    let mut chart = Chart::new(ChartType::Column);
    chart
        .add_series()
        .set_categories((NAME, first, 0, last, 0))
        .set_values((NAME, first, 1, last, 1))
        .set_format(ChartFormat::new().set_solid_fill(ChartSolidFill::new().set_color(colour)))
        .set_gap(60);
    let mut font = ChartFont::new();
    font.set_name(FONT).set_size(12).set_bold().set_color(INK);
    chart.title().set_name(title).set_font(&font);
    chart.legend().set_hidden();
    chart.set_width(470).set_height(330);
    chart.set_alt_text(title);
    sheet.insert_chart_with_offset(row, column, &chart, 12, 0)?;
    Ok(())
}
