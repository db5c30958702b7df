//! What a pair opens to: its findings with their cells, its claims beside the recomputed numbers, the suggestion for each criterion, and
//! what could not be checked.

use maud::{Markup, html};

use super::CohortPage;
use super::marks::differs;
use crate::checks::{self, Finding};
use crate::claims::{Verdict, in_table};
use crate::examination::{ExaminedClaim, PairResult};
use crate::facts::coverage::not_computed;
use crate::facts::together;
use crate::ledger::held_for;
use crate::logbook::model::ClaimMeasure;
use crate::number::readable;
use crate::place::evidence_in_short;
use crate::report::page::lines;
use crate::report::wording::{claim_in_words, evidence_summary, id_in_words};
use crate::rubric::CriterionSuggestion;
use crate::wording::{capitalised, counted};

/// Explanations of a claim that are listed; claims.csv has all.
const EXPLANATIONS: usize = 3;

/// All of it.
pub(super) fn evidence(page: &CohortPage<'_>, result: &PairResult) -> Markup {
    html! {
        @if let Some(hand_in) = &result.hand_in {
            p.note { "Handed in: " (hand_in.name) ". " (coverage(result)) }
        } @else {
            p { "Nothing was read of this pair." }
        }
        (findings(page, result))
        (claims(result))
        (suggestions(page, result))
        (judgements(result))
        (not_checked(result))
    }
}

fn findings(page: &CohortPage<'_>, result: &PairResult) -> Markup {
    html! {
        h3 { "Findings" }
        @if result.findings.is_empty() {
            p { "None." }
        } @else {
            ul { @for one in &result.findings { (finding(page, Some(result), &result.pair, one)) } }
        }
    }
}

/// A finding as an item of a list.
pub(super) fn finding(
    page: &CohortPage<'_>,
    result: Option<&PairResult>,
    pair: &str,
    finding: &Finding,
) -> Markup {
    let decision = held_for(page.state, result, pair, finding);
    html! {
        li {
            b { (finding.weight.name()) } ", " (title(finding.check)) ": " (finding.message)
            @if !finding.places.is_empty() { " " span.cells { (evidence_in_short(&finding.places)) } }
            @if let Some(decision) = decision { " " b { "Decided: " (decision.value) "." } }
        }
    }
}

/// What a check finds, in a few words.
pub(super) fn title(check: &str) -> &str {
    checks::find(check).map_or(check, |check| check.title)
}

fn claims(result: &PairResult) -> Markup {
    let (agree, others): (Vec<&ExaminedClaim>, Vec<&ExaminedClaim>) = result
        .claims
        .iter()
        .partition(|claim| claim.recomputed.verdict == Verdict::Agrees);
    html! {
        h3 { "Claims" }
        @if result.claims.is_empty() {
            p { "No number is stated." }
        }
        @if !others.is_empty() {
            div.wide {
                table {
                    thead { tr {
                        th scope="col" { "Claim" }
                        th.number scope="col" { "Claimed" }
                        th.number scope="col" { "Recomputed" }
                        th scope="col" { "Verdict" }
                        th scope="col" { "What explains the difference" }
                    } }
                    tbody { @for claim in others { (claim_row(result, claim)) } }
                }
            }
        }
        @if !agree.is_empty() {
            p {
                b { (counted(agree.len(), "claim")) @if agree.len() == 1 { " agrees: " } @else { " agree: " } }
                @for (index, claim) in agree.iter().enumerate() {
                    @if index > 0 { "; " }
                    (what(result, claim)) " " (claim.claim.value_text)
                    @if let Some(value) = recomputed(claim) { " (" (value) ")" }
                }
                "."
            }
        }
    }
}

fn claim_row(result: &PairResult, examined: &ExaminedClaim) -> Markup {
    html! {
        tr {
            td { (what(result, examined)) br; span.cells { (examined.claim.place) } }
            td.number { (examined.claim.value_text) }
            td.number { (recomputed(examined).as_deref().unwrap_or("–")) }
            td { (examined.recomputed.verdict.name()) }
            td { (explained(examined)) }
        }
    }
}

/// The recomputed number as it stands beside the claimed one.
fn recomputed(examined: &ExaminedClaim) -> Option<String> {
    let value = examined.recomputed.value.as_ref().ok()?;
    Some(in_table(examined.claim.value.as_ref(), *value))
}

/// What a claim states, with its measure where that is not the primary one.
fn what(result: &PairResult, examined: &ExaminedClaim) -> String {
    let words = claim_in_words(&examined.claim);
    match &examined.claim.measure {
        ClaimMeasure::Known(0) => words,
        ClaimMeasure::Known(index) => match result.measures.get(*index) {
            Some(measure) => format!("{words}, {}", measure.name),
            None => words,
        },
        ClaimMeasure::Technique => format!("{words}, technique"),
        ClaimMeasure::Unknown(name) => format!("{words}, {name}"),
    }
}

