//! What a score cell holds: a number in any of its spellings, what stands for missing, or what can't be read.

mod number;

use std::sync::Arc;

use super::aliases::CellWord;
use super::grid::{Cell, Value};
use super::model::{Measure, MeasureKind, Score};
use super::numbers::{Marks, NumberText, lowered, plain, read_number};
use super::problem::{Doubt, ProblemKind};
use super::settings::{CellMeaning, ReadingSettings};
use super::spelling::key;
use super::tally::read_tally;
use number::{fraction, number_or_words, of_percent, two_ways};

/// What decides how the cells of one score column are read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ScoreColumnContext<'a> {
    /// The measure scored.
    pub measure: &'a Measure,
    /// The decimal mark that the column has settled on.
    pub marks: Marks,
    /// The cohort's settings.
    pub settings: &'a ReadingSettings,
    /// Raised digits that notes in the sheet explain.
    pub footnotes: &'a [String],
    /// Smallest and largest of the column's numbers that need no settling.
    pub span: Option<(f64, f64)>,
}

const NOT_COUNTED: &str = "It is not counted.";

/// Reads a score cell.
pub(crate) fn read_score(cell: &Cell, context: &ScoreColumnContext) -> (Score, Option<Doubt>) {
    match &cell.value {
        Value::Number(number) if cell.shown.percent => (
            Score::Number(of_percent(number * 100.0, context.measure)),
            None,
        ),
        Value::Number(number) if number.is_finite() => (Score::Number(*number), None),
        Value::Number(_) => unreadable(
            "",
            ProblemKind::NotANumber,
            "The cell holds no finite number.",
        ),
        Value::Text(text) if is_error_code(text) => unreadable(
            text,
            ProblemKind::FormulaError,
            format!("The cell shows the error {text} where a score should stand."),
        ),
        Value::Text(text) => read_text(text, context),
        Value::Truth(truth) if context.measure.kind == MeasureKind::Success => {
            (Score::Number(f64::from(u8::from(*truth))), None)
        }
        Value::Truth(truth) => {
            let text = if *truth { "TRUE" } else { "FALSE" };
            unreadable(
                text,
                ProblemKind::NotANumber,
                format!("“{text}” is no score of this measure."),
            )
        }
        Value::Error(text) => unreadable(
            text,
            ProblemKind::FormulaError,
            format!("The cell shows the error {text} where a score should stand."),
        ),
        Value::NotCalculated => unreadable(
            &super::cells::cell_text(cell),
            ProblemKind::FormulaError,
            "The cell holds a formula that was never calculated.",
        ),
        Value::Date(moment) => {
            let text = moment.date().to_string();
            unreadable(
                &text,
                ProblemKind::NotANumber,
                format!(
                    "The cell holds the date {text} where a score should stand; spreadsheets turn a score such as 3/4 into a date."
                ),
            )
        }
        Value::Duration(_) | Value::Time(_) => unreadable(
            &super::cells::cell_text(cell),
            ProblemKind::AmbiguousValue,
            "The cell holds a time of day or a length of time, which may be minutes and seconds or seconds and hundredths.",
        ),
    }
}

/// An error as spreadsheets show it, in a file that keeps no more than the text (ECMA-376-1, 18.17.3, and what newer programs add).
fn is_error_code(text: &str) -> bool {
    matches!(
        text.trim(),
        "#DIV/0!"
            | "#N/A"
            | "#NAME?"
            | "#NULL!"
            | "#NUM!"
            | "#REF!"
            | "#VALUE!"
            | "#SPILL!"
            | "#CALC!"
            | "#FIELD!"
            | "#GETTING_DATA"
    )
}

fn unreadable(text: &str, kind: ProblemKind, says: impl Into<String>) -> (Score, Option<Doubt>) {
    (
        Score::Unreadable(Arc::from(text)),
        Some(Doubt::new(kind, says, NOT_COUNTED)),
    )
}

