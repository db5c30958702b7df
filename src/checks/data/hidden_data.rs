//! Trials in hidden rows, columns or sheets.

use super::problems::report;
use crate::checks::{Check, Explanation, Findings, Run, Seen, Weight};
use crate::logbook::problem::ProblemKind;
use crate::place::Place;
use crate::wording::counted;

/// Trials in hidden rows, columns or sheets.
pub const CHECK: Check = Check {
    id: "data.hidden-data",
    weight: Weight::Query,
    title: "trials that are hidden from view",
    explanation: Explanation {
        looks_at: "Rows, columns and sheets that are hidden in the workbook and hold trials. Hidden rows count like any other; a hidden sheet is read only where no visible one has that table.",
        matters: "A reader of the logbook can't see trials that the numbers include, or that were left out of them.",
        example: "Two rows of the post-test hidden, which the average beside them still counts.",
        remedy: "Show everything that was recorded, and say in the notes what was left out and by which rule.",
        source: "common practice",
    },
    thresholds: &[],
    run: Run::Pair(run),
};

fn run(seen: &Seen, findings: &mut Findings) {
    report(seen, findings, &CHECK, ProblemKind::HiddenData, |_| {
        comment()
    });
    let reported: Vec<&Place> = seen
        .logbook
        .problems
        .iter()
        .filter(|problem| problem.kind == ProblemKind::HiddenData)
        .flat_map(|problem| &problem.places)
        .collect();
    // Reading reports what it hides from view as rows or sheets; trials marked hidden beyond those are gathered here.
    let rest: Vec<Place> = seen
        .logbook
        .trials
        .iter()
        .filter(|trial| trial.hidden && !covered(&reported, &trial.place))
        .map(|trial| trial.place.clone())
        .collect();
    if !rest.is_empty() {
        let stands = format!("{} hidden", rest.len());
        let message = format!(
            "{} in hidden rows, columns or sheets; they count like the others.",
            if rest.len() == 1 {
                "1 trial stands".to_owned()
            } else {
                format!("{} stand", counted(rest.len(), "trial"))
            }
        );
        findings.add(CHECK.finding(message, comment()).at(rest, stands));
    }
}

fn comment() -> String {
    "Part of your record is hidden in the workbook. Show every row that was recorded; if some trials should not count, say which and by which rule, decided before you saw the scores.".to_owned()
}

/// Whether a place is among those reported, or on a sheet reported as a whole, or in a row of which a cell was reported.
fn covered(reported: &[&Place], place: &Place) -> bool {
    use crate::place::Spot;
    reported.iter().any(|known| {
        known.file == place.file
            && match (&known.spot, &place.spot) {
                (Spot::File, _) => true,
                (Spot::Sheet(sheet), _) => place.sheet() == Some(sheet),
                (
                    Spot::Cell { sheet, row, column },
                    Spot::Cell {
                        sheet: other_sheet,
                        row: other_row,
                        column: other_column,
                    },
                ) => sheet == other_sheet && (row == other_row || column == other_column),
                (known, spot) => known == spot,
            }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::checks::data::problems::tests::reports;
    use crate::checks::sample::{Sample, only};
    use crate::phase::Phase;

    #[test]
    fn hidden_rows_are_reported_with_their_cells() {
        reports(&CHECK, ProblemKind::HiddenData);
    }

    #[test]
    fn hidden_trials_are_gathered_in_one_finding() {
        let mut sample = Sample::sound();
        for trial in sample.trials(Phase::POST).take(3) {
            trial.hidden = true;
        }
        let finding = only(sample.found(&CHECK));
        assert_eq!(finding.places.len(), 3);
        assert!(finding.message.starts_with("3 trials stand"));
    }
}
