//! A pair's practice curve, small: every test has its place whether it was held or not, so that the curves of a cohort can be compared.

use std::fmt::Write as _;

use super::draw::{end_in_short, short, text};
use super::marks::{AtBlock, Marks, Practice};
use crate::number::readable;
use crate::phase::{BlockName, Phase, PhaseKind};
use crate::report::page::chart::{Axis, Chart, TestPoint, escaped};

const WIDTH: f64 = 400.0;
const HEIGHT: f64 = 162.0;
const LEFT: f64 = 38.0;
const RIGHT: f64 = 398.0;
/// The base lines of the two rows of words over the plot: findings, then claims.
const FINDINGS: f64 = 11.0;
const CLAIMS: f64 = 26.0;
const TOP: f64 = 46.0;
const BOTTOM: f64 = 138.0;
/// The base line of the names under the plot.
const NAMES: f64 = 156.0;
/// What a test takes, where there is room.
const TEST: f64 = 60.0;
/// What practice takes at least.
const PRACTICE: f64 = 96.0;
/// Sessions that are named in a row of words.
const NAMED: usize = 3;

/// A test's place on the curve.
struct Slot<'a> {
    phase: Phase,
    label: String,
    point: Option<&'a TestPoint>,
}

impl<'a> Slot<'a> {
    fn held(point: &'a TestPoint) -> Self {
        Self {
            phase: point.phase,
            label: point.label.clone(),
            point: Some(point),
        }
    }

    fn empty(kind: PhaseKind) -> Self {
        let mut label = kind.name().to_owned();
        if let Some(first) = label.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        Self {
            phase: Phase::first(kind),
            label,
            point: None,
        }
    }
}

/// The tests in their order; an empty place for each that every programme has and this one hasn't.
fn slots<'a>(points: &'a [TestPoint], expected: &[PhaseKind]) -> Vec<Slot<'a>> {
    let mut slots: Vec<Slot<'a>> = points.iter().map(Slot::held).collect();
    for kind in expected {
        if slots.iter().all(|slot| slot.phase.kind != *kind) {
            slots.push(Slot::empty(*kind));
        }
    }
    slots.sort_by_key(|slot| slot.phase);
    slots
}

/// The drawing, with all that it shows in words.
pub(super) fn svg(chart: &Chart, marks: &Marks) -> String {
    let axis = Axis::between(chart.ends, TOP, BOTTOM);
    let before = slots(&chart.before, &[PhaseKind::Pre]);
    let after = slots(
        &chart.after,
        &[PhaseKind::Post, PhaseKind::Retention, PhaseKind::Transfer],
    );
    let tests = (before.len() + after.len()) as f64;
    let step = TEST.min((RIGHT - LEFT - PRACTICE) / tests);
    let practice = LEFT + step * before.len() as f64;
    let practice_end = RIGHT - step * after.len() as f64;

    let mut out = String::new();
    let marked = marks.in_words();
    let marked = if marked.is_empty() {
        String::from("nothing marked")
    } else {
        format!("marked: {marked}")
    };
    let words = escaped(&format!(
        "{}. {}; {marked}.",
        chart.measure,
        chart.in_words()
    ));
    let _ = write!(
        out,
        "<svg viewBox=\"0 0 {WIDTH} {HEIGHT}\" role=\"img\" aria-label=\"{words}\">"
    );
    draw_scale(&mut out, chart, &axis, practice, practice_end);
    for (first, slots) in [(LEFT, &before), (practice_end, &after)] {
        let mut x = first + step / 2.0;
        for slot in slots {
            draw_slot(&mut out, &axis, slot, x);
            if let Some(at) = marks.at(BlockName::Phase(slot.phase)) {
                draw_words(&mut out, x, at, "", "");
                // Beside the test's number, not over it.
                draw_claimed(&mut out, &axis, x + step / 3.0, at);
            }
            x += step;
        }
    }
    draw_practice(
        &mut out,
        &axis,
        chart,
        &marks.practice(),
        (practice, practice_end),
    );
    out.push_str("</svg>");
    out
}

