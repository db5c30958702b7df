//! `out/moderation-report.xlsx`: one page that says how the markers agree, further sheets for all else, and the proposals to accept or refuse.
//!
//! What the tables say is worked out elsewhere and handed in; here they become sheets and charts.

use rust_xlsxwriter::{
    Chart, ChartAxisLabelPosition, ChartErrorBars, ChartErrorBarsType, ChartFormat, ChartLine,
    ChartMarker, ChartMarkerType, ChartRange, ChartSolidFill, ChartType, Color, Workbook,
    Worksheet, XlsxError,
};

use super::sheet::{
    CellContent, Column, EntryRule, FIRST_ROW, TableSheet, height_of, lines_of, write_cell,
};
use super::style::{CLAY, INK, Look, Looks, TEAL};
use super::written::{Written, WrittenValue, add_written};

/// Which workbook this is, on its hidden sheet.
pub const KIND: &str = "moderation report";

/// The name of the sheet of proposals.
pub const PROPOSALS: &str = "Proposals";

/// What may be decided about a proposal.
const PROPOSAL_WORDS: &[&str] = &["accept", "refuse"];

/// The name of the first sheet.
const FRONT: &str = "Report";

/// Widths of the first page's figures, and of what they mean.
const VALUE_WIDTH: f64 = 22.0;
const SAYS_WIDTH: f64 = 96.0;

/// The whole report.
#[derive(Debug, Clone, Default)]
pub struct ModerationReport {
    /// The cohort's title.
    pub title: String,
    /// Digest of the rubric in force.
    pub rubric_digest: String,
    /// How many lines the ledger has.
    pub ledger_lines: usize,
    /// The first page: label, value, what it means.
    pub front: Vec<FrontRow>,
    /// The further sheets.
    pub tables: Vec<ReportTable>,
    /// The proposals.
    pub proposals: Vec<ProposalRow>,
    /// The cells to fill in that are not empty.
    pub entered: Vec<WrittenValue>,
}

/// One line of the first page.
#[derive(Debug, Clone, PartialEq)]
pub struct FrontRow {
    /// What it is; a heading where there is nothing else.
    pub label: String,
    /// The figure.
    pub value: CellContent,
    /// What it means, or why there is none.
    pub says: String,
}

/// A sheet that is a table, with a chart or none.
#[derive(Debug, Clone)]
pub struct ReportTable {
    /// The sheet's name.
    pub name: &'static str,
    /// Its title.
    pub title: String,
    /// The line under it.
    pub hint: String,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows.
    pub rows: Vec<Vec<CellContent>>,
    /// What is drawn of it.
    pub chart: Option<ReportChart>,
    /// How many of its first rows are drawn; all where it has no more.
    pub drawn_rows: u32,
}

impl ReportTable {
    /// A table of which nothing is drawn.
    pub fn plain(
        name: &'static str,
        title: impl Into<String>,
        hint: impl Into<String>,
        columns: Vec<Column>,
        rows: Vec<Vec<CellContent>>,
    ) -> Self {
        Self {
            name,
            title: title.into(),
            hint: hint.into(),
            columns,
            rows,
            chart: None,
            drawn_rows: 0,
        }
    }
}

/// What is drawn of a table; columns are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReportChart {
    /// Points of two columns: difference against mean.
    Points {
        /// Across.
        x: u16,
        /// Up.
        y: u16,
    },
    /// A value a row with its interval, as distances down and up.
    Intervals {
        /// The names.
        label: u16,
        /// The values.
        value: u16,
        /// How far the interval reaches down.
        down: u16,
        /// How far it reaches up.
        up: u16,
    },
    /// Counts stacked by column, a bar a row.
    Stacked {
        /// The names.
        label: u16,
        /// The first column of counts.
        first: u16,
        /// The last.
        last: u16,
    },
}

/// A proposal as the workbook shows it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProposalRow {
    /// Its id.
    pub id: String,
    /// What is proposed.
    pub what: String,
    /// Why.
    pub why: String,
    /// What it would change.
    pub changes: String,
    /// What was decided; none so far.
    pub decision: Option<String>,
}

