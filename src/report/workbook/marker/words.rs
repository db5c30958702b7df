//! What a marker's workbook says of a pair, in lines: its tests, its evidence, its claims, what is to be discussed.

use super::{Assigned, MarkerBook, MarkingAs};
use crate::checks;
use crate::claims::Verdict;
use crate::examination::{ExaminedClaim, PairResult};
use crate::expression::FactSource;
use crate::facts::{BlockRow, FactValue, in_words};
use crate::ledger::{PairState, Slot, Subject};
use crate::number::readable;
use crate::phase::{BlockName, Phase};
use crate::place::{Place, evidence_in_short, quoted};
use crate::report::wording::{claim_in_words, id_in_words};
use crate::rubric::{CriterionSuggestion, EvidenceOutcome, Settled};

/// Longest text of a fact that is quoted.
const LONGEST_TEXT: usize = 40;

/// The evidence of a criterion, a line a point: whether it is met, and the pair's numbers that say so. `after`: without what it gives, as
/// that is to come after the mark.
pub fn evidence_lines(
    suggestion: &CriterionSuggestion,
    result: &PairResult,
    after: bool,
) -> String {
    let line = |outcome: &EvidenceOutcome| {
        let of = readable(outcome.points);
        let named = with_numbers(outcome, result);
        match (outcome.earned(), &outcome.settled) {
            (None, _) => format!("Yours to judge, of {of}: {named}{}", question(outcome)),
            (Some(_), _) if after => named,
            (Some(earned), Settled::Met) => format!("Met, {} of {of}: {named}", readable(earned)),
            (Some(earned), Settled::Partly) => {
                format!("Partly, {} of {of}: {named}", readable(earned))
            }
            (Some(earned), _) => format!("Not met, {} of {of}: {named}", readable(earned)),
        }
    };
    let lines: Vec<String> = suggestion.evidence.iter().map(line).collect();
    if lines.is_empty() {
        String::from("Nothing that the data could settle: all of it is yours to judge.")
    } else {
        lines.join("\n")
    }
}

/// The same in running text, for paper.
pub fn evidence_running(
    suggestion: &CriterionSuggestion,
    result: &PairResult,
    after: bool,
) -> String {
    let named = |wanted: &dyn Fn(&EvidenceOutcome) -> bool| -> Vec<String> {
        let outcomes = suggestion.evidence.iter();
        outcomes
            .filter(|outcome| wanted(outcome))
            .map(|outcome| with_numbers(outcome, result))
            .collect()
    };
    let settled = |settled: Settled| move |outcome: &EvidenceOutcome| outcome.settled == settled;
    let settled_lists = if after {
        vec![(
            "The data say to",
            named(&|outcome| outcome.earned().is_some()),
        )]
    } else {
        vec![
            ("Met", named(&settled(Settled::Met))),
            ("Partly", named(&settled(Settled::Partly))),
            ("Not met", named(&settled(Settled::Unmet))),
        ]
    };
    let yours = (
        "Yours to judge",
        named(&|outcome| outcome.earned().is_none()),
    );
    let lines: Vec<String> = settled_lists
        .into_iter()
        .chain([yours])
        .filter(|(_, items)| !items.is_empty())
        .map(|(title, items)| format!("{title}: {}.", items.join("; ")))
        .collect();
    if lines.is_empty() {
        String::from("All of it is yours to judge.")
    } else {
        lines.join("\n")
    }
}

/// What the marker is asked where the data settle nothing.
fn question(outcome: &EvidenceOutcome) -> String {
    let Some(sentence) = &outcome.sentence else {
        return String::new();
    };
    format!(". {}", sentence.trim_start_matches("For the marker: "))
}

/// An evidence point with the numbers that settle it: `retention test (mean of the retention test 2.28, days from the last practice to the retention test 9)`.
fn with_numbers(outcome: &EvidenceOutcome, result: &PairResult) -> String {
    let numbers: Vec<String> = outcome
        .facts
        .iter()
        .filter(|fact| !fact.starts_with("thresholds."))
        .filter_map(|fact| Some(fact_in_words(fact, &result.fact(fact)?)))
        .collect();
    let name = id_in_words(&outcome.id);
    if numbers.is_empty() {
        name
    } else {
        format!("{name} ({})", numbers.join(", "))
    }
}

