//! The sheet of curves: a row a block, from which the charts of practice curve and tests are drawn.

use rust_xlsxwriter::{
    Chart as Drawing, ChartEmptyCells, ChartErrorBars, ChartErrorBarsType, ChartFont, ChartFormat,
    ChartLegendPosition, ChartLine, ChartLineDashType, ChartMarker, ChartMarkerType, ChartRange,
    ChartSolidFill, ChartType, Worksheet, XlsxError,
};

use super::{Assigned, MarkerBook};
use crate::examination::PairResult;
use crate::facts::BlockRow;
use crate::phase::PhaseKind;
use crate::place::cell_name;
use crate::report::page::chart::Chart;
use crate::report::workbook::sheet::{CellContent, Column, FIRST_ROW, TableSheet};
use crate::report::workbook::style::{CLAY, FONT, INK, LINE, Look, TEAL};
use crate::stats::distribution::t_quantile;

use super::words::block_title;

/// The sheet's own name.
pub const NAME: &str = "Curves";

/// Measures of a pair that are drawn.
const MEASURES_DRAWN: usize = 2;

/// One drawing of a pair: a measure, and the rows of the sheet that hold its blocks.
pub struct Curve {
    drawn: Chart,
    /// Whether the measure's scale has two ends: the axis then shows all of it.
    closed: bool,
    points: Vec<Point>,
    first: u32,
}

/// One row of the sheet.
struct Point {
    label: String,
    n: usize,
    practice: Option<f64>,
    test: Option<f64>,
    sd: Option<f64>,
    half_width: Option<f64>,
}

const COLUMNS: [(&str, &str, f64, Look); 9] = [
    ("pair", "Pair", 9.0, Look::Text),
    ("measure", "Measure", 22.0, Look::Text),
    ("block", "Block", 18.0, Look::Text),
    ("n", "Trials", 9.0, Look::Whole),
    ("practice", "Mean of the session", 12.0, Look::Decimal),
    ("test", "Mean of the test", 12.0, Look::Decimal),
    ("sd", "sd", 9.0, Look::Decimal),
    ("half", "95 % interval, ±", 12.0, Look::Decimal),
    ("target", "Target", 9.0, Look::Number),
];

fn columns() -> Vec<Column> {
    COLUMNS
        .into_iter()
        .map(|(key, title, width, look)| Column::shown(key, title, width, look))
        .collect()
}