/// The columns of the sheet of proposals.
pub fn proposal_columns() -> Vec<Column> {
    vec![
        Column::shown("what", "What is proposed", 40.0, Look::Wrapped),
        Column::shown("why", "Why", 60.0, Look::Wrapped),
        Column::shown("changes", "What it would change", 48.0, Look::Wrapped),
        Column::entry(
            "accept",
            "Accept or refuse",
            16.0,
            EntryRule::Choice(PROPOSAL_WORDS),
        ),
        Column::shown("proposal", "Its id", 30.0, Look::Wrapped),
    ]
}

/// The name of the sheet of marks to be looked at again.
pub const AGAIN: &str = "Mark again";

/// Its columns.
pub fn again_columns() -> Vec<Column> {
    vec![
        Column::shown("of", "Pair", 10.0, Look::Text),
        Column::shown("run", "Criterion and marker", 36.0, Look::Wrapped),
        Column::shown("before", "Mark when accepted", 14.0, Look::Text),
        Column::shown("now", "Mark that stands", 14.0, Look::Text),
        Column::shown("state", "How it stands", 30.0, Look::Wrapped),
        Column::entry(
            "accept",
            "Accept as it stands",
            16.0,
            EntryRule::Choice(&["accept"]),
        ),
        Column::shown("proposal", "Its id", 26.0, Look::Wrapped),
    ]
}

/// Makes the workbook; the same input gives the same bytes.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make(report: &ModerationReport, looks: &Looks) -> Result<Workbook, XlsxError> {
    let mut workbook = super::new_workbook("Moderation report")?;
    write_front(workbook.add_worksheet(), report, looks)?;
    write_proposals(workbook.add_worksheet(), report, looks)?;
    for table in &report.tables {
        write_table(workbook.add_worksheet(), table, looks)?;
    }
    let written = Written {
        kind: KIND.to_owned(),
        rubric: report.rubric_digest.clone(),
        ledger_lines: report.ledger_lines,
        values: report.entered.clone(),
        ..Written::default()
    };
    add_written(&mut workbook, &written)?;
    Ok(workbook)
}

fn write_front(
    sheet: &mut Worksheet,
    report: &ModerationReport,
    looks: &Looks,
) -> Result<(), XlsxError> {
    sheet.set_name(FRONT)?;
    sheet.set_column_width(0, 34)?;
    sheet.set_column_width(1, VALUE_WIDTH)?;
    sheet.set_column_width(2, SAYS_WIDTH)?;
    let title = format!("How the markers agree: {}", report.title);
    write_cell(sheet, 0, 0, &title.into(), looks.of(Look::Title))?;
    let hint = "Markers are never ranked on raw means: reports differ too. What is proposed is on the sheet Proposals; nothing is applied of itself.";
    write_cell(sheet, 1, 0, &hint.into(), looks.of(Look::Hint))?;
    for (row, line) in (3_u32..).zip(&report.front) {
        let heading = line.says.is_empty() && line.value == CellContent::Empty;
        let (label, value) = if heading {
            (Look::Header, Look::Header)
        } else {
            (Look::Text, Look::Wrapped)
        };
        write_cell(sheet, row, 0, &line.label.clone().into(), looks.of(label))?;
        write_cell(sheet, row, 1, &line.value, looks.of(value))?;
        let says = line.says.clone().into();
        write_cell(sheet, row, 2, &says, looks.of(value))?;
        let lines = lines_of(&says, SAYS_WIDTH).max(lines_of(&line.value, VALUE_WIDTH));
        if lines > 1 {
            sheet.set_row_height(row, height_of(lines))?;
        }
    }
    sheet.protect();
    sheet.set_landscape();
    sheet.set_paper_size(9);
    sheet.set_print_fit_to_pages(1, 1);
    Ok(())
}

fn write_proposals(
    sheet: &mut Worksheet,
    report: &ModerationReport,
    looks: &Looks,
) -> Result<(), XlsxError> {
    let columns = proposal_columns();
    let hint = "Accept or refuse in the green cells, then run evenhand collect. Marks as entered stay on the ledger, whatever is decided.";
    let mut table = TableSheet::begin(sheet, looks, PROPOSALS, PROPOSALS, hint, &columns)?;
    for proposal in &report.proposals {
        table.row([
            proposal.what.clone().into(),
            proposal.why.clone().into(),
            proposal.changes.clone().into(),
            proposal.decision.clone().into(),
            proposal.id.clone().into(),
        ])?;
    }
    table.finish(1)?;
    Ok(())
}