fn explained(examined: &ExaminedClaim) -> Markup {
    let recomputed = &examined.recomputed;
    let explanations = &recomputed.explanations;
    html! {
        @if let Err(why) = &recomputed.value { (why) }
        @else if !explanations.is_empty() {
            @for (index, explanation) in explanations.iter().take(EXPLANATIONS).enumerate() {
                @if index > 0 { br; "or " }
                (id_in_words(&explanation.code())) ": it comes out when " (explanation.when)
                @if index == 0 { @if let Some(confidence) = recomputed.confidence { " (" (confidence.name()) ")" } }
            }
            @if explanations.len() > EXPLANATIONS { br; "and " (explanations.len() - EXPLANATIONS) " more" }
        }
        @else if recomputed.consequence_of.is_some() { "It follows from another claim that differs." }
        @else if differs(examined) { "No slip that was tried gives it." }
    }
}

fn suggestions(page: &CohortPage<'_>, result: &PairResult) -> Markup {
    let criteria = || page.rubric.criteria.iter().zip(&result.suggestions);
    html! {
        @if !result.suggestions.is_empty() {
            h3 { "Suggestion for each criterion" }
            dl {
                @for (criterion, suggestion) in criteria() {
                    dt { (criterion.title) ": " (in_words(suggestion)) }
                    dd {
                        @if suggestion.evidence.is_empty() { "The data settle nothing of it." }
                        @else { (lines(&evidence_summary(suggestion))) }
                    }
                }
            }
        }
    }
}

fn in_words(suggestion: &CriterionSuggestion) -> String {
    let judged = readable(suggestion.judged_out_of);
    if suggestion.out_of > 0.0 {
        format!(
            "{} of the {} that the data settle; {judged} for a person to judge",
            readable(suggestion.suggested),
            readable(suggestion.out_of)
        )
    } else {
        format!("{judged} for a person to judge")
    }
}

fn judgements(result: &PairResult) -> Markup {
    html! {
        @if let Some(judgements) = &result.judgements {
            h3 { "Stage and theory" }
            ul {
                li { b { "Start" } ": " (judgements.start.sentence) }
                li { b { "End" } ": " (judgements.end.sentence) }
                li { b { "Theory" } ": " (judgements.theory.sentence) }
            }
        }
    }
}

/// How much was recomputed, from how much, and what entered nothing.
fn coverage(result: &PairResult) -> String {
    let coverage = &result.coverage;
    let mut text = format!(
        "{} recomputed from {}",
        counted(coverage.numbers, "number"),
        counted(coverage.cells, "cell")
    );
    if !coverage.not_counted.is_empty() {
        let reasons: Vec<String> = coverage
            .not_counted
            .iter()
            .map(|(reason, count)| format!("{count} {reason}"))
            .collect();
        text.push_str("; recorded cells that enter no statistic: ");
        text.push_str(&reasons.join(", "));
    }
    text.push('.');
    text
}

fn not_checked(result: &PairResult) -> Markup {
    let checks = by_reason(
        result
            .not_checked
            .iter()
            .map(|not| (title(not.check), not.why.as_str())),
    );
    let numbers = by_reason(not_computed(&result.facts));
    html! {
        h3 { "What could not be checked" }
        @if checks.is_empty() { p { "Nothing: every check had what it looks at." } }
        @else { ul { @for (why, what) in checks { li { (capitalised(why)) ". Not looked for: " (what.join("; ")) "." } } } }
        @if !numbers.is_empty() {
            p { "Numbers that could not be computed:" }
            ul { @for (why, what) in numbers { li { (capitalised(why)) ": " (together(&what)) "." } } }
        }
    }
}

/// What shares a reason stands together, in the order in which the reasons come.
fn by_reason<'a>(all: impl Iterator<Item = (&'a str, &'a str)>) -> Vec<(&'a str, Vec<&'a str>)> {
    let mut groups: Vec<(&str, Vec<&str>)> = Vec::new();
    for (what, why) in all {
        match groups.iter_mut().find(|(known, _)| *known == why) {
            Some((_, group)) => group.push(what),
            None => groups.push((why, vec![what])),
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_shares_a_reason_stands_together() {
        let all = [("a", "no step"), ("b", "no scale"), ("c", "no step")];
        assert_eq!(
            by_reason(all.into_iter()),
            [("no step", vec!["a", "c"]), ("no scale", vec!["b"])]
        );
    }
}
