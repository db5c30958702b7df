//! What reading left to the instructor, with the line of `cohort.toml` that settles it: hand-ins whose pair isn't clear, and columns that were
//! not recognised.

use std::collections::BTreeMap;

use crate::checks::data::unmatched_submission;
use crate::emphasis::Emphasis;
use crate::examination::CohortResult;
use crate::wording::counted;

/// Lines that list more than so many things say how many more there are.
const LISTED: usize = 5;

/// Hand-ins whose pair isn't clear, a line each.
pub(super) fn of_no_pair(cohort: &CohortResult) -> Vec<String> {
    let without: Vec<&str> = cohort
        .pairs
        .iter()
        .filter(|pair| pair.hand_in.is_none())
        .map(|pair| &*pair.pair)
        .collect();
    let open: Vec<(&str, &str)> = cohort
        .without_pair
        .iter()
        .filter(|finding| unmatched_submission::is_to_assign(finding))
        .filter_map(|finding| Some((&*finding.places.first()?.file, finding.stands.as_str())))
        .collect();
    let mut lines: Vec<String> = open
        .iter()
        .take(LISTED)
        .map(|(file, could_be)| {
            let (pair, why) = match (could_be.is_empty(), without.as_slice()) {
                (false, _) => ("…", format!("it could be that of {could_be}")),
                (true, [only]) if open.len() == 1 => {
                    (*only, String::from("the only pair without a hand-in"))
                }
                (true, _) => ("…", String::from("it names no pair of the roster")),
            };
            format!(
                "{}: {why}. Under [assign] in cohort.toml: {} = \"{pair}\"",
                Emphasis::File.on(file),
                quoted(file)
            )
        })
        .collect();
    and_more(&mut lines, open.len());
    lines
}

/// Columns that were not recognised, a line each header, those of most pairs first.
pub(super) fn columns(cohort: &CohortResult) -> Vec<String> {
    let mut by_header: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for pair in &cohort.pairs {
        for header in &pair.outline.unrecognised {
            let pairs = by_header.entry(header).or_default();
            if pairs.last() != Some(&&*pair.pair) {
                pairs.push(&pair.pair);
            }
        }
    }
    let mut by_header: Vec<(&str, Vec<&str>)> = by_header.into_iter().collect();
    by_header.sort_by_key(|(_, pairs)| std::cmp::Reverse(pairs.len()));
    let mut lines: Vec<String> = by_header
        .iter()
        .take(LISTED)
        .map(|(header, pairs)| {
            let of = match pairs.as_slice() {
                [only] => (*only).to_owned(),
                [first, ..] => format!("{}, {first} first", counted(pairs.len(), "pair")),
                [] => String::new(),
            };
            format!("column “{header}” ({of}): its name is not known")
        })
        .collect();
    and_more(&mut lines, by_header.len());
    if let Some((header, _)) = by_header.first() {
        lines.push(format!(
            "If one matters, say what it is under [columns] in cohort.toml, as in score = [{}]",
            quoted(header)
        ));
    }
    lines
}

fn and_more(lines: &mut Vec<String>, all: usize) {
    if all > LISTED {
        lines.push(format!("and {} more, in the workbook", all - LISTED));
    }
}

/// A text as TOML writes it.
fn quoted(text: &str) -> String {
    toml::Value::from(text).to_string()
}
