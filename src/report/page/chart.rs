//! A pair's practice curve and test blocks as a drawing within the page, on the measure's full scale, and in words for who can't see it.

use std::fmt::Write as _;

use crate::facts::BlockRow;
use crate::logbook::model::{Better, Measure};
use crate::number::readable;
use crate::phase::{Phase, PhaseKind};
use crate::stats::distribution::t_quantile;

/// One test block.
#[derive(Debug, Clone, PartialEq)]
pub struct TestPoint {
    /// Which test.
    pub phase: Phase,
    /// Its name (`post-test`).
    pub title: String,
    /// Its label under the axis.
    pub label: String,
    /// Mean of its trials.
    pub mean: f64,
    /// 95 % interval of the mean by Student's t; none for a single trial.
    pub interval: Option<(f64, f64)>,
    /// Trials.
    pub n: usize,
}

/// What is drawn for one measure.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The measure's name, with its unit.
    pub measure: String,
    /// Which way is better, in words.
    pub better: String,
    /// The ends of the axis.
    pub ends: (f64, f64),
    /// The target, where the measure has one within the axis.
    pub target: Option<f64>,
    /// Test blocks before practice.
    pub before: Vec<TestPoint>,
    /// Practice sessions: number and mean.
    pub practice: Vec<(u32, f64)>,
    /// Test blocks in and after practice.
    pub after: Vec<TestPoint>,
}

impl Chart {
    /// The chart of a measure; none where there is nothing to draw.
    pub fn of(measure: &Measure, blocks: &[BlockRow]) -> Option<Self> {
        let rows = || blocks.iter().filter(|row| row.measure == measure.name);
        let tests = |wanted: fn(PhaseKind) -> bool| -> Vec<TestPoint> {
            rows()
                .filter(|row| row.session.is_none() && wanted(row.phase.kind))
                .filter_map(test_point)
                .collect()
        };
        let before = tests(|kind| kind == PhaseKind::Pre);
        let after = tests(|kind| kind.is_test() && kind != PhaseKind::Pre);
        let practice: Vec<(u32, f64)> = rows()
            .filter_map(|row| Some((row.session?, row.mean?)))
            .collect();
        if before.len() + after.len() + practice.len() < 2 {
            return None;
        }
        let ends = match (measure.lowest, measure.highest) {
            (Some(low), Some(high)) if high > low => (low, high),
            _ => drawn_range(measure, &before, &practice, &after),
        };
        let unit = measure
            .unit
            .as_deref()
            .filter(|unit| !unit.is_empty() && *unit != &*measure.name)
            .map_or_else(String::new, |unit| format!(" ({unit})"));
        Some(Self {
            measure: format!("{}{unit}", measure.name),
            better: match measure.better {
                Better::Higher => String::from("higher is better"),
                Better::Lower => String::from("lower is better"),
                Better::Target => String::from("nearest to the target is best"),
            },
            ends,
            target: measure
                .target
                .filter(|target| (ends.0..=ends.1).contains(target)),
            before,
            practice,
            after,
        })
    }

    /// The drawing in words.
    pub fn in_words(&self) -> String {
        let mut parts: Vec<String> = Vec::new();
        let test = |point: &TestPoint| {
            let interval = point.interval.map_or_else(String::new, |(low, high)| {
                format!(", 95 % interval {} to {}", readable(low), readable(high))
            });
            let trials = if point.n == 1 { "trial" } else { "trials" };
            format!(
                "{}: mean {} of {} {trials}{interval}",
                point.title,
                readable(point.mean),
                point.n
            )
        };
        parts.extend(self.before.iter().map(test));
        if let (Some(first), Some(last)) = (self.practice.first(), self.practice.last())
            && self.practice.len() > 1
        {
            parts.push(format!(
                "practice: session means from {} in session {} to {} in session {}",
                readable(first.1),
                first.0,
                readable(last.1),
                last.0
            ));
        }
        parts.extend(self.after.iter().map(test));
        parts.join("; ")
    }

    /// The drawing.
    pub fn svg(&self, id: &str) -> String {
        let axis = Axis::new(self.ends);
        // A test takes the room of its label; a session as much as is left.
        let tests = (self.before.len() + self.after.len()) as f64;
        let room = RIGHT - LEFT;
        let test_step = TEST_WIDTH.min(room / tests.max(1.0));
        let sessions = self.practice.len() as f64;
        let step = if sessions > 0.0 {
            ((room - tests * test_step) / sessions).max(1.0)
        } else {
            0.0
        };
        let gap = if sessions > 0.0 {
            0.0
        } else {
            (room - tests * test_step) / 2.0
        };
        let mut out = String::new();
        let words = escaped(&self.in_words());
        let title = escaped(&format!("Tests and practice curve: {}", self.measure));
        let _ = write!(
            out,
            "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-labelledby=\"{id}-t {id}-d\"><title id=\"{id}-t\">{title}</title><desc id=\"{id}-d\">{words}</desc>"
        );
        axis.draw(&mut out);
        if let Some(target) = self.target {
            let y = axis.y(target);
            let _ = write!(
                out,
                "<line class=\"target\" x1=\"{LEFT}\" x2=\"{RIGHT}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/><text class=\"faint\" x=\"{RIGHT}\" y=\"{:.1}\" text-anchor=\"end\">target</text>",
                y - 4.0
            );
        }
        let mut x = LEFT + gap + test_step / 2.0;
        for point in &self.before {
            draw_test(&mut out, &axis, point, x);
            x += test_step;
        }
        x -= test_step / 2.0;
        self.draw_practice(&mut out, &axis, x + step / 2.0, step);
        x += sessions * step + test_step / 2.0;
        for point in &self.after {
            draw_test(&mut out, &axis, point, x);
            x += test_step;
        }
        out.push_str("</svg>");
        out
    }

