//! Small wordings that several reports share.

use crate::claims::with_article;
use crate::logbook::model::Claim;
use crate::number::readable;
use crate::rubric::{CriterionSuggestion, EvidenceOutcome, Settled};

/// `1 error`, `3 errors`, `2 queries`.
pub fn counted(count: usize, noun: &str) -> String {
    if count == 1 {
        return format!("1 {noun}");
    }
    match noun.strip_suffix('y') {
        Some(stem) if !stem.ends_with(['a', 'e', 'o']) => format!("{count} {stem}ies"),
        _ => format!("{count} {noun}s"),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_agree_with_their_nouns() {
        assert_eq!(counted(1, "query"), "1 query");
        assert_eq!(counted(2, "query"), "2 queries");
        assert_eq!(counted(0, "error"), "0 errors");
    }
}
