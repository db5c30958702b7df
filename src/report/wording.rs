//! Small wordings that several reports share.

use crate::checks::Weight;
use crate::claims::{Verdict, with_article};
use crate::emphasis::Emphasis;
use crate::logbook::model::Claim;
use crate::number::readable;
use crate::rubric::{CriterionSuggestion, EvidenceOutcome, Settled};
use crate::wording::counted;

/// How a weight stands out in the terminal.
pub fn emphasis_of(weight: Weight) -> Emphasis {
    match weight {
        Weight::Error => Emphasis::Error,
        Weight::Concern => Emphasis::Concern,
        Weight::Query => Emphasis::Query,
    }
}

/// `3 errors`, standing out as its weight does, where there are any.
pub fn counted_of_weight(count: usize, weight: Weight) -> String {
    marked_unless_none(count, &counted(count, weight.name()), emphasis_of(weight))
}

/// How a verdict stands out in the terminal; not at all where nothing could be recomputed.
pub fn verdict_marked(verdict: Verdict) -> String {
    let words = verdict.to_string();
    match emphasis_of_verdict(verdict) {
        Some(emphasis) => emphasis.on(&words),
        None => words,
    }
}

fn emphasis_of_verdict(verdict: Verdict) -> Option<Emphasis> {
    match verdict {
        Verdict::Agrees => Some(Emphasis::Sound),
        Verdict::Differs => Some(Emphasis::Concern),
        Verdict::Impossible => Some(Emphasis::Error),
        Verdict::NotRecomputable => None,
    }
}

/// `3 differ`, standing out as its verdict does, where there are any.
pub fn counted_of_verdict(count: usize, words: &str, verdict: Verdict) -> String {
    let text = format!("{count} {words}");
    match emphasis_of_verdict(verdict) {
        Some(emphasis) => marked_unless_none(count, &text, emphasis),
        None => text,
    }
}

fn marked_unless_none(count: usize, text: &str, emphasis: Emphasis) -> String {
    if count == 0 {
        text.to_owned()
    } else {
        emphasis.on(text)
    }
}

/// What an evidence point's id says to a person: `retention-test` is `retention test`.
pub fn id_in_words(id: &str) -> String {
    id.replace(['-', '_'], " ")
}

/// What a claim states: `mean of the post-test`, `percent change from the pre-test to the post-test`.
pub fn claim_in_words(claim: &Claim) -> String {
    let name = claim.statistic.map_or_else(
        || claim.statistic_text.to_string(),
        |statistic| statistic.name().to_owned(),
    );
    match (claim.versus, claim.phase) {
        (Some(from), Some(to)) => {
            format!("{name} from {} to {}", with_article(from), with_article(to))
        }
        (None, Some(phase)) => format!("{name} of {}", with_article(phase)),
        _ => name,
    }
}

/// The evidence of a criterion in three short lists: met, not met, left to the marker.
pub fn evidence_summary(suggestion: &CriterionSuggestion) -> String {
    let named = |wanted: fn(&Settled) -> bool| -> Vec<String> {
        suggestion
            .evidence
            .iter()
            .filter(|outcome| wanted(&outcome.settled))
            .map(in_words)
            .collect()
    };
    let lists = [
        ("Met", named(|settled| matches!(settled, Settled::Met))),
        (
            "Partly",
            named(|settled| matches!(settled, Settled::Partly)),
        ),
        (
            "Not met",
            named(|settled| matches!(settled, Settled::Unmet)),
        ),
        (
            "Yours to judge",
            named(|settled| matches!(settled, Settled::Undecided { .. } | Settled::Untestable)),
        ),
    ];
    let lines: Vec<String> = lists
        .into_iter()
        .filter(|(_, items)| !items.is_empty())
        .map(|(title, items)| format!("{title}: {}.", items.join(", ")))
        .collect();
    lines.join("\n")
}

fn in_words(outcome: &EvidenceOutcome) -> String {
    format!(
        "{} ({})",
        id_in_words(&outcome.id),
        readable(outcome.points)
    )
}
