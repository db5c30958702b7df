//! One pair of the cohort: its curve and its counts at a glance, its evidence when it is opened.

use std::collections::BTreeSet;

use maud::{Markup, PreEscaped, html};

use super::CohortPage;
use super::curve;
use super::evidence::evidence;
use super::marks::{Marks, differs};
use crate::checks::Weight;
use crate::examination::PairResult;
use crate::ledger::first_marker;
use crate::logbook::model::Measure;
use crate::number::readable;
use crate::report::page::chart::Chart;
use crate::rubric::Settled;
use crate::wording::counted;

/// The word by which claims that differ are filtered.
pub(super) const CLAIM: &str = "claim";
/// The word by which pairs without findings are filtered.
pub(super) const NOTHING: &str = "nothing";

/// The words by which a pair is found under Finding: its weights, its checks, and claims that differ.
pub(super) fn finding_words(result: &PairResult) -> BTreeSet<&'static str> {
    let mut words: BTreeSet<&'static str> = result
        .findings
        .iter()
        .flat_map(|finding| [finding.check, finding.weight.name()])
        .collect();
    if result.claims.iter().any(differs) {
        words.insert(CLAIM);
    }
    if result.findings.is_empty() {
        words.insert(NOTHING);
    }
    words
}

/// The ids of the criteria of which some evidence is only partly there, or not.
pub(super) fn criteria_with_gaps(result: &PairResult) -> impl Iterator<Item = &str> {
    result
        .suggestions
        .iter()
        .filter(|suggestion| {
            suggestion
                .evidence
                .iter()
                .any(|outcome| matches!(outcome.settled, Settled::Partly | Settled::Unmet))
        })
        .map(|suggestion| suggestion.criterion.as_str())
}

/// The pair. `number` tells its heading from those of other pairs, whatever their ids are.
pub(super) fn card(page: &CohortPage<'_>, result: &PairResult, number: usize) -> Markup {
    let marker = first_marker(page.state, page.roster, &result.pair);
    let found: Vec<&str> = finding_words(result).into_iter().collect();
    let gaps: Vec<&str> = criteria_with_gaps(result).collect();
    let heading = format!("h{number}");
    html! {
        article aria-labelledby=(heading) data-pair=(result.pair.to_lowercase()) data-check=(found.join(" ")) data-criterion=(gaps.join(" ")) data-marker=[marker] {
            h2 id=(heading) {
                span { "Pair " (result.pair) }
                @if let Some(marker) = marker { span.marker { "marked by " (marker) } }
            }
            @if let Some(skill) = &result.skill { p.over { (skill) } }
            p.counts { (counts(result)) }
            (figure(result, 0))
            details {
                summary { "Evidence" span.unseen { " of pair " (result.pair) } }
                div.evidence {
                    @for index in 1..result.measures.len() { (figure(result, index)) }
                    (evidence(page, result))
                }
            }
        }
    }
}

/// Findings and claims in words, with stress on what is there.
fn counts(result: &PairResult) -> Markup {
    let stress = !result.findings.is_empty() || result.claims.iter().any(differs);
    let words = counts_in_words(result);
    html! { @if stress { strong { (words) } } @else { (words) } }
}

fn counts_in_words(result: &PairResult) -> String {
    let weights: Vec<String> = [Weight::Error, Weight::Concern, Weight::Query]
        .into_iter()
        .map(|weight| (result.count(weight), weight.name()))
        .filter(|(count, _)| *count > 0)
        .map(|(count, name)| counted(count, name))
        .collect();
    let findings = if weights.is_empty() {
        String::from("No findings")
    } else {
        weights.join(", ")
    };
    let wrong = result.claims.iter().filter(|claim| differs(claim)).count();
    let claims = match (wrong, result.claims.len()) {
        (_, 0) => String::from("no claims"),
        (0, 1) => String::from("its claim does not differ"),
        (0, all) => format!("none of {all} claims differs"),
        (1, all) => format!("1 of {} differs", counted(all, "claim")),
        (wrong, all) => format!("{wrong} of {all} claims differ"),
    };
    format!("{findings}; {claims}.")
}

fn figure(result: &PairResult, index: usize) -> Markup {
    let Some(measure) = result.measures.get(index) else {
        return html! {
            @if result.hand_in.is_none() { p.empty { "Nothing was read." } }
        };
    };
    html! {
        figure {
            @match Chart::of(measure, &result.blocks) {
                Some(chart) => {
                    (PreEscaped(curve::svg(&chart, &Marks::of(result, index))))
                    figcaption { (chart.measure) ", " (scale(measure)) ", " (chart.better) }
                }
                None => { figcaption.empty { (measure.name) ": too little is scored to draw a curve." } }
            }
        }
    }
}

fn scale(measure: &Measure) -> String {
    match (measure.lowest, measure.highest) {
        (Some(low), Some(high)) => format!("{} to {}", readable(low), readable(high)),
        (Some(low), None) => format!("from {}, no upper end", readable(low)),
        (None, Some(high)) => format!("to {}, no lower end", readable(high)),
        (None, None) => String::from("no fixed ends"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::Finding;

    #[test]
    fn counts_are_in_words_and_leave_out_what_is_not_there() {
        let mut result = PairResult::default();
        assert_eq!(counts_in_words(&result), "No findings; no claims.");
        let query = Finding::new("testing.one-rater", Weight::Query, "m", "c");
        result.findings = vec![query.clone(), query];
        assert_eq!(counts_in_words(&result), "2 queries; no claims.");
    }

    #[test]
    fn a_pair_is_found_by_its_checks_and_their_weights() {
        let mut result = PairResult::default();
        assert_eq!(
            finding_words(&result).into_iter().collect::<Vec<_>>(),
            [NOTHING]
        );
        result.findings = vec![Finding::new("testing.one-rater", Weight::Query, "m", "c")];
        let words = finding_words(&result);
        assert!(words.contains("query") && words.contains("testing.one-rater"));
        assert_eq!(words.len(), 2);
    }
}
