//! One pair in the terminal: blocks, practice curve, claims beside the recomputed numbers, findings with their cells.

use std::fmt::Write as _;

use comfy_table::{CellAlignment, ContentArrangement, Table, presets};

use super::wording::{claim_in_words, counted, evidence_summary, id_in_words};
use crate::claims::in_table;
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::BlockRow;
use crate::number::readable;
use crate::place::evidence_in_short;

/// The whole view; its tables in `width` columns where that is given.
pub fn text(result: &PairResult, width: Option<usize>) -> String {
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
    blocks(&mut out, result, width);
    curves(&mut out, result);
    claims(&mut out, result, width);
    findings(&mut out, result);
    judgements(&mut out, result);
    suggestions(&mut out, result);
    not_checked(&mut out, result);
    out
}

/// Below so many columns tables have no room.
const NARROW: usize = 72;

fn is_narrow(width: Option<usize>) -> bool {
    width.is_some_and(|width| width < NARROW)
}

fn heading(out: &mut String, title: &str) {
    let _ = writeln!(out, "\n{title}");
}

fn table(header: &[&str], numbers_from: usize, width: Option<usize>) -> Table {
    let mut table = Table::new();
    if let Some(width) = width.and_then(|width| u16::try_from(width).ok()) {
        table.set_content_arrangement(ContentArrangement::Dynamic);
        table.set_width(width);
    }
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

fn blocks(out: &mut String, result: &PairResult, width: Option<usize>) {
    if result.blocks.is_empty() {
        return;
    }
    heading(out, "Blocks");
    let mut header = vec![
        "measure", "phase", "n", "missing", "mean", "sd", "lowest", "highest",
    ];
    if is_narrow(width) {
        header.truncate(6);
    }
    let mut table = table(&header, 2, width);
    for block in &result.blocks {
        let phase = match block.session {
            Some(number) => format!("  session {number}"),
            None => block.phase.to_string(),
        };
        let cells = [
            block.measure.to_string(),
            phase,
            block.n.to_string(),
            block.missing.to_string(),
            shown(block.mean),
            shown(block.sd),
            shown(block.minimum),
            shown(block.maximum),
        ];
        table.add_row(cells.into_iter().take(header.len()));
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

fn claims(out: &mut String, result: &PairResult, width: Option<usize>) {
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
        width,
    );
    for examined in &result.claims {
        let cells = claim_cells(examined);
        if is_narrow(width) {
            let [id, what, claimed, recomputed, verdict, explained] = &cells;
            let _ = write!(
                out,
                " {id:<4}  {what}: claimed {claimed}, recomputed {recomputed}, {verdict}"
            );
            if !explained.is_empty() {
                let _ = write!(out, " ({explained})");
            }
            out.push('\n');
        } else {
            table.add_row(cells);
        }
    }
    if !is_narrow(width) {
        let _ = writeln!(out, "{}", table.trim_fmt());
    }
}

fn claim_cells(examined: &ExaminedClaim) -> [String; 6] {
    let claim = &examined.claim;
    let recomputed = &examined.recomputed;
    [
        claim.id.to_string(),
        claim_in_words(claim),
        claim.value_text.to_string(),
        recomputed.value.as_ref().map_or_else(
            |_| String::from("–"),
            |value| in_table(claim.value.as_ref(), *value),
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
    ]
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::phase::Phase;

    #[test]
    fn a_narrow_terminal_gets_fewer_columns_and_a_pipe_all() {
        let block = BlockRow {
            measure: "lob".into(),
            phase: Phase::PRE,
            session: None,
            n: 2,
            missing: 0,
            mean: Some(2.0),
            median: None,
            sd: Some(1.0),
            minimum: Some(1.0),
            maximum: Some(3.0),
            ce: None,
            ae: None,
            ve: None,
            rmse: None,
            mre: None,
            sre: None,
            bve: None,
        };
        let result = PairResult {
            blocks: vec![block],
            ..PairResult::default()
        };
        assert!(text(&result, None).contains("highest"));
        assert!(text(&result, Some(NARROW)).contains("highest"));
        let narrow = text(&result, Some(60));
        assert!(narrow.contains("missing") && !narrow.contains("highest"));
    }
}
