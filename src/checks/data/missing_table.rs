//! A table that every logbook, or this course's rubric, needs is not there.

use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::place::Place;

/// A table that every logbook, or this course's rubric, needs is not there.
pub const CHECK: Check = Check {
    id: "data.missing-table",
    weight: Weight::Concern,
    title: "a table that is not there",
    explanation: Explanation {
        looks_at: "Whether About and Trials, and the other tables that the rubric needs, were found in the hand-in, under any name and on any sheet.",
        matters: "What the table would show can't be checked, and evidence that rests on it is left to the marker.",
        example: "A workbook with a sheet of averages and no trials.",
        remedy: "Add the table; the blank logbook has its columns.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    // Trials that could not be read are told by testing.no-outcome-record: they are there.
    let unread = seen.unread().is_some();
    for table in seen.needed_tables {
        if table.place(seen.logbook).is_none() && !(unread && *table == TableName::Trials) {
            let name = table.name();
            findings.add(
                CHECK
                    .finding(
                        format!("No {name} table was found in {}.", seen.logbook.name),
                        format!("We found no {name} table in your logbook, so what it would show could not be checked. Add it with the columns of the blank logbook; if it is there under another name, tell your marker where."),
                    )
                    .at(vec![Place::file(seen.logbook.name.clone())], format!("no {name}")),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only};

    #[test]
    fn a_missing_about_is_found() {
        let mut sample = Sample::sound();
        sample.logbook.tables.about = None;
        assert!(only(sample.found(&CHECK)).message.contains("About"));
    }

    #[test]
    fn another_table_is_missed_only_where_the_rubric_needs_it() {
        let mut sample = Sample::sound();
        sample.logbook.tables.technique = None;
        assert_eq!(sample.found(&CHECK), Vec::new());
        let sample = sample.needing(TableName::Technique);
        assert!(only(sample.found(&CHECK)).message.contains("Technique"));
    }
}
