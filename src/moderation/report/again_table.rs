//! The runs that are to be marked again, pair by pair: what was, what is now, and which pairs are waiting.

use super::{Shown, decision, named, row};
use crate::moderation::again::RunAgain;
use crate::moderation::gather::Scale;
use crate::report::workbook::moderation_report::{AGAIN, FrontRow, ReportTable, again_columns};
use crate::report::workbook::sheet::CellContent;
use crate::wording::counted;

fn title(shown: &Shown<'_>, run: &RunAgain) -> String {
    let criterion = named(shown, &Scale::Criterion(run.criterion.clone()));
    format!("{criterion}, marks of {}", run.marker)
}

/// The lines of the first page; none where nothing is to be marked again.
pub fn again_rows(shown: &Shown<'_>) -> Vec<FrontRow> {
    let runs = shown.compared.again.iter();
    runs.map(|run| {
        let waiting: Vec<&str> = run.waiting().map(|pair| pair.pair.as_str()).collect();
        let says = if waiting.is_empty() {
            String::from("nobody waits")
        } else {
            format!("waiting: {}", listed(&waiting))
        };
        row(
            format!("To mark again: {}", title(shown, run)),
            format!("{} of {}", waiting.len(), counted(run.pairs.len(), "pair")),
            says,
        )
    })
    .collect()
}

/// As many pairs the first page names.
const NAMED: usize = 12;

fn listed(pairs: &[&str]) -> String {
    let first: Vec<&str> = pairs.iter().copied().take(NAMED).collect();
    let more = pairs.len().saturating_sub(NAMED);
    if more == 0 {
        first.join(", ")
    } else {
        format!("{} and {more} more, on the sheet {AGAIN}", first.join(", "))
    }
}

/// The sheet; none where nothing is to be marked again.
pub fn again_table(shown: &Shown<'_>) -> Option<ReportTable> {
    let mut rows: Vec<Vec<CellContent>> = Vec::new();
    for run in &shown.compared.again {
        for pair in &run.pairs {
            let state = match &pair.by {
                None => String::from("waiting"),
                Some(who) if pair.stands_as_it_is => format!("stands, by {who}"),
                Some(who) => format!("marked again by {who}"),
            };
            rows.push(vec![
                pair.pair.clone().into(),
                title(shown, run).into(),
                pair.before.clone().into(),
                pair.now.clone().into(),
                state.into(),
                decision(shown.state, &pair.stands).into(),
                pair.stands.clone().into(),
            ]);
        }
    }
    (!rows.is_empty()).then(|| ReportTable::plain(AGAIN, "Marks to be looked at again, by accepted proposals", 
            "A pair waits until its mark is entered again, by its marker or in out/moderation.xlsx, or accepted here as it stands. Until then the first mark stands.", again_columns(), rows))
}