fn read_text(text: &str, context: &ScoreColumnContext) -> (Score, Option<Doubt>) {
    let measure = context.measure;
    if is_blank(text) {
        return (Score::Missing, None);
    }
    if measure.kind == MeasureKind::Count
        && let Some(count) = read_tally(text)
    {
        return (Score::Number(f64::from(count)), None);
    }
    match read_number(text, context.marks) {
        NumberText::Number(typed) => number_or_words(&typed, text, context),
        NumberText::TwoWays { decimal, thousands } => two_ways(&decimal, &thousands, text, context),
        NumberText::Fraction {
            numerator,
            denominator,
        } => fraction(numerator, denominator, text, measure),
        NumberText::Raised { number, mark } => {
            if context.footnotes.contains(&lowered(&mark)) {
                number_or_words(&number, text, context)
            } else {
                unreadable(
                    text,
                    ProblemKind::AmbiguousValue,
                    format!(
                        "“{text}” may be a power, or a score with a mark for a note that is not there."
                    ),
                )
            }
        }
        NumberText::Doubted(_) => unreadable(
            text,
            ProblemKind::AmbiguousValue,
            format!("“{text}” is a score in doubt."),
        ),
        NumberText::Clock => unreadable(
            text,
            ProblemKind::AmbiguousValue,
            format!("“{text}” may be minutes and seconds, or seconds and hundredths."),
        ),
        NumberText::No => word(text, context),
    }
}

/// Dashes and blanks stand for missing.
fn is_blank(text: &str) -> bool {
    let text = plain(text);
    text.chars()
        .all(|c| matches!(c, '-' | '.' | '_' | '/' | ' '))
}

/// A word: missing, a result whose number the course has settled, yes or no, or nothing that can be read.
fn word(text: &str, context: &ScoreColumnContext) -> (Score, Option<Doubt>) {
    if let Some(settled) = meaning(text, context) {
        return settled;
    }
    let aliases = &context.settings.aliases;
    let key = key(text);
    if aliases.cell_word(&key) == Some(CellWord::Missing) {
        return (Score::Missing, None);
    }
    if context.measure.kind == MeasureKind::Success
        && let Some(answer) = aliases.answer(&key)
    {
        return (Score::Number(f64::from(u8::from(answer))), None);
    }
    if aliases.cell_word(&key) == Some(CellWord::Result) {
        return (
            Score::Unreadable(text.into()),
            Some(Doubt::new(
                ProblemKind::AmbiguousValue,
                format!("“{text}” is a result, but which score it stands for is not settled."),
                format!(
                    "It is not counted. To settle it, add to cohort.toml under [cells]: \"{}\" = \"lowest\", \"missing\" or a number.",
                    text.trim()
                ),
            )),
        );
    }
    unreadable(
        text,
        ProblemKind::NotANumber,
        format!("“{text}” is no number."),
    )
}

