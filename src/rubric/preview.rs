//! A rubric in words, for whoever answers for it to proofread before a cohort is marked by it.

use std::fmt::Write as _;

use super::Rubric;
use super::criterion::{Criterion, Each, Evidence, Judged};
use super::levels::Level;
use crate::configuration::wrapped;
use crate::expression::Condition;
use crate::number::plain;
use crate::thresholds;

/// The rubric in words: what is settled by the data and when, what is asked of the marker, what pairs read, and what the course changed.
pub fn preview(rubric: &Rubric) -> String {
    let mut out = String::new();
    let pass = rubric
        .pass
        .map_or_else(String::new, |pass| format!(", pass from {}", plain(pass)));
    let _ = writeln!(
        out,
        "{}: out of {}{pass}",
        rubric.title,
        plain(rubric.out_of)
    );
    let settled: f64 = rubric.criteria.iter().map(Criterion::evidence_points).sum();
    let _ = writeln!(
        out,
        "{} marks can be suggested from the data, {} are a person's alone.",
        plain(settled),
        plain(rubric.out_of - settled)
    );
    levels(&mut out, &rubric.levels, 0);
    for (index, criterion) in rubric.criteria.iter().enumerate() {
        out.push('\n');
        of_criterion(&mut out, index + 1, criterion);
    }
    settings(&mut out, rubric);
    out
}

fn of_criterion(out: &mut String, number: usize, criterion: &Criterion) {
    let each = match criterion.each {
        Each::Pair => "",
        Each::Student => ", marked for each student",
    };
    let _ = writeln!(
        out,
        "{number}. {} [{}]: {} marks{each} ({} from the data, {} from the marker)",
        criterion.title,
        criterion.id,
        plain(criterion.marks),
        plain(criterion.evidence_points()),
        plain(criterion.judged_points())
    );
    for evidence in &criterion.evidence {
        of_evidence(out, evidence);
    }
    for judged in &criterion.judged {
        of_judged(out, judged);
    }
    levels(out, &criterion.levels, 3);
}

fn of_evidence(out: &mut String, evidence: &Evidence) {
    let points = plain(evidence.points);
    let _ = writeln!(out, "   {} ({points}), from the data", evidence.id);
    let half = plain(evidence.points / 2.0);
    let mut condition = |label: &str, condition: Option<&Condition>| {
        if let Some(condition) = condition {
            wrapped(out, label, condition.words(), 6);
        }
    };
    condition("looked at only where", evidence.testable.as_ref());
    condition(&format!("{points} where"), Some(&evidence.when));
    condition(&format!("{half} where"), evidence.partly.as_ref());
    let sentences = [
        ("met", &evidence.met),
        ("partly met", &evidence.partly_met),
        ("not met", &evidence.unmet),
        ("unsettled", &evidence.unsure),
    ];
    for (label, sentence) in sentences {
        if let Some(sentence) = sentence {
            let quoted = format!("\"{}\"", sentence.text());
            wrapped(out, &format!("{label}:"), &quoted, 6);
        }
    }
}

fn of_judged(out: &mut String, judged: &Judged) {
    let label = format!("{} ({}), from the marker:", judged.id, plain(judged.points));
    wrapped(out, &label, &judged.asks, 3);
}

fn levels(out: &mut String, levels: &[Level], indent: usize) {
    for level in levels {
        let label = format!("{} from {}", level.title, plain(level.from));
        match &level.descriptor {
            Some(descriptor) => wrapped(out, &format!("{label}:"), descriptor, indent),
            None => wrapped(out, &label, "", indent),
        }
    }
}

/// What the course changed: thresholds off their defaults, checks, accepted slips.
fn settings(out: &mut String, rubric: &Rubric) {
    let mut lines = Vec::new();
    for definition in thresholds::definitions() {
        let value = rubric
            .thresholds
            .get(definition.key)
            .unwrap_or(definition.default);
        if (value - definition.default).abs() > 0.0 {
            lines.push(format!(
                "threshold {}: {} {} (default {})",
                definition.key,
                plain(value),
                definition.unit,
                plain(definition.default)
            ));
        }
    }
    for (check, switch) in &rubric.checks {
        let weight = switch.weight.map_or("off", |weight| weight.name());
        let reason = switch
            .reason
            .as_ref()
            .map_or_else(String::new, |reason| format!(" ({reason})"));
        lines.push(format!("check {check}: {weight}{reason}"));
    }
    if !rubric.accept.is_empty() {
        lines.push(format!(
            "accepted as this course's convention: {}",
            rubric.accept.join(", ")
        ));
    }
    if lines.is_empty() {
        return;
    }
    out.push_str("\nSet by this rubric\n");
    for line in lines {
        wrapped(out, "", &line, 3);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::configuration::WIDTH;
    use crate::rubric::SHIPPED;
    use crate::rubric::tests_support::read;

    #[test]
    fn a_rubric_reads_as_an_instructor_proofreads_it() {
        let rubric = read(
            r#"
title = "First report"
out_of = 5
pass = 2
[thresholds]
retention_days = 7
[checks]
"testing.one-rater" = { weight = "off", reason = "one rater by design" }
[[level]]
title = "Pass"
from = 0
[[criterion]]
id = "testing"
title = "Tests"
marks = 5
each = "student"
[[criterion.evidence]]
id = "retention"
points = 3
when = "has(retention.mean) && retention.days_after >= 7"
partly = "has(retention.mean)"
met = "Tested {retention.days_after:day} after."
[[criterion.judged]]
id = "protocol"
points = 2
asks = "Could it be repeated?"
"#,
        )
        .unwrap();
        assert_eq!(
            preview(&rubric),
            "First report: out of 5, pass from 2\n\
             3 marks can be suggested from the data, 2 are a person's alone.\n\
             Pass from 0\n\
             \n\
             1. Tests [testing]: 5 marks, marked for each student (3 from the data, 2 from the marker)\n   \
             retention (3), from the data\n      \
             3 where retention.mean is recorded, and retention.days_after is at least 7\n      \
             1.5 where retention.mean is recorded\n      \
             met: \"Tested {retention.days_after:day} after.\"\n   \
             protocol (2), from the marker: Could it be repeated?\n\
             \n\
             Set by this rubric\n   \
             threshold retention_days: 7 days (default 1)\n   \
             check testing.one-rater: off (one rater by design)\n"
        );
    }

    #[test]
    fn no_line_is_too_long_to_read() {
        for (name, text) in SHIPPED {
            let rubric = read(text).unwrap();
            for line in preview(&rubric).lines() {
                assert!(line.chars().count() <= WIDTH, "{name}: {line}");
            }
        }
    }
}