    fn draw_practice(&self, out: &mut String, axis: &Axis, start: f64, step: f64) {
        if self.practice.is_empty() {
            return;
        }
        let at = |index: usize| start + step * index as f64;
        let points: Vec<String> = self
            .practice
            .iter()
            .enumerate()
            .map(|(index, (_, mean))| format!("{:.1},{:.1}", at(index), axis.y(*mean)))
            .collect();
        let _ = write!(
            out,
            "<polyline class=\"practice\" points=\"{}\"/>",
            points.join(" ")
        );
        // As many session numbers as there is room for.
        let every = ((22.0 / step).ceil()).max(1.0);
        for (index, (number, mean)) in self.practice.iter().enumerate() {
            let (x, y) = (at(index), axis.y(*mean));
            let _ = write!(
                out,
                "<circle class=\"session\" cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.5\"/>"
            );
            if (index as f64 % every).abs() < 0.5 {
                label(out, x, BOTTOM + 16.0, &number.to_string(), "faint");
            }
        }
        let middle = f64::midpoint(at(0), at(self.practice.len() - 1));
        label(out, middle, BOTTOM + 33.0, "practice session", "faint");
    }
}

/// What a test's label takes.
const TEST_WIDTH: f64 = 72.0;
const WIDTH: f64 = 680.0;
const HEIGHT: f64 = 240.0;
const LEFT: f64 = 46.0;
const RIGHT: f64 = 672.0;
const TOP: f64 = 14.0;
const BOTTOM: f64 = 196.0;

fn test_point(row: &BlockRow) -> Option<TestPoint> {
    let mean = row.mean?;
    let half_width = || {
        let sd = row.sd.filter(|_| row.n > 1)?;
        let t = t_quantile(0.975, row.n as f64 - 1.0).ok()?;
        Some(t * sd / (row.n as f64).sqrt())
    };
    let number = if row.phase.number > 1 {
        format!(" {}", row.phase.number)
    } else {
        String::new()
    };
    let name = row.phase.kind.name();
    let mut label = name.to_owned();
    if let Some(first) = label.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    Some(TestPoint {
        phase: row.phase,
        title: format!("{}{number}", row.phase.kind.title()),
        label: format!("{label}{number}"),
        mean,
        interval: half_width().map(|half| (mean - half, mean + half)),
        n: row.n,
    })
}

/// The range of an open scale: everything that is drawn, and a little room.
fn drawn_range(
    measure: &Measure,
    before: &[TestPoint],
    practice: &[(u32, f64)],
    after: &[TestPoint],
) -> (f64, f64) {
    let mut values: Vec<f64> = practice.iter().map(|(_, mean)| *mean).collect();
    for point in before.iter().chain(after) {
        values.push(point.mean);
        if let Some((low, high)) = point.interval {
            values.extend([low, high]);
        }
    }
    values.extend(measure.target);
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let room = ((high - low) * 0.08).max(high.abs() * 0.01).max(1e-6);
    let low = if low >= 0.0 {
        (low - room).max(0.0)
    } else {
        low - room
    };
    (
        measure.lowest.unwrap_or(low),
        measure.highest.unwrap_or(high + room),
    )
}

/// The axis of scores.
pub(super) struct Axis {
    low: f64,
    high: f64,
    top: f64,
    bottom: f64,
}

impl Axis {
    fn new(ends: (f64, f64)) -> Self {
        Self::between(ends, TOP, BOTTOM)
    }

    /// The axis of these ends, drawn from `bottom` up to `top`.
    pub(super) fn between((low, high): (f64, f64), top: f64, bottom: f64) -> Self {
        let high = if high > low { high } else { low + 1.0 };
        Self {
            low,
            high,
            top,
            bottom,
        }
    }

    /// Where a score is drawn; beyond the scale's ends, at the end.
    pub(super) fn y(&self, score: f64) -> f64 {
        let share = (score - self.low) / (self.high - self.low);
        self.bottom - share.clamp(0.0, 1.0) * (self.bottom - self.top)
    }

    /// Whether a score lies on the axis.
    pub(super) fn holds(&self, score: f64) -> bool {
        (self.low..=self.high).contains(&score)
    }