/// What the cohort has settled that a text stands for.
fn meaning(text: &str, context: &ScoreColumnContext) -> Option<(Score, Option<Doubt>)> {
    match context.settings.cell_meaning(&key(text))? {
        CellMeaning::Missing => Some((Score::Missing, None)),
        CellMeaning::Number(number) => Some((Score::Number(number), None)),
        CellMeaning::Lowest => Some(match context.measure.lowest {
            Some(lowest) => (Score::Number(lowest), None),
            None => unreadable(
                text,
                ProblemKind::AmbiguousValue,
                format!("“{text}” stands for the lowest score, and the measure has none."),
            ),
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::grid::Shown;
    use crate::logbook::model::Better;
    use crate::logbook::settings::MeasureSettings;

    fn cell(value: Value) -> Cell {
        Cell {
            row: 0,
            column: 0,
            value,
            shown: Shown::default(),
            formula: None,
        }
    }

    fn rating() -> Measure {
        MeasureSettings {
            kind: Some(MeasureKind::Rating),
            lowest: Some(1.0),
            highest: Some(4.0),
            ..MeasureSettings::default()
        }
        .complete("score".into())
    }

    fn read(
        text: &str,
        measure: &Measure,
        settings: &ReadingSettings,
    ) -> (Score, Option<ProblemKind>) {
        let context = ScoreColumnContext {
            measure,
            marks: Marks::Open,
            settings,
            footnotes: &["2".to_owned()],
            span: None,
        };
        let (score, doubt) = read_score(&cell(Value::Text(text.into())), &context);
        (score, doubt.map(|doubt| doubt.kind))
    }

    fn score(value: f64) -> (Score, Option<ProblemKind>) {
        (Score::Number(value), None)
    }

    #[test]
    fn numbers_in_all_their_spellings() {
        let settings = ReadingSettings::default();
        let rating = rating();
        for text in [
            "3",
            "3.0",
            "3,0",
            "'3",
            "３",
            "3 pts",
            "3/4",
            "3 out of 4",
            "3 (good)",
            "3*",
            "3²",
            "≈3",
            "~3",
            " 3\u{a0}",
        ] {
            assert_eq!(read(text, &rating, &settings), score(3.0), "{text}");
        }
        let cm = Measure {
            unit: Some("cm".into()),
            better: Better::Lower,
            ..Measure::undescribed()
        };
        assert_eq!(read("12 cm", &cm, &settings), score(12.0));
        assert_eq!(
            read("0.12 m", &cm, &settings),
            (Score::Number(12.0), Some(ProblemKind::AmbiguousValue))
        );
        assert_eq!(read("85%", &Measure::undescribed(), &settings), score(85.0));
    }

    #[test]
    fn missing_is_never_zero() {
        let settings = ReadingSettings::default();
        for text in [
            "-",
            "–",
            "n/a",
            "na",
            "nil",
            "DNS",
            "absent",
            "missed session",
            " ",
            "N/A",
            "—",
        ] {
            assert_eq!(
                read(text, &rating(), &settings),
                (Score::Missing, None),
                "{text}"
            );
        }
    }

    #[test]
    fn results_without_a_number_are_reported_until_settled() {
        let mut settings = ReadingSettings::default();
        for text in ["miss", "X", "foul"] {
            assert_eq!(
                read(text, &rating(), &settings),
                (
                    Score::Unreadable(text.into()),
                    Some(ProblemKind::AmbiguousValue)
                )
            );
        }
        settings.set_cell("miss", CellMeaning::Lowest);
        settings.set_cell("X", CellMeaning::Missing);
        settings.set_cell("foul", CellMeaning::Number(2.0));
        assert_eq!(read("Miss", &rating(), &settings), score(1.0));
        assert_eq!(read("x", &rating(), &settings), (Score::Missing, None));
        assert_eq!(read("foul", &rating(), &settings), score(2.0));
    }

    #[test]
    fn what_is_no_number_is_said() {
        let settings = ReadingSettings::default();
        for text in ["three", "good", "7 or 8", "3 4", "#", "O2"] {
            assert_eq!(
                read(text, &rating(), &settings).1,
                Some(ProblemKind::NotANumber),
                "{text}"
            );
        }
        for text in ["3.5?", "4:34", "7/10", "3³"] {
            assert_eq!(
                read(text, &rating(), &settings).1,
                Some(ProblemKind::AmbiguousValue),
                "{text}"
            );
        }
        assert_eq!(
            read("1,234", &Measure::undescribed(), &settings).1,
            Some(ProblemKind::AmbiguousValue)
        );
        assert_eq!(read("1,234", &rating(), &settings), score(1.234));
    }

    #[test]
    fn successes_are_one_and_zero() {
        let settings = ReadingSettings::default();
        let success = MeasureSettings {
            kind: Some(MeasureKind::Success),
            ..MeasureSettings::default()
        }
        .complete("hits".into());
        assert_eq!(read("✓", &success, &settings), score(1.0));
        assert_eq!(read("no", &success, &settings), score(0.0));
        let context = ScoreColumnContext {
            measure: &success,
            marks: Marks::Open,
            settings: &settings,
            footnotes: &[],
            span: None,
        };
        assert_eq!(
            read_score(&cell(Value::Truth(true)), &context).0,
            Score::Number(1.0)
        );
        assert_eq!(
            read_score(&cell(Value::Error("#DIV/0!".into())), &context)
                .1
                .map(|d| d.kind),
            Some(ProblemKind::FormulaError)
        );
    }
}