/// The drawings of each of the marker's pairs, with the rows in which their blocks will stand.
pub fn curves(pairs: &[Assigned<'_>]) -> Vec<Vec<Curve>> {
    let mut next = FIRST_ROW;
    pairs
        .iter()
        .map(|pair| {
            let mut curves = of_pair(pair.result);
            for curve in &mut curves {
                curve.first = next;
                next += u32::try_from(curve.points.len()).unwrap_or(0);
            }
            curves
        })
        .collect()
}

fn of_pair(result: &PairResult) -> Vec<Curve> {
    result
        .measures
        .iter()
        .filter_map(|measure| {
            let drawn = Chart::of(measure, &result.blocks)?;
            let rows = || {
                let rows = result.blocks.iter();
                rows.filter(|row| row.measure == measure.name && row.mean.is_some())
            };
            let before =
                rows().filter(|row| row.session.is_none() && row.phase.kind == PhaseKind::Pre);
            let sessions = rows().filter(|row| row.session.is_some());
            let after = rows().filter(|row| {
                row.session.is_none()
                    && row.phase.kind.is_test()
                    && row.phase.kind != PhaseKind::Pre
            });
            Some(Curve {
                closed: measure.lowest.is_some() && measure.highest.is_some(),
                drawn,
                points: before.chain(sessions).chain(after).map(point).collect(),
                first: 0,
            })
        })
        .take(MEASURES_DRAWN)
        .collect()
}

fn point(row: &BlockRow) -> Point {
    match row.session {
        Some(session) => Point {
            label: session.to_string(),
            n: row.n,
            practice: row.mean,
            test: None,
            sd: row.sd,
            half_width: None,
        },
        None => Point {
            label: block_title(row.phase)
                .replace("-test", "")
                .replace(" test", ""),
            n: row.n,
            practice: None,
            test: row.mean,
            sd: row.sd,
            half_width: half_width(row),
        },
    }
}

/// Half of the 95 % interval of a block's mean by Student's t.
pub fn half_width(row: &BlockRow) -> Option<f64> {
    let sd = row.sd.filter(|_| row.n > 1)?;
    let t = t_quantile(0.975, row.n as f64 - 1.0).ok()?;
    Some(t * sd / (row.n as f64).sqrt())
}

/// Writes the sheet: the rows stand where [`curves`] says.
///
/// # Errors
/// What the writer of workbooks says.
pub fn write(
    sheet: &mut Worksheet,
    book: &MarkerBook<'_>,
    curves: &[Vec<Curve>],
) -> Result<(), XlsxError> {
    let columns = columns();
    let hint = "The numbers that the charts are drawn from. Numbered blocks are practice sessions.";
    let mut table = TableSheet::begin(sheet, book.looks, NAME, "Curves", hint, &columns)?;
    for (pair, curves) in book.pairs.iter().zip(curves) {
        for curve in curves {
            for point in &curve.points {
                let cells: [CellContent; 9] = [
                    (&*pair.result.pair).into(),
                    curve.drawn.measure.clone().into(),
                    point.label.clone().into(),
                    point.n.into(),
                    point.practice.into(),
                    point.test.into(),
                    point.sd.into(),
                    point.half_width.into(),
                    curve.drawn.target.into(),
                ];
                table.row(cells)?;
            }
        }
    }
    table.finish(3)?;
    Ok(())
}

/// The drawing of a curve, so many pixels wide and high.
pub fn drawing(curve: &Curve, width: u32, height: u32) -> Drawing {
    let last = curve.first + u32::try_from(curve.points.len()).unwrap_or(1).max(1) - 1;
    let range = |key: &str| {
        let column = COLUMNS.iter().position(|(known, ..)| *known == key);
        let column = u32::try_from(column.unwrap_or(0)).unwrap_or(0);
        let (from, to) = (cell_name(curve.first, column), cell_name(last, column));
        format!("{NAME}!{}:{}", fixed(&from), fixed(&to))
    };
    let mut drawing = Drawing::new(ChartType::Line);
    let small = small_font();
    let series = drawing.add_series();
    series
        .set_name("practice (mean of the session)")
        .set_categories(range("block").as_str())
        .set_values(range("practice").as_str())
        .set_format(ChartFormat::new().set_line(ChartLine::new().set_color(TEAL).set_width(1.75)))
        .set_marker(&marker(ChartMarkerType::Circle, 5, TEAL));
    let half = || ChartRange::new_from_string(&range("half"));
    let bars = ChartErrorBarsType::Custom(half(), half());
    let series = drawing.add_series();
    series
        .set_name("tests (mean, 95 % interval)")
        .set_categories(range("block").as_str())
        .set_values(range("test").as_str())
        .set_format(ChartFormat::new().set_line(ChartLine::new().set_hidden(true)))
        .set_marker(&marker(ChartMarkerType::Diamond, 9, CLAY))
        .set_y_error_bars(
            ChartErrorBars::new().set_type(bars).set_format(
                ChartFormat::new().set_line(ChartLine::new().set_color(INK).set_width(1)),
            ),
        );
    if curve.drawn.target.is_some() {
        let dashes = ChartLine::new()
            .set_color(INK)
            .set_width(1)
            .set_dash_type(ChartLineDashType::Dash)
            .clone();
        let series = drawing.add_series();
        series
            .set_name("target")
            .set_categories(range("block").as_str())
            .set_values(range("target").as_str())
            .set_format(ChartFormat::new().set_line(&dashes))
            .set_marker(ChartMarker::new().set_none());
    }
    let title = format!("{}: {}", curve.drawn.measure, curve.drawn.better);
    let mut title_font = ChartFont::new();
    title_font
        .set_name(FONT)
        .set_size(10)
        .set_bold()
        .set_color(INK);
    drawing
        .title()
        .set_name(title.as_str())
        .set_font(&title_font);
    let faint = ChartLine::new().set_color(LINE).set_width(0.5).clone();
    let axis = drawing.y_axis();
    axis.set_font(&small).set_num_format("General");
    axis.set_major_gridlines(true)
        .set_major_gridlines_line(&faint);
    if curve.closed {
        axis.set_min(curve.drawn.ends.0).set_max(curve.drawn.ends.1);
    }
    drawing.x_axis().set_font(&small);
    let lowest = rust_xlsxwriter::ChartAxisLabelPosition::Low;
    drawing.x_axis().set_label_position(lowest);
    drawing
        .legend()
        .set_position(ChartLegendPosition::Bottom)
        .set_font(&small);
    drawing.show_empty_cells_as(ChartEmptyCells::Connected);
    drawing.set_width(width).set_height(height);
    drawing.set_alt_text(alternative(&curve.drawn.in_words()));
    drawing
}

/// As much of a drawing in words as the format takes, to the end of a part.
fn alternative(words: &str) -> String {
    const MOST: usize = 250;
    let mut text = String::new();
    for part in words.split_inclusive("; ") {
        if text.encode_utf16().count() + part.encode_utf16().count() > MOST {
            break;
        }
        text += part;
    }
    text.trim_end_matches("; ").to_owned()
}

fn small_font() -> ChartFont {
    let mut font = ChartFont::new();
    font.set_name(FONT).set_size(8).set_color(INK);
    font
}

fn marker(kind: ChartMarkerType, size: u8, color: rust_xlsxwriter::Color) -> ChartMarker {
    let fill = ChartSolidFill::new().set_color(color).clone();
    let line = ChartLine::new().set_color(color).clone();
    ChartMarker::new()
        .set_type(kind)
        .set_size(size)
        .set_format(ChartFormat::new().set_solid_fill(&fill).set_line(&line))
        .clone()
}

/// A cell's name as a chart has it: `$F$12`.
fn fixed(name: &str) -> String {
    let digits = name
        .find(|c: char| c.is_ascii_digit())
        .unwrap_or(name.len());
    let (letters, digits) = name.split_at(digits);
    format!("${letters}${digits}")
}
