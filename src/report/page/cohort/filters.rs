//! The filters over the pairs: by finding, criterion, marker and pair. Without a script they are not there, and every pair is shown.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::CohortPage;
use super::card::{CLAIM, NOTHING, criteria_with_gaps, finding_words};
use crate::checks;
use crate::examination::PairResult;
use crate::ledger::first_marker;
use crate::wording::counted;

/// The script: filters, nothing else.
pub(super) const SCRIPT: &str = include_str!("filters.js");

/// The marker of pairs that have none.
const NOBODY: &str = "(nobody yet)";

/// How many pairs there are of each word that can be filtered by.
#[derive(Debug, Default)]
pub(super) struct Counts {
    findings: BTreeMap<&'static str, usize>,
    criteria: BTreeMap<String, usize>,
    markers: BTreeMap<String, usize>,
}

impl Counts {
    /// Counts a pair.
    pub fn add(&mut self, page: &CohortPage<'_>, result: &PairResult) {
        for word in finding_words(result) {
            *self.findings.entry(word).or_default() += 1;
        }
        for criterion in criteria_with_gaps(result) {
            *self.criteria.entry(criterion.to_owned()).or_default() += 1;
        }
        let marker = first_marker(page.state, page.roster, &result.pair).unwrap_or(NOBODY);
        *self.markers.entry(marker.to_owned()).or_default() += 1;
    }
}

/// The form.
pub(super) fn form(page: &CohortPage<'_>, counts: &Counts) -> Markup {
    let families = families(&counts.findings);
    let of_kind = [
        ("error", "Any error"),
        ("concern", "Any concern"),
        ("query", "Any query"),
        (CLAIM, "A claim that differs"),
        (NOTHING, "No findings"),
    ];
    // Where nobody has been given a pair there is nothing to choose.
    let with_markers = counts.markers.keys().any(|marker| marker != NOBODY);
    html! {
        form #filters hidden data-nobody=(NOBODY) aria-label="Which pairs are shown" {
            label {
                "Finding"
                select name="check" {
                    option value="" { "any or none" }
                    @for (word, title) in of_kind { (option(word, title, counts.findings.get(word))) }
                    @for (family, checks) in families {
                        optgroup label=(family) {
                            @for (id, title) in checks { (option(id, title, counts.findings.get(id))) }
                        }
                    }
                }
            }
            label {
                "Evidence not met under"
                select name="criterion" {
                    option value="" { "any criterion or none" }
                    @for criterion in &page.rubric.criteria {
                        (option(&criterion.id, &criterion.title, counts.criteria.get(criterion.id.as_str())))
                    }
                }
            }
            @if with_markers {
                label {
                    "First marker"
                    select name="marker" {
                        option value="" { "anybody" }
                        @for (marker, count) in &counts.markers { (option(marker, marker, Some(count))) }
                    }
                }
            }
            label { "Pair" input name="pair" type="search" autocomplete="off" spellcheck="false" placeholder="P07, P12"; }
            div.buttons {
                button type="reset" { "Show all pairs" }
                button #open type="button" { "Open all shown" }
                button #close type="button" { "Close all shown" }
            }
        }
    }
}

/// A choice with how many pairs it shows; none where it would show none.
fn option(value: &str, title: &str, count: Option<&usize>) -> Markup {
    html! {
        @if let Some(count) = count {
            option value=(value) { (title) " (" (counted(*count, "pair")) ")" }
        }
    }
}

type Family = (&'static str, Vec<(&'static str, &'static str)>);

/// The checks that found something, by family, in the order of the legend.
fn families(found: &BTreeMap<&str, usize>) -> Vec<Family> {
    let mut families: Vec<Family> = Vec::new();
    for check in checks::ALL {
        if !found.contains_key(check.id) {
            continue;
        }
        match families.last_mut() {
            Some((family, checks)) if *family == check.family() => {
                checks.push((check.id, check.title));
            }
            _ => families.push((check.family(), vec![(check.id, check.title)])),
        }
    }
    families
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn choices_stand_by_family_in_the_order_of_the_legend() {
        let found = BTreeMap::from([
            ("testing.one-rater", 1),
            ("data.off-step", 2),
            ("testing.no-pre-test", 3),
            ("error", 3),
        ]);
        let ids: Vec<(&str, Vec<&str>)> = families(&found)
            .into_iter()
            .map(|(family, checks)| (family, checks.into_iter().map(|(id, _)| id).collect()))
            .collect();
        assert_eq!(
            ids,
            [
                ("data", vec!["data.off-step"]),
                ("testing", vec!["testing.no-pre-test", "testing.one-rater"])
            ]
        );
    }
}