/// The ends of the scale, practice between the tests, the target.
fn draw_scale(out: &mut String, chart: &Chart, axis: &Axis, from: f64, to: f64) {
    let (low, high) = chart.ends;
    let _ = write!(
        out,
        "<path class=\"ground\" d=\"M{} {TOP}H{}V{BOTTOM}H{}z\"/><path class=\"grid\" d=\"M{LEFT} {TOP}H{RIGHT}M{LEFT} {BOTTOM}H{RIGHT}\"/>",
        short(from),
        short(to),
        short(from)
    );
    for (end, y) in [(high, TOP), (low, BOTTOM)] {
        let _ = write!(
            out,
            "<text class=\"faint end\" x=\"{}\" y=\"{}\">{}</text>",
            LEFT - 4.0,
            y + 4.0,
            end_in_short(end)
        );
    }
    if let Some(target) = chart.target {
        let y = short(axis.y(target));
        let _ = write!(out, "<path class=\"target\" d=\"M{LEFT} {y}H{RIGHT}\"/>");
    }
}

fn draw_slot(out: &mut String, axis: &Axis, slot: &Slot<'_>, x: f64) {
    text(out, x, NAMES, &slot.label, "faint");
    let Some(point) = slot.point else {
        text(out, x, f64::midpoint(TOP, BOTTOM) + 4.0, "none", "faint");
        return;
    };
    let y = axis.y(point.mean);
    let mut top = y - 4.0;
    if let Some((low, high)) = point.interval {
        let (down, up) = (axis.y(low), axis.y(high));
        top = top.min(up);
        let _ = write!(
            out,
            "<path class=\"whisker\" d=\"M{0} {1}V{2}M{3} {1}h8m-8 {4}h8\"/>",
            short(x),
            short(down),
            short(up),
            short(x - 4.0),
            short(up - down)
        );
    }
    let _ = write!(
        out,
        "<path class=\"test\" d=\"M{} {}h8v8h-8z\"/>",
        short(x - 4.0),
        short(y - 4.0)
    );
    text(out, x, top - 4.0, &readable(point.mean), "");
}

fn draw_practice(
    out: &mut String,
    axis: &Axis,
    chart: &Chart,
    marks: &Practice<'_>,
    (from, to): (f64, f64),
) {
    let middle = f64::midpoint(from, to);
    if let (Some(first), Some(last)) = (chart.practice.first(), chart.practice.last()) {
        let step = (to - from) / chart.practice.len() as f64;
        let at = |index: usize| from + step * (index as f64 + 0.5);
        let mut line = String::new();
        let mut dots = String::new();
        for (index, (_, mean)) in chart.practice.iter().enumerate() {
            let (x, y) = (short(at(index)), short(axis.y(*mean)));
            let _ = write!(line, "{}{x} {y}", if index == 0 { "M" } else { "L" });
            // A line without length and with round ends is a dot.
            let _ = write!(dots, "M{x} {y}h0");
        }
        let _ = write!(
            out,
            "<path class=\"practice\" d=\"{line}\"/><path class=\"session\" d=\"{dots}\"/>"
        );
        for (number, at_session) in &marks.sessions {
            let Some(index) = chart.practice.iter().position(|(known, _)| known == number) else {
                continue;
            };
            if at_session.heaviest.is_some() {
                let _ = write!(
                    out,
                    "<path class=\"found\" d=\"M{} {}l4 7h-8z\"/>",
                    short(at(index)),
                    short(BOTTOM - 8.0)
                );
            }
            draw_claimed(out, axis, at(index), at_session);
        }
        let name = if first.0 == last.0 {
            format!("session {}", first.0)
        } else {
            format!("sessions {}–{}", first.0, last.0)
        };
        text(out, middle, NAMES, &name, "faint");
    } else {
        text(
            out,
            middle,
            f64::midpoint(TOP, BOTTOM) + 4.0,
            "none",
            "faint",
        );
        text(out, middle, NAMES, "Practice", "faint");
    }
    draw_practice_words(out, middle, marks);
}

/// The words over practice: the heaviest of all its marks, and at which sessions they are.
fn draw_practice_words(out: &mut String, middle: f64, marks: &Practice<'_>) {
    let mut all = marks.whole.cloned().unwrap_or_default();
    for (_, at) in &marks.sessions {
        all.findings += at.findings;
        all.heaviest = all.heaviest.max(at.heaviest);
        all.claims += at.claims;
    }
    let sessions = |wanted: fn(&AtBlock) -> bool| -> String {
        let numbers: Vec<String> = marks
            .sessions
            .iter()
            .filter(|(_, at)| wanted(at))
            .map(|(number, _)| number.to_string())
            .collect();
        match numbers.get(..NAMED) {
            Some(first) if numbers.len() > NAMED => format!(": s. {} …", first.join(", ")),
            _ if numbers.is_empty() => String::new(),
            _ => format!(": s. {}", numbers.join(", ")),
        }
    };
    let found = sessions(|at| at.heaviest.is_some());
    let claimed = sessions(|at| at.claims > 0);
    draw_words(out, middle, &all, &found, &claimed);
}

