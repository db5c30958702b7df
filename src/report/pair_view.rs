//! One pair in the terminal: blocks, practice curve, claims beside the recomputed numbers, findings with their cells.

use std::fmt::Write as _;

use super::table::Table;
use super::wording::{claim_in_words, emphasis_of, evidence_summary, id_in_words, verdict_marked};
use crate::claims::in_table;
use crate::emphasis::Emphasis;
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::BlockRow;
use crate::number::readable;
use crate::place::evidence_in_short;
use crate::wording::counted;

/// The whole view; its tables in `width` columns where that is given.
pub fn text(result: &PairResult, width: Option<usize>) -> String {
    let mut out = String::new();
    let skill = result
        .skill
        .as_deref()
        .map_or_else(String::new, |skill| format!(", {skill}"));
    let _ = writeln!(
        out,
        "{}{skill}",
        Emphasis::Heading.on(&format!("Pair {}", result.pair))
    );
    match &result.hand_in {
        Some(hand_in) => {
            let _ = writeln!(out, "{}", Emphasis::File.on(&hand_in.name));
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

fn heading(out: &mut String, title: &str) {
    let _ = writeln!(out, "\n{}", Emphasis::Heading.on(title));
}

fn shown(number: Option<f64>) -> String {
    number.map(readable).unwrap_or_default()
}

fn blocks(out: &mut String, result: &PairResult, width: Option<usize>) {
    if result.blocks.is_empty() {
        return;
    }
    heading(out, "Blocks");
    let header = [
        "measure", "phase", "n", "missing", "mean", "sd", "lowest", "highest",
    ];
    let mut table = Table::new(&header, 2..header.len(), 2);
    for block in &result.blocks {
        let phase = match block.session {
            Some(number) => format!("  session {number}"),
            None => block.phase.to_string(),
        };
        table.row([
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
    out.push_str(&table.text(width));
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
    let header = [
        "claim",
        "what",
        "claimed",
        "recomputed",
        "verdict",
        "comes out of",
    ];
    let mut table = Table::new(&header, 0..0, 2);
    for examined in &result.claims {
        table.row(claim_cells(examined));
    }
    out.push_str(&table.text(width));
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
        verdict_marked(recomputed.verdict),
        match &recomputed.value {
            Err(why) => why.to_string(),
            Ok(_) if recomputed.unread > 0 => {
                String::from("it may be right: a score could not be read")
            }
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
            " {} {}: {}",
            emphasis_of(finding.weight).on_wide(finding.weight.name(), 8),
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
        let judged = readable(suggestion.judged_out_of);
        let gives = if suggestion.out_of > 0.0 {
            format!(
                "{} of {}; {judged} for a person to judge",
                readable(suggestion.suggested),
                readable(suggestion.out_of)
            )
        } else {
            format!("{judged} for a person to judge")
        };
        let _ = writeln!(out, " {}: {gives}", suggestion.criterion);
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
    use crate::emphasis::plain;
    use crate::phase::Phase;

    #[test]
    fn a_narrow_terminal_gets_a_list_and_a_pipe_the_table() {
        let block = BlockRow {
            mean: Some(2.0),
            sd: Some(1.0),
            minimum: Some(1.0),
            maximum: Some(3.0),
            ..BlockRow::without_numbers("lob", Phase::PRE, None, 2)
        };
        let result = PairResult {
            blocks: vec![block],
            ..PairResult::default()
        };
        let told = |width| plain(&text(&result, width));
        assert!(told(None).contains(" lob      pre    2"), "{}", told(None));
        assert_eq!(told(Some(72)), told(None));
        let narrow = told(Some(40));
        assert!(
            narrow.contains(" lob pre: n 2; missing 0; mean 2; sd 1; lowest 1; highest 3\n"),
            "{narrow}"
        );
    }
}
