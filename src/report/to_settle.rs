//! What reading left to the instructor, with the line of `cohort.toml` that settles it: hand-ins whose pair isn't clear, and columns that were
//! not recognised.

use std::collections::BTreeMap;

use crate::checks::data::unmatched_submission;
use crate::emphasis::Emphasis;
use crate::examination::CohortResult;
use crate::logbook::problem::{ColumnLine, UnnamedColumn};
use crate::wording::counted;
use crate::wording::listed;

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

/// Columns that were not recognised, a line each header, those of most pairs first; then what to add to `cohort.toml`.
pub(super) fn columns(cohort: &CohortResult) -> Vec<String> {
    let mut by_header: BTreeMap<&str, Column> = BTreeMap::new();
    for pair in &cohort.pairs {
        let unrecognised = &pair.outline.unrecognised;
        for unnamed in unrecognised {
            let column = by_header.entry(&unnamed.header).or_default();
            if column.pairs.last() != Some(&&*pair.pair) {
                column.pairs.push(&pair.pair);
            }
            column.lines.extend(&unnamed.line);
            column.without_line |= unnamed.line.is_none();
            column.one_of_several |= unrecognised.iter().any(|other| {
                let of = |unnamed: &'_ UnnamedColumn| {
                    unnamed.line.as_ref().map(|line| line.column.clone())
                };
                other.header != unnamed.header && of(other).is_some() && of(other) == of(unnamed)
            });
        }
    }
    let mut by_header: Vec<(&str, Column)> = by_header.into_iter().collect();
    by_header.sort_by_key(|(_, column)| std::cmp::Reverse(column.pairs.len()));
    let mut lines: Vec<String> = by_header
        .iter()
        .take(LISTED)
        .map(|(header, column)| {
            let of = match column.pairs.as_slice() {
                [only] => (*only).to_owned(),
                [first, ..] => format!("{}, {first} first", counted(column.pairs.len(), "pair")),
                [] => String::new(),
            };
            format!("column “{header}” ({of}): its name is not known")
        })
        .collect();
    and_more(&mut lines, by_header.len());
    let mut by_column: BTreeMap<(&str, bool), Vec<&str>> = BTreeMap::new();
    let mut open = false;
    for (_, column) in by_header.iter().take(LISTED) {
        match column.line() {
            Some(line) => by_column
                .entry((&line.column, column.one_of_several))
                .or_default()
                .push(&line.header),
            None => open = true,
        }
    }
    for ((column, one_of_several), headers) in &by_column {
        let quoted: Vec<String> = headers.iter().map(|header| format!("“{header}”")).collect();
        let (if_so, settles) = match headers.as_slice() {
            [only] => (
                format!("{} is", quoted.concat()),
                ColumnLine::of_headers(column, &[only]),
            ),
            _ if *one_of_several => {
                let each: Vec<String> = headers
                    .iter()
                    .map(|header| ColumnLine::of_headers(column, &[header]))
                    .collect();
                (format!("one of {} is", listed(&quoted)), each.join(" or "))
            }
            all => (
                format!("{} are", listed(&quoted)),
                ColumnLine::of_headers(column, all),
            ),
        };
        lines.push(format!(
            "If {if_so} the {column}, under [columns] in cohort.toml: {settles}"
        ));
    }
    if open {
        lines.push(String::from(
            "What else matters can be named under [columns] or [phases] in cohort.toml; its finding says how",
        ));
    }
    lines
}

/// A header that was not recognised.
#[derive(Default)]
struct Column<'a> {
    /// The pairs that have it.
    pairs: Vec<&'a str>,
    /// What each of them offers to settle it.
    lines: Vec<&'a ColumnLine>,
    /// A pair has it beside what it would be taken for elsewhere, or its cells don't tell.
    without_line: bool,
    /// A pair has another header that looks like the same column.
    one_of_several: bool,
}

impl<'a> Column<'a> {
    /// The line that settles it: none where the pairs' cells look like different columns, or where it would make a pair's column ambiguous.
    fn line(&self) -> Option<&'a ColumnLine> {
        let first = self.lines.first().copied().filter(|_| !self.without_line)?;
        self.lines
            .iter()
            .all(|line| line.column == first.column)
            .then_some(first)
    }
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