/// The shapes and words over a block: a triangle for findings, a diamond for claims that differ.
fn draw_words(out: &mut String, x: f64, at: &AtBlock, found: &str, claimed: &str) {
    if let Some(weight) = at.heaviest {
        text(out, x, FINDINGS, &format!("▲ {weight}{found}"), "sign");
    }
    if at.claims > 0 {
        let noun = if at.claims == 1 { "claim" } else { "claims" };
        text(out, x, CLAIMS, &format!("◆ {noun}{claimed}"), "sign");
    }
}

/// A hollow diamond where the mean stands as claimed, if that is on the scale.
fn draw_claimed(out: &mut String, axis: &Axis, x: f64, at: &AtBlock) {
    for claimed in at.claimed_means.iter().filter(|mean| axis.holds(**mean)) {
        let _ = write!(
            out,
            "<path class=\"claimed\" d=\"M{} {}l5 5-5 5-5-5z\"/>",
            short(x),
            short(axis.y(*claimed) - 5.0)
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::{Finding, Weight};
    use crate::examination::PairResult;

    fn point(phase: Phase, mean: f64) -> TestPoint {
        TestPoint {
            phase,
            title: phase.title(),
            label: phase.to_string(),
            mean,
            interval: Some((mean - 1.0, mean + 1.0)),
            n: 8,
        }
    }

    fn chart() -> Chart {
        Chart {
            measure: "lob <b>".into(),
            better: "higher is better".into(),
            ends: (1.0, 10.0),
            target: None,
            before: vec![point(Phase::PRE, 2.0)],
            practice: vec![(2, 3.0), (3, 4.0), (5, 6.0)],
            after: vec![point(Phase::POST, 7.0), point(Phase::RETENTION, 6.5)],
        }
    }

    fn marked(blocks: &[BlockName]) -> Marks {
        let findings = blocks.iter().map(|block| {
            Finding::new("data.off-step", Weight::Concern, "m", "c").about(Some(0), *block)
        });
        let result = PairResult {
            findings: findings.collect(),
            ..PairResult::default()
        };
        Marks::of(&result, 0)
    }

    #[test]
    fn every_test_has_its_place_and_an_absent_one_says_so() {
        let svg = svg(&chart(), &Marks::default());
        for name in ["pre", "post", "retention", "Transfer", "sessions 2–5"] {
            assert!(svg.contains(&format!(">{name}</text>")), "{name}: {svg}");
        }
        assert_eq!(svg.matches(">none</text>").count(), 1);
        assert!(svg.contains("nothing marked") && !svg.contains("lob <b>"));
        assert!(!svg.contains("NaN"));
    }

    #[test]
    fn a_finding_is_a_shape_and_a_word_over_its_block_and_a_shape_at_its_session() {
        let marks = marked(&[
            BlockName::Phase(Phase::POST),
            BlockName::PracticeSession(3),
            BlockName::PracticeSession(4),
        ]);
        let svg = svg(&chart(), &marks);
        assert!(svg.contains(">▲ concern</text>"), "{svg}");
        assert!(svg.contains(">▲ concern: s. 3, 4</text>"));
        // Session 4 has no mean, so there is nothing to put a shape at.
        assert_eq!(svg.matches("class=\"found\"").count(), 1);
        assert!(svg.contains("marked: post-test: 1 concern; practice session 3: 1 concern"));
    }

    #[test]
    fn a_claimed_mean_is_drawn_on_the_scale_or_not_at_all() {
        let axis = Axis::between((1.0, 10.0), TOP, BOTTOM);
        let drawn = |mean| {
            let at = AtBlock {
                claims: 1,
                claimed_means: vec![mean],
                ..AtBlock::default()
            };
            let mut out = String::new();
            draw_claimed(&mut out, &axis, 50.0, &at);
            out
        };
        assert!(drawn(10.0).contains(&format!("M50 {}", TOP - 5.0)));
        assert_eq!(drawn(70.0), "");
    }

    #[test]
    fn many_tests_leave_room_for_practice() {
        let mut chart = chart();
        chart.after = (1..=12)
            .map(|number| {
                point(
                    Phase {
                        kind: PhaseKind::Retention,
                        number,
                    },
                    5.0,
                )
            })
            .collect();
        let svg = svg(&chart, &Marks::default());
        assert!(!svg.contains("x=\"-") && !svg.contains("NaN"));
    }
}
