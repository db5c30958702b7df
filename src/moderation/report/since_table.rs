//! What changed since the markers were last compared.

use super::{Shown, named, row};
use crate::ledger::{Entry, Subject};
use crate::moderation::gather::Scale;
use crate::moderation::since::{Before, Figure};
use crate::number::readable;
use crate::report::history::subject_in_words;
use crate::report::workbook::moderation_report::{FrontRow, ReportTable};
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;
use crate::wording::counted;

fn scale_in_words(shown: &Shown<'_>, scale: &str) -> String {
    let scale = match scale {
        "judged" => Scale::Judged,
        _ => Scale::Total,
    };
    named(shown, &scale)
}

fn figure_in_words(shown: &Shown<'_>, figure: &Figure) -> String {
    let of = |scale: &str| scale_in_words(shown, scale);
    match figure {
        Figure::Marked => String::from("Pairs with every mark"),
        Figure::Twice(scale) => format!("{}: pairs marked twice", of(scale)),
        Figure::Difference(scale) => {
            format!("{}: mean difference, first less second", of(scale))
        }
        Figure::Within(scale) => format!("{}: pairs within tolerance", of(scale)),
        Figure::Severity(scale, marker) => format!("{}: severity of {marker}", of(scale)),
    }
}

fn day(before: &Before) -> &str {
    before.time.get(..10).unwrap_or("an earlier day")
}

/// Which lines change what was there: an entry made for the first time is counted, not listed.
fn is_change(entry: &Entry) -> bool {
    let decides = matches!(
        Subject::from(entry.what.as_str()),
        Subject::Proposal(_) | Subject::Shift(..) | Subject::Conflict(_)
    );
    let mark = matches!(
        Subject::from(entry.what.as_str()),
        Subject::Mark(_) | Subject::Judged(..)
    );
    decides || (mark && !entry.old.is_empty())
}

/// The lines of the first page.
pub fn since_rows(shown: &Shown<'_>) -> Vec<FrontRow> {
    let Some(before) = &shown.compared.before else {
        return vec![row(
            "First comparison",
            CellContent::Empty,
            "nothing earlier on the ledger to hold it against",
        )];
    };
    let now = &shown.compared.figures;
    let entered: Vec<&Entry> = before.entered_since(shown.entries).collect();
    let changed = entered.iter().filter(|entry| is_change(entry)).count();
    let then_and_now = |figure: Figure| {
        let (then, now) = (before.figures.get(&figure)?, now.get(&figure)?);
        Some(format!("{} then, {} now", readable(then), readable(now)))
    };
    let total = || String::from("total");
    let twice = then_and_now(Figure::Twice(total()));
    let difference = then_and_now(Figure::Difference(total()));
    let mut says = Vec::new();
    if let Some(twice) = twice {
        says.push(format!("pairs marked twice: {twice}"));
    }
    if let Some(difference) = difference {
        says.push(format!("mean difference of totals: {difference}"));
    }
    says.push(String::from("all on the sheet Since last time"));
    vec![row(
        format!("Since {}", day(before)),
        format!(
            "{}, {changed} of them changes",
            counted(entered.len(), "entry")
        ),
        says.join("; "),
    )]
}

/// The sheet.
pub fn since_table(shown: &Shown<'_>) -> ReportTable {
    let mut rows: Vec<Vec<CellContent>> = Vec::new();
    if let Some(before) = &shown.compared.before {
        for (figure, then, now) in shown.compared.figures.beside(&before.figures) {
            let change = then.zip(now).map(|(then, now)| now - then);
            let says = match change {
                Some(change) if change.abs() < 5e-5 => "as it was",
                Some(_) => "changed",
                None if then.is_none() => "could not be told then",
                None => "can't be told now",
            };
            rows.push(vec![
                figure_in_words(shown, figure).into(),
                CellContent::Empty,
                then.into(),
                now.into(),
                says.into(),
                CellContent::Empty,
            ]);
        }
        let entered = before.entered_since(shown.entries);
        for entry in entered.filter(|entry| is_change(entry)) {
            rows.push(changed_row(shown, entry));
        }
    }
    let title = match &shown.compared.before {
        Some(before) => format!(
            "What changed since the comparison of {} (ledger line {})",
            day(before),
            before.line + 2
        ),
        None => String::from("What changed: this is the first comparison on the ledger"),
    };
    ReportTable::plain(
        "Since last time",
        title,
        "Figures then and now, then every mark that was changed and every proposal that was decided since, as the ledger has them.",
        vec![
            Column::shown("what", "What", 48.0, Look::Wrapped),
            Column::shown("of", "Pair", 10.0, Look::Text),
            Column::shown("then", "Then", 14.0, Look::Number),
            Column::shown("now", "Now", 14.0, Look::Number),
            Column::shown("says", "What became of it", 34.0, Look::Wrapped),
            Column::shown("by", "Who and when", 40.0, Look::Wrapped),
        ],
        rows,
    )
}

fn changed_row(shown: &Shown<'_>, entry: &Entry) -> Vec<CellContent> {
    let value = |text: &str| match text.parse::<f64>() {
        Ok(number) => CellContent::from(number),
        Err(_) => CellContent::from(text),
    };
    let subject = Subject::from(entry.what.as_str());
    let result = shown.cohort.pair(&entry.pair);
    let says = if entry.new.is_empty() {
        "withdrawn"
    } else if entry.old.is_empty() {
        "decided"
    } else {
        "changed"
    };
    let says = if entry.why.is_empty() {
        says.to_owned()
    } else {
        format!("{says}: {}", entry.why)
    };
    vec![
        subject_in_words(&subject, shown.rubric, result.as_ref()).into(),
        entry.pair.clone().into(),
        value(&entry.old),
        value(&entry.new),
        says.into(),
        format!(
            "{} ({}), {}",
            entry.who,
            entry.role,
            entry.time.get(..10).unwrap_or(&entry.time)
        )
        .into(),
    ]
}
