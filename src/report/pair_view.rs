//! One pair in the terminal: blocks, practice curve, claims beside the recomputed numbers, findings with their cells.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, Table, presets};

use super::wording::{claim_in_words, counted, evidence_summary, id_in_words};
use crate::claims::in_table;
use crate::examination::PairResult;
use crate::facts::BlockRow;
use crate::number::readable;
use crate::place::evidence_in_short;

/// The whole view.
pub fn text(result: &PairResult) -> String {
    let mut out = String::new();
    let skill = result
        .skill
        .as_deref()
        .map_or_else(String::new, |skill| format!(", {skill}"));
    let _ = writeln!(out, "Pair {}{skill}", result.pair);
    match &result.hand_in {
        Some(hand_in) => {
            let _ = writeln!(out, "{}", hand_in.name);
        }
        None => {
            let _ = writeln!(out, "Nothing was read of this pair.");
        }
    }
    blocks(&mut out, result);
    curves(&mut out, result);
    claims(&mut out, result);
    findings(&mut out, result);
    judgements(&mut out, result);
    suggestions(&mut out, result);
    not_checked(&mut out, result);
    out
}

fn heading(out: &mut String, title: &str) {
    let _ = writeln!(out, "\n{title}");
}

fn table(header: &[&str], numbers_from: usize) -> Table {
    let mut table = Table::new();
    table.load_style(presets::NOTHING);
    table.set_header(header.iter().copied());
    for (index, column) in table.column_iter_mut().enumerate() {
        if index >= numbers_from {
            column.set_cell_alignment(CellAlignment::Right);
        }
        column.set_padding((1, 1));
    }
    table
}

fn shown(number: Option<f64>) -> String {
    number.map(readable).unwrap_or_default()
}

fn blocks(out: &mut String, result: &PairResult) {
    if result.blocks.is_empty() {
        return;
    }
    heading(out, "Blocks");
    let mut table = table(
        &[
            "measure", "phase", "n", "missing", "mean", "sd", "lowest", "highest",
        ],
        2,
    );
    for block in &result.blocks {
        let phase = match block.session {
            Some(number) => format!("  session {number}"),
            None => block.phase.to_string(),
        };
        table.add_row([
            block.measure.to_string(),
            phase,
            block.n.to_string(),
            block.missing.to_string(),
            shown(block.mean),
            shown(block.sd),
            shown(block.minimum),
            shown(block.maximum),
        ]);
    }
    let _ = writeln!(out, "{}", table.trim_fmt());
}

/// Heights of a curve drawn with characters, lowest first.
const BARS: [char; 8] = ['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];

fn curves(out: &mut String, result: &PairResult) {
    for measure in &result.measures {
        let sessions: Vec<&BlockRow> = result
            .blocks
            .iter()
            .filter(|row| row.measure == measure.name && row.session.is_some())
            .collect();
        let means: Vec<f64> = sessions.iter().filter_map(|row| row.mean).collect();
        if means.len() < 2 {
            continue;
        }
        let (low, high) = match (measure.lowest, measure.highest) {
            (Some(low), Some(high)) => (low, high),
            _ => bounds(&means),
        };
        heading(
            out,
            &format!(
                "Practice curve of {}, {} to {}",
                measure.name,
                readable(low),
                readable(high)
            ),
        );
        let bars: String = means.iter().map(|mean| bar(*mean, low, high)).collect();
        let ends = match (means.first(), means.last()) {
            (Some(first), Some(last)) => format!("{} … {}", readable(*first), readable(*last)),
            _ => String::new(),
        };
        let _ = writeln!(out, " {bars}  {ends}");
    }
}

fn bounds(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (low, high)
}

fn bar(value: f64, low: f64, high: f64) -> char {
    let share = if high > low {
        (value - low) / (high - low)
    } else {
        0.5
    };
    // The highest bar whose lower edge the value reaches.
    let last = BARS.len() - 1;
    let index = (0..=last)
        .rev()
        .find(|index| share * last as f64 + 0.5 >= *index as f64)
        .unwrap_or(0);
    BARS.get(index).copied().unwrap_or('▁')
}

fn claims(out: &mut String, result: &PairResult) {
    if result.claims.is_empty() {
        return;
    }
    heading(out, "Claims");
    let mut table = table(
        &[
            "claim",
            "what",
            "claimed",
            "recomputed",
            "verdict",
            "comes out of",
        ],
        usize::MAX,
    );
    for examined in &result.claims {
        let recomputed = &examined.recomputed;
        table.add_row([
            examined.claim.id.to_string(),
            claim_in_words(&examined.claim),
            examined.claim.value_text.to_string(),
            recomputed.value.as_ref().map_or_else(
                |_| String::from("–"),
                |value| in_table(examined.claim.value.as_ref(), *value),
            ),
            recomputed.verdict.to_string(),
            match &recomputed.value {
                Err(why) => why.to_string(),
                Ok(_) => recomputed
                    .explanations
                    .first()
                    .map(|explanation| {
                        format!("{}: {}", id_in_words(&explanation.code()), explanation.when)
                    })
                    .unwrap_or_default(),
            },
        ]);
    }
    let _ = writeln!(out, "{}", table.trim_fmt());
}

fn findings(out: &mut String, result: &PairResult) {
    if result.findings.is_empty() {
        heading(out, "No findings.");
        return;
    }
    heading(out, &counted(result.findings.len(), "finding"));
    for finding in &result.findings {
        let _ = writeln!(
            out,
            " {:<8} {}: {}",
            finding.weight.name(),
            finding.check,
            finding.message
        );
        if !finding.places.is_empty() {
            let _ = writeln!(out, "          {}", evidence_in_short(&finding.places));
        }
    }
}

fn judgements(out: &mut String, result: &PairResult) {
    let Some(judgements) = &result.judgements else {
        return;
    };
    heading(out, "Stage and theory");
    for (about, sentence) in [
        ("start", &judgements.start.sentence),
        ("end", &judgements.end.sentence),
        ("theory", &judgements.theory.sentence),
    ] {
        let _ = writeln!(out, " {about:<8} {sentence}");
    }
}

fn suggestions(out: &mut String, result: &PairResult) {
    if result.suggestions.is_empty() {
        return;
    }
    heading(
        out,
        "Evidence by criterion (points earned of those that the data settle)",
    );
    for suggestion in &result.suggestions {
        let _ = writeln!(
            out,
            " {}: {} of {}; {} for a person to judge",
            suggestion.criterion,
            readable(suggestion.suggested),
            readable(suggestion.out_of),
            readable(suggestion.judged_out_of)
        );
        for line in evidence_summary(suggestion).lines() {
            let _ = writeln!(out, "   {line}");
        }
    }
}

fn not_checked(out: &mut String, result: &PairResult) {
    if result.not_checked.is_empty() {
        return;
    }
    heading(out, "Could not be checked");
    for not in &result.not_checked {
        let _ = writeln!(out, " {}: {}", not.check, not.why);
    }
}
