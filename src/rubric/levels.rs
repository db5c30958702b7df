//! Levels of a mark: each begins at a mark and ends where the next begins.

use std::ops::Range;

use crate::configuration::Table;

/// One level.
#[derive(Debug, Clone, PartialEq)]
pub struct Level {
    /// Its name for people.
    pub title: String,
    /// The lowest mark that it holds.
    pub from: f64,
    /// What work at this level looks like.
    pub descriptor: Option<String>,
}

/// The highest level that begins at or below the mark. A mark within 1e-9 of a boundary is on it: sums of halves and thirds are not exact.
pub(super) fn level_of(levels: &[Level], mark: f64) -> Option<&Level> {
    levels.iter().find(|level| mark >= level.from - 1e-9)
}

/// Reads the `[[level]]` tables of a table whose marks go up to `most`; gives them the highest first.
pub(super) fn read(table: &Table<'_>, most: Option<f64>, what: &str) -> Vec<Level> {
    let mut levels: Vec<(Level, Range<usize>)> = Vec::new();
    for entry in table.tables("level", "a level") {
        let title = entry.needed_text("title");
        let from = entry.needed_number("from");
        let descriptor = entry.text("descriptor").map(|text| text.value);
        entry.finish();
        let (Some(title), Some(from)) = (title, from) else {
            continue;
        };
        if let Some((same, _)) = levels.iter().find(|(level, _)| level.title == title.value) {
            let message = format!("{what} has two levels named \"{}\"", same.title);
            entry.fault(&title.span, message, None);
        }
        if from.value < 0.0 {
            let message = format!("\"{}\" begins below 0", title.value);
            entry.fault(&from.span, message, None);
        } else if let Some(most) = most.filter(|most| from.value > *most) {
            let message = format!(
                "\"{}\" begins at {}, above {what}'s {most} marks: nobody can reach it",
                title.value, from.value
            );
            entry.fault(&from.span, message, None);
        }
        levels.push((
            Level {
                title: title.value,
                from: from.value,
                descriptor,
            },
            from.span,
        ));
    }
    check_order(table, &levels);
    let mut levels: Vec<(Level, Range<usize>)> = levels;
    levels.sort_by(|a, b| b.0.from.total_cmp(&a.0.from));
    if let Some((lowest, span)) = levels.last().filter(|(level, _)| level.from > 0.0) {
        table.remark(
            span,
            format!(
                "marks of {what} below {} have no level: \"{}\" is the lowest",
                lowest.from, lowest.title
            ),
            Some("give the lowest level from = 0".to_owned()),
        );
    }
    levels.into_iter().map(|(level, _)| level).collect()
}

/// Levels stand from low to high or from high to low, and no two begin at one mark.
fn check_order(table: &Table<'_>, levels: &[(Level, Range<usize>)]) {
    let falls = match levels {
        [(first, _), .., (last, _)] => first.from > last.from,
        _ => return,
    };
    for pair in levels.windows(2) {
        let [(before, _), (after, span)] = pair else {
            continue;
        };
        let difference = after.from - before.from;
        if difference.abs() < 1e-9 {
            table.fault(
                span,
                format!(
                    "\"{}\" overlaps \"{}\": both begin at {}",
                    after.title, before.title, after.from
                ),
                None,
            );
        } else if (difference < 0.0) != falls {
            let direction = if falls { "falling" } else { "rising" };
            table.fault(
                span,
                format!(
                    "\"{}\" from {} overlaps \"{}\" from {}: the levels stand in {direction} order",
                    after.title, after.from, before.title, before.from
                ),
                None,
            );
        }
    }
}