pub(super) fn write_table(
    sheet: &mut Worksheet,
    report: &ReportTable,
    looks: &Looks,
) -> Result<(), XlsxError> {
    let mut table = TableSheet::begin(
        sheet,
        looks,
        report.name,
        &report.title,
        &report.hint,
        &report.columns,
    )?;
    for row in &report.rows {
        if table.is_full() {
            break;
        }
        table.row(row.iter().cloned())?;
    }
    let end = table.next_row();
    let sheet = table.finish(1)?;
    if let (Some(chart), true) = (report.chart, end > FIRST_ROW) {
        if end - FIRST_ROW > ROWS_ABOVE_CHART {
            sheet.set_page_breaks(&[end])?;
        }
        let drawn_rows = report.drawn_rows.min(end - FIRST_ROW);
        let mut drawn = draw(report, chart, FIRST_ROW + drawn_rows.max(1) - 1);
        drawn.title().set_name(&report.title);
        drawn.set_width(640).set_height(380);
        drawn.set_alt_text(&report.title);
        sheet.insert_chart(end + 1, 1, &drawn)?;
    }
    Ok(())
}

/// Below the chart, clear of the points: values lie on both sides of 0.
const LABELS: ChartAxisLabelPosition = ChartAxisLabelPosition::Low;

/// On paper, a longer table leaves no room for its chart on the same page.
const ROWS_ABOVE_CHART: u32 = 12;

fn draw(table: &ReportTable, chart: ReportChart, last: u32) -> Chart {
    let name = table.name;
    let range = |column: u16| (name, FIRST_ROW, column, last, column);
    let reach = |column: u16| ChartRange::new_from_range(name, FIRST_ROW, column, last, column);
    let title = |column: u16| {
        let column = table.columns.get(usize::from(column));
        column.map_or("", |column| column.title.as_str())
    };
    match chart {
        ReportChart::Points { x, y } => {
            let mut drawn = Chart::new(ChartType::Scatter);
            drawn
                .add_series()
                .set_categories(range(x))
                .set_values(range(y))
                .set_marker(&marker());
            drawn.x_axis().set_name(title(x)).set_label_position(LABELS);
            drawn.y_axis().set_name(title(y));
            drawn.legend().set_hidden();
            drawn
        }
        ReportChart::Intervals {
            label,
            value,
            down,
            up,
        } => {
            let mut drawn = Chart::new(ChartType::Line);
            let bars = ChartErrorBars::new()
                .set_type(ChartErrorBarsType::Custom(reach(up), reach(down)))
                .set_format(ChartLine::new().set_color(INK))
                .clone();
            drawn
                .add_series()
                .set_categories(range(label))
                .set_values(range(value))
                .set_format(ChartLine::new().set_hidden(true))
                .set_marker(&marker())
                .set_y_error_bars(&bars);
            drawn.y_axis().set_name(title(value));
            drawn.x_axis().set_label_position(LABELS);
            drawn.legend().set_hidden();
            drawn
        }
        ReportChart::Stacked {
            label,
            first,
            last: to,
        } => {
            let mut drawn = Chart::new(ChartType::ColumnPercentStacked);
            for (index, column) in (0_usize..).zip(first..=to) {
                drawn
                    .add_series()
                    .set_name(title(column))
                    .set_categories(range(label))
                    .set_values(range(column))
                    .set_format(&mut fill(index));
            }
            drawn
        }
    }
}

fn marker() -> ChartMarker {
    let mut marker = ChartMarker::new();
    marker
        .set_type(ChartMarkerType::Circle)
        .set_size(7)
        .set_format(ChartSolidFill::new().set_color(TEAL));
    marker
}

/// Shades that are told apart in grey too.
fn fill(index: usize) -> ChartFormat {
    let shades = [
        INK,
        TEAL,
        Color::RGB(0x008F_BDB8),
        CLAY,
        Color::RGB(0x00E0_BFA6),
        Color::RGB(0x00C9_C2B4),
    ];
    let shade = shades.get(index % shades.len()).copied().unwrap_or(INK);
    ChartFormat::new()
        .set_solid_fill(ChartSolidFill::new().set_color(shade))
        .clone()
}
