//! The rubric by which the course was marked.

use super::Recorded;
use crate::report::wording::id_in_words;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;
use crate::rubric::Each;

/// Criteria with their evidence, judged parts and levels.
pub(super) fn rubric_table(of: &Recorded<'_>) -> ReportTable {
    let rubric = of.shown.rubric;
    let mut rows: Vec<Vec<CellContent>> = Vec::new();
    let mut add = |criterion: &str, kind: &str, marks: f64, text: String| {
        rows.push(vec![
            criterion.into(),
            kind.into(),
            marks.into(),
            text.into(),
        ]);
    };
    for criterion in &rubric.criteria {
        let each = match criterion.each {
            Each::Pair => "",
            Each::Student => "marked for each student",
        };
        add(
            &criterion.title,
            "criterion",
            criterion.marks,
            each.to_owned(),
        );
        for evidence in &criterion.evidence {
            add("", "evidence", evidence.points, id_in_words(&evidence.id));
        }
        for judged in &criterion.judged {
            add("", "judged", judged.points, judged.asks.clone());
        }
        for level in &criterion.levels {
            let says = level.descriptor.clone().unwrap_or_default();
            add(
                "",
                "level from",
                level.from,
                format!("{}. {says}", level.title),
            );
        }
    }
    for level in &rubric.levels {
        let says = level.descriptor.clone().unwrap_or_default();
        add(
            "The whole report",
            "level from",
            level.from,
            format!("{}. {says}", level.title),
        );
    }
    ReportTable::plain(
        "Rubric",
        "What was marked, and out of what",
        "Evidence: what the data settle, as a suggestion. Judged: what markers judged.",
        vec![
            Column::shown("criterion", "Criterion", 30.0, Look::Wrapped),
            Column::shown("kind", "Kind", 14.0, Look::Text),
            Column::shown("marks", "Marks", 9.0, Look::Number),
            Column::shown("text", "What", 90.0, Look::Wrapped),
        ],
        rows,
    )
}