/// A fact and its value in words: `practice sessions 8`, `tests under the same conditions: yes`.
fn fact_in_words(name: &str, value: &FactValue) -> String {
    if let Some(check) = name
        .strip_prefix("findings[\"")
        .and_then(|rest| rest.strip_suffix("\"]"))
    {
        let title = checks::find(check).map_or(check, |check| check.title);
        return match value {
            FactValue::Number(0.0) => format!("not found: {title}"),
            _ => format!("found: {title}"),
        };
    }
    let name = in_words(name);
    match value {
        FactValue::Number(number) => format!("{name} {}", readable(*number)),
        FactValue::Truth(true) => format!("{name}: yes"),
        FactValue::Truth(false) => format!("{name}: no"),
        FactValue::Date(date) => format!("{name} {date}"),
        FactValue::Text(text) => {
            let mut quoted: String = text.chars().take(LONGEST_TEXT).collect();
            if quoted.len() < text.len() {
                quoted.push('…');
            }
            format!("{name} “{quoted}”")
        }
    }
}

/// The tests and the practice of the primary measure, a line each, with the cells where a claim names them.
pub fn tests_in_words(result: &PairResult) -> String {
    let Some(measure) = result.measures.first() else {
        return String::from("No trials that could be read.");
    };
    let blocks = result
        .blocks
        .iter()
        .filter(|row| row.measure == measure.name && row.session.is_none());
    let mut lines: Vec<String> = blocks.map(|row| block_in_words(result, row)).collect();
    if let (
        Some(FactValue::Number(change)),
        Some(FactValue::Number(low)),
        Some(FactValue::Number(high)),
    ) = (
        result.fact("change.post.difference"),
        result.fact("change.post.low"),
        result.fact("change.post.high"),
    ) {
        lines.push(format!(
            "Change from pre-test to post-test: {} (95 % interval {} to {})",
            readable(change),
            readable(low),
            readable(high)
        ));
    }
    lines.join("\n")
}

fn block_in_words(result: &PairResult, row: &BlockRow) -> String {
    let mean = row.mean.map_or_else(
        || String::from("no mean"),
        |mean| format!("mean {}", readable(mean)),
    );
    let mut numbers = vec![mean];
    numbers.extend(row.sd.map(|sd| format!("sd {}", readable(sd))));
    numbers.push(match cells_of(result, row.phase) {
        Some(cells) => format!("n {} ({cells})", row.n),
        None => format!("n {}", row.n),
    });
    format!("{}: {}", block_title(row.phase), numbers.join(", "))
}

/// `Post-test`, `Retention test 2`.
pub fn block_title(phase: Phase) -> String {
    let mut title = phase.title();
    if let Some(first) = title.get_mut(..1) {
        first.make_ascii_uppercase();
    }
    title
}

/// The cells of a block's trials, where a claim about the block alone says which they are. Without the file, which the link has.
fn cells_of(result: &PairResult, phase: Phase) -> Option<String> {
    let about = |examined: &&ExaminedClaim| {
        examined.claim.phase == Some(BlockName::Phase(phase)) && examined.claim.versus.is_none()
    };
    let examined = result.claims.iter().find(about)?;
    // The claim's own cell comes first.
    let trials: Vec<Place> = examined.recomputed.places.iter().skip(1).collect();
    let place = trials.first()?;
    let text = evidence_in_short(&trials);
    place.sheet()?;
    let short = text
        .replace(&format!("{} ", quoted(&place.file)), "")
        .replace(&format!("{} ", place.file), "");
    (short.chars().count() <= LONGEST_TEXT).then_some(short)
}

/// What the record says of the stages at the start and at the end, and of the theory.
pub fn stage_and_theory(result: &PairResult) -> Vec<(&'static str, &str)> {
    let Some(judgements) = &result.judgements else {
        return Vec::new();
    };
    [
        ("Stage at the start", judgements.start.sentence.as_str()),
        ("Stage at the end", judgements.end.sentence.as_str()),
        ("Theory", judgements.theory.sentence.as_str()),
    ]
    .into_iter()
    .filter(|(_, sentence)| !sentence.is_empty())
    .collect()
}

