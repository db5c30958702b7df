//! No trial has a score.

use crate::checks::seen::TableName;
use crate::checks::{Check, Explanation, Finding, Findings, Run, Seen, Weight};
use crate::wording::{capitalised, listed};

/// No trial has a score.
pub const CHECK: Check = Check {
    id: "testing.no-outcome-record",
    weight: Weight::Concern,
    title: "no record of outcomes",
    explanation: Explanation {
        looks_at: "Whether any trial of a test or of practice has a score that counts.",
        matters: "Without scores nothing that the report says about change can be checked, and description of technique stands alone.",
        example: "A logbook that describes every session and holds no trials.",
        remedy: "Record the score of every trial as it is done, in the Trials table.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    if seen.has_scores() {
        return;
    }
    if let Some(why) = seen.unread() {
        findings.add(not_read(seen, &why));
        return;
    }
    findings.add(
        CHECK
            .finding(
                "No trial of a test or of practice has a score that counts.",
                "We found no scores in your logbook, so nothing that your report says about change could be checked. Add the score of every trial; if they are kept elsewhere, tell your marker where.",
            )
            .at(vec![seen.where_missing(TableName::Trials)], "no score"),
    );
}

/// The scores may be there: the course can settle it, and until then nothing speaks against the pair.
fn not_read(seen: &Seen, why: &str) -> Finding {
    let columns: Vec<_> = seen.logbook.columns_not_read().collect();
    let mut by_column: Vec<(&str, Vec<String>)> = Vec::new();
    let mut headers: Vec<String> = Vec::new();
    for problem in &columns {
        if let Some(line) = &problem.line {
            let at = by_column
                .iter()
                .position(|(column, _)| **column == *line.column);
            let at = at.unwrap_or_else(|| {
                by_column.push((&line.column, Vec::new()));
                by_column.len() - 1
            });
            if let Some((_, lines)) = by_column.get_mut(at)
                && !lines.contains(&line.to_string())
            {
                lines.push(line.to_string());
            }
        }
        if problem.names_column() {
            let header = format!("“{}”", problem.text);
            if !headers.contains(&header) {
                headers.push(header);
            }
        }
    }
    // Only one of several headers can be the score: each line is offered, not all of them.
    let lines: Vec<String> = by_column
        .iter()
        .map(|(_, lines)| lines.join(" or "))
        .collect();
    let settle = if lines.is_empty() {
        "What stands in these cells is told with each.".to_owned()
    } else {
        format!(
            "If they are what they look like, add to cohort.toml under [columns]: {}.",
            listed(&lines)
        )
    };
    let why_not = if headers.is_empty() {
        String::from("its columns or phases are not named as in the blank logbook")
    } else {
        format!(
            "its headers ({}) are not those of the blank logbook",
            listed(&headers)
        )
    };
    let mut finding = CHECK
        .finding(
            format!(
                "{}, so no score counts, and what depends on scores is not checked and left to the marker. {settle}",
                capitalised(why),
            ),
            format!(
                "We could not read the scores in your logbook, because {why_not}. Nothing is held against you for that; tell your marker what these cells hold.",
            ),
        )
        .at(
            columns
                .iter()
                .flat_map(|problem| problem.places.clone())
                .collect(),
            "columns not recognised",
        );
    finding.weight = Weight::Query;
    finding
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::sample::{Sample, only};
    use crate::logbook::Field;
    use crate::logbook::model::Score;
    use crate::logbook::problem::{ColumnLine, Problem, ProblemKind};
    use crate::place::Place;

    #[test]
    fn no_score_is_found_and_one_is_enough() {
        assert_eq!(
            only(Sample::sound().without_trials().found(&CHECK))
                .places
                .len(),
            1
        );
        let mut sample = Sample::sound();
        for trial in sample.logbook.trials.iter_mut().skip(1) {
            trial.score = Score::Missing;
        }
        assert_eq!(sample.found(&CHECK), Vec::new());
        sample.logbook.trials[0].score = Score::Missing;
        only(sample.found(&CHECK));
    }

    /// Everything that rests on scores waits for the column, and one finding says which and how to settle it.
    #[test]
    fn a_column_of_scores_that_was_not_recognised_is_a_query_and_no_other_check_follows_from_it() {
        let mut sample = Sample::sound().without_trials();
        let place = Place::cell("P07.xlsx".into(), "Trials".into(), 6, 5);
        sample.logbook.problems.push(Problem {
            looks_like: Some(Field::Score),
            line: Some(ColumnLine {
                column: "score".into(),
                header: "Distance from hole (cm)".into(),
            }),
            ..Problem::at(
                ProblemKind::UnrecognisedColumn,
                place.clone(),
                "Distance from hole (cm)",
                "The Trials table has no such column.",
                "",
            )
        });
        sample.claim("mean", "3.0", 3.0);
        let finding = only(sample.found(&CHECK));
        assert_eq!(
            (finding.weight, &finding.places),
            (Weight::Query, &vec![place])
        );
        assert!(
            finding
                .message
                .contains("score = [\"Distance from hole (cm)\"]"),
            "{}",
            finding.message
        );
        let checks: Vec<&str> = sample
            .run_all(&crate::checks::policy::Policy::default())
            .found
            .iter()
            .filter(|finding| {
                finding.weight > Weight::Query || finding.check.starts_with("numbers.")
            })
            .map(|finding| finding.check)
            .collect();
        assert_eq!(checks, Vec::<&str>::new());
    }
}