    /// Round numbers along the axis, four to eight of them.
    fn ticks(&self) -> Vec<f64> {
        let rough = (self.high - self.low) / 6.0;
        let power = 10_f64.powf(rough.log10().floor());
        let step = [1.0, 2.0, 5.0, 10.0]
            .into_iter()
            .map(|factor| factor * power)
            .find(|step| *step >= rough * 0.999)
            .unwrap_or(rough);
        let first = (self.low / step - 1e-9).ceil();
        (0..12)
            .map(|index| (first + f64::from(index)) * step)
            .take_while(|tick| *tick <= self.high + step * 1e-9)
            .collect()
    }

    fn draw(&self, out: &mut String) {
        for tick in self.ticks() {
            let y = self.y(tick);
            let _ = write!(
                out,
                "<line class=\"grid\" x1=\"{LEFT}\" x2=\"{RIGHT}\" y1=\"{y:.1}\" y2=\"{y:.1}\"/><text class=\"faint\" x=\"{:.1}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                LEFT - 7.0,
                y + 4.5,
                readable(tick)
            );
        }
    }
}

fn draw_test(out: &mut String, axis: &Axis, point: &TestPoint, x: f64) {
    let y = axis.y(point.mean);
    let mut top = y;
    if let Some((low, high)) = point.interval {
        let (down, up) = (axis.y(low), axis.y(high));
        top = up;
        let _ = write!(
            out,
            "<path class=\"whisker\" d=\"M{x:.1} {down:.1}V{up:.1}M{:.1} {down:.1}h10M{:.1} {up:.1}h10\"/>",
            x - 5.0,
            x - 5.0
        );
    }
    let _ = write!(
        out,
        "<rect class=\"test\" x=\"{:.1}\" y=\"{:.1}\" width=\"10\" height=\"10\"/>",
        x - 5.0,
        y - 5.0
    );
    // Beside the mark where there is no room over it.
    if top - 6.0 > TOP {
        label(out, x, top - 6.0, &readable(point.mean), "");
    } else {
        let _ = write!(
            out,
            "<text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            x + 9.0,
            y + 4.5,
            readable(point.mean)
        );
    }
    label(out, x, BOTTOM + 16.0, &point.label, "");
}

fn label(out: &mut String, x: f64, y: f64, text: &str, class: &str) {
    let _ = write!(
        out,
        "<text class=\"{class}\" x=\"{x:.1}\" y=\"{y:.1}\" text-anchor=\"middle\">{}</text>",
        escaped(text)
    );
}

/// Text within markup.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
#[allow(clippy::float_cmp, reason = "ticks are tested for being exact")]
mod tests {
    use super::*;

    fn row(phase: Phase, session: Option<u32>, mean: f64, sd: f64, n: usize) -> BlockRow {
        BlockRow {
            mean: Some(mean),
            sd: Some(sd),
            ..BlockRow::without_numbers("score", phase, session, n)
        }
    }

    #[test]
    fn intervals_are_students() {
        // SciPy: stats.t.interval(0.95, 9, 3, 1 / sqrt(10)) = (2.28464…, 3.71535…)
        let point = test_point(&row(Phase::PRE, None, 3.0, 1.0, 10)).unwrap();
        let (low, high) = point.interval.unwrap();
        assert!((low - 2.284_643).abs() < 1e-5 && (high - 3.715_357).abs() < 1e-5);
        assert!(
            test_point(&row(Phase::PRE, None, 3.0, 1.0, 1))
                .unwrap()
                .interval
                .is_none()
        );
    }

    #[test]
    fn a_chart_is_drawn_on_the_full_scale_and_says_what_it_shows() {
        let mut measure = Measure::undescribed();
        measure.lowest = Some(1.0);
        measure.highest = Some(5.0);
        let blocks = [
            row(Phase::PRE, None, 2.0, 0.5, 8),
            row(Phase::PRACTICE, Some(1), 2.5, 0.5, 6),
            row(Phase::PRACTICE, Some(2), 3.5, 0.5, 6),
            row(Phase::POST, None, 4.8, 0.9, 8),
        ];
        let chart = Chart::of(&measure, &blocks).unwrap();
        assert_eq!(chart.ends, (1.0, 5.0));
        let words = chart.in_words();
        assert!(words.contains("pre-test: mean 2 of 8 trials") && words.contains("session 2"));
        let svg = chart.svg("c1");
        assert!(svg.contains("<title id=\"c1-t\">") && !svg.contains("NaN"));
        // An interval beyond the scale ends at the scale's end.
        let highest = svg.match_indices("V14.0").count();
        assert_eq!(highest, 1);
        assert!(Chart::of(&measure, &blocks[..1]).is_none());
    }

    #[test]
    fn ticks_are_round() {
        assert_eq!(Axis::new((1.0, 10.0)).ticks(), [2.0, 4.0, 6.0, 8.0, 10.0]);
        assert_eq!(Axis::new((0.0, 1.0)).ticks().len(), 6);
        assert!(Axis::new((3.0, 3.0)).ticks().len() > 1);
    }
}