/// Whether a claim doesn't follow.
pub fn is_wrong(examined: &ExaminedClaim) -> bool {
    matches!(
        examined.recomputed.verdict,
        Verdict::Differs | Verdict::Impossible
    )
}

/// `2 of 11`.
pub fn claims_counted(result: &PairResult) -> String {
    let wrong = result.claims.iter().filter(|claim| is_wrong(claim)).count();
    match (wrong, result.claims.len()) {
        (_, 0) => String::from("no claims"),
        (0, all) => format!("none of {all}"),
        (wrong, all) => format!("{wrong} of {all}"),
    }
}

/// The claims that don't follow, a line each, with the most plausible explanation.
pub fn claims_that_differ(result: &PairResult) -> String {
    let lines: Vec<String> = result
        .claims
        .iter()
        .filter(|examined| is_wrong(examined))
        .map(|examined| {
            let line = format!(
                "{}: {} stated, {} recomputed",
                claim_in_words(&examined.claim),
                examined.claim.value_text,
                recomputed(examined)
            );
            match examined.recomputed.explanations.first() {
                Some(explanation) => format!("{line} ({})", id_in_words(&explanation.code())),
                None => line,
            }
        })
        .collect();
    lines.join("\n")
}

/// The recomputed number, or why there is none.
pub fn recomputed(examined: &ExaminedClaim) -> String {
    match &examined.recomputed.value {
        Ok(value) => readable(*value),
        Err(why) => why.to_string(),
    }
}

/// What this marker has to talk about: files that disagree, and, where second markers see them, marks further apart than the tolerance.
pub fn to_discuss(book: &MarkerBook<'_>, pair: &Assigned<'_>) -> String {
    let Some(state) = book.pair_state(pair) else {
        return String::new();
    };
    let slot = pair.marking_as.slot();
    let mut lines: Vec<String> = state
        .open_conflicts()
        .filter(|(key, _)| {
            let common = match &key.subject {
                Subject::Common(marker, _) => Some(marker == book.marker),
                _ => None,
            };
            let own = common.unwrap_or(pair.marking_as != MarkingAs::Common);
            key.slot == slot && own
        })
        .map(|(key, held)| {
            let values = held
                .conflicts
                .iter()
                .map(|conflict| conflict.value.as_str());
            let values: Vec<&str> = values.collect();
            format!(
                "{}: {} or {}?",
                key.subject,
                held.value,
                values.join(" or ")
            )
        })
        .collect();
    if book.moderation.second_sees_first && pair.marking_as != MarkingAs::Common {
        lines.extend(apart(book, state));
    }
    lines.join("\n")
}

/// The two marks of each criterion that are further apart than the tolerance.
fn apart(book: &MarkerBook<'_>, state: &PairState) -> Vec<String> {
    let number = |subject: &Subject, slot| {
        let held = state.in_slot(subject, "", slot)?;
        held.value.parse::<f64>().ok()
    };
    let mut lines = Vec::new();
    for criterion in &book.rubric.criteria {
        let subject = Subject::Mark(criterion.id.clone());
        let first = number(&subject, Slot::First);
        let second = number(&subject, Slot::Second);
        let tolerance = criterion.marks * book.moderation.tolerance_percent() / 100.0;
        match (first, second) {
            (Some(first), Some(second)) if (first - second).abs() > tolerance + 1e-9 => {
                lines.push(format!(
                    "{}: first {}, second {}",
                    criterion.title,
                    readable(first),
                    readable(second)
                ));
            }
            _ => {}
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn facts_read_as_words() {
        let of = |name: &str, value: FactValue| fact_in_words(name, &value);
        assert_eq!(
            of("pre.mean", FactValue::Number(2.5)),
            "mean of the pre-test 2.5"
        );
        assert_eq!(
            of("tests.same_conditions", FactValue::Truth(false)),
            "tests under the same conditions: no"
        );
        assert_eq!(
            of("findings[\"testing.one-rater\"]", FactValue::Number(0.0)),
            "not found: judgements of one person alone"
        );
        let long = "x".repeat(60);
        assert!(of("about.theory", FactValue::Text(long.into())).ends_with("x…”"));
    }
}
