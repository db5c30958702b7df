//! The blank logbook to hand to the pairs: the canonical tables, one a sheet, with lists to choose from and a line on how to fill each in.

use rust_xlsxwriter::{
    DataValidation, DataValidationErrorStyle, Format, FormatAlign, FormatBorder, Workbook,
    Worksheet, XlsxError,
};

use super::style::{ENTRY, FONT, FONT_SIZE, INK, LINE, Look, Looks, SAND};

/// A sheet that is a table.
struct Sheet {
    name: &'static str,
    hint: &'static str,
    /// Rows that look like rows to fill in; more may be used.
    rows: u32,
    columns: &'static [Column],
}

/// A column of a table.
struct Column {
    title: &'static str,
    width: f64,
    /// What the person who fills it in reads when the cell is chosen.
    prompt: &'static str,
    /// What may be chosen; empty for anything.
    choices: &'static [&'static str],
    /// How numbers in it are shown; empty for as they are.
    format: &'static str,
}

const fn column(title: &'static str, width: f64, prompt: &'static str) -> Column {
    Column {
        title,
        width,
        prompt,
        choices: &[],
        format: "",
    }
}

const fn choice(
    title: &'static str,
    width: f64,
    prompt: &'static str,
    choices: &'static [&'static str],
) -> Column {
    Column {
        title,
        width,
        prompt,
        choices,
        format: "",
    }
}

const fn date(title: &'static str, prompt: &'static str) -> Column {
    Column {
        title,
        width: 12.0,
        prompt,
        choices: &[],
        format: "yyyy-mm-dd",
    }
}

/// The rows of About: key, what is asked, and what may be chosen.
const ABOUT: [(&str, &str, &[&str]); 16] = [
    (
        "pair",
        "Your pair's id, as your instructor gave it to you (P07).",
        &[],
    ),
    ("coach", "The coach's student id.", &[]),
    ("learner", "The learner's student id.", &[]),
    ("skill", "The target skill, in a few words.", &[]),
    ("start", "First day of the programme, as 2026-03-09.", &[]),
    ("end", "Last day of the programme, as 2026-03-09.", &[]),
    (
        "stage before",
        "The learner's stage of learning at the start, as you diagnose it.",
        &[],
    ),
    (
        "stage after",
        "The stage at the end, as you diagnose it.",
        &[],
    ),
    ("stage reason", "Why: name what you saw and measured.", &[]),
    (
        "theory",
        "The theory that your data support, as you see it.",
        &[],
    ),
    ("theory reason", "Why: name what you saw and measured.", &[]),
    (
        "experience",
        "none, related skill or this skill; then more, if you like.",
        &[],
    ),
    (
        "novel context",
        "What the transfer test changed (distance, target, equipment …).",
        &[],
    ),
    (
        "learning claimed",
        "Does your report say that a lasting change took place?",
        &["yes", "no"],
    ),
    (
        "consent",
        "Informed consent: yes, no, or the date on which it was given. Nothing else.",
        &[],
    ),
    (
        "screening",
        "Readiness-to-exercise screening: yes, no, or its date. Never health answers.",
        &[],
    ),
];

const PHASES: [&str; 7] = [
    "familiarisation",
    "pre",
    "practice",
    "mid",
    "post",
    "retention",
    "transfer",
];

const SHEETS: [Sheet; 5] = [
    Sheet {
        name: "Measures",
        hint: "What you score: a row for each measure, the most important one first.",
        rows: 4,
        columns: &[
            column(
                "measure",
                18.0,
                "Its name, as you write it in Trials and Claims.",
            ),
            choice(
                "kind",
                14.0,
                "rating: on a scale. count: how many. success: 1 or 0. error: distance from the target. signed error: with its direction. quantity: anything else.",
                &[
                    "rating",
                    "count",
                    "success",
                    "error",
                    "signed error",
                    "quantity",
                ],
            ),
            column("unit", 10.0, "cm, s, points …"),
            choice(
                "better",
                11.0,
                "Which scores are better: higher, lower, or nearest to the target.",
                &["higher", "lower", "target"],
            ),
            column(
                "lowest",
                9.0,
                "The lowest score of the scale, if it has one.",
            ),
            column(
                "highest",
                9.0,
                "The highest score of the scale, if it has one.",
            ),
            column(
                "step",
                8.0,
                "The smallest step between two scores (1 for whole numbers).",
            ),
            column("target", 9.0, "The target, where nearest to it is best."),
        ],
    },
    Sheet {
        name: "Sessions",
        hint: "A row for each session, tests included. The date and the feedback matter most.",
        rows: 24,
        columns: &[
            column("session", 9.0, "Its number: 1, 2, 3 …"),
            date("date", "As 2026-03-09."),
            column("week", 7.0, "Week of the programme."),
            choice("phase", 14.0, "What the session was for.", &PHASES),
            column("minutes", 9.0, "How long it took."),
            choice(
                "order",
                11.0,
                "In what order tasks were practised.",
                &["blocked", "serial", "random"],
            ),
            choice(
                "variety",
                11.0,
                "Always the same, or varied.",
                &["constant", "variable"],
            ),
            choice(
                "part",
                12.0,
                "The whole skill, a part, or a simplified form.",
                &["whole", "part", "simplified"],
            ),
            choice(
                "feedback",
                12.0,
                "results: where it went. technique: how it was done.",
                &["results", "technique", "both", "none"],
            ),
            column(
                "feedback %",
                11.0,
                "Share of trials that were followed by feedback: 50 for half of them.",
            ),
            column("content", 40.0, "What you did."),
            column("notes", 30.0, "Anything else."),
        ],
    },
    Sheet {
        name: "Trials",
        hint: "A row for each trial, also those that went wrong. Leave the score empty where a trial was not taken; never write 0 for it.",
        rows: 200,
        columns: &[
            column("session", 9.0, "The session's number."),
            date("date", "Only where it differs from the session's."),
            choice(
                "phase",
                14.0,
                "Familiarisation counts for nothing; warm up there.",
                &PHASES,
            ),
            column("trial", 7.0, "1, 2, 3 … within the block."),
            column("measure", 18.0, "Its name in Measures."),
            column("score", 9.0, "The score, as a number."),
            column(
                "x",
                8.0,
                "Where it landed, right of the target positive; only where you record it.",
            ),
            column("y", 8.0, "Where it landed, beyond the target positive."),
            column(
                "condition",
                18.0,
                "Distance, equipment, surface: the same words in tests that are the same.",
            ),
            column(
                "rater",
                10.0,
                "Who scored it. A second person's score of the same trial is a row of its own.",
            ),
            column(
                "estimate",
                10.0,
                "The score that the learner guessed before being told.",
            ),
            column("notes", 26.0, "Anything else."),
        ],
    },
    Sheet {
        name: "Technique",
        hint: "The checklist: a row for each element, at each test, for each observer.",
        rows: 30,
        columns: &[
            choice("phase", 14.0, "At which test.", &PHASES),
            column(
                "element",
                34.0,
                "What you look at (elbow above shoulder at release).",
            ),
            column("rating", 9.0, "A number, or yes and no."),
            column("observer", 14.0, "Who looked."),
        ],
    },
    Sheet {
        name: "Claims",
        hint: "A row for every number that your report states, exactly as it is printed there.",
        rows: 30,
        columns: &[
            column("statistic", 20.0, "mean, sd, percent change, d, …"),
            column("measure", 18.0, "Its name in Measures."),
            column(
                "phase",
                14.0,
                "Of which block; practice 3 is the third practice session.",
            ),
            column(
                "versus",
                14.0,
                "Compared with which earlier block, for changes and effects.",
            ),
            column("value", 11.0, "The number as printed: 3.40 stays 3.40."),
            column("unit", 9.0, "%, cm, points …"),
            column("where", 16.0, "Page, slide or time."),
        ],
    },
];

/// Makes the workbook; the same every time.
///
/// # Errors
/// What the writer of workbooks says.
pub fn make() -> Result<Workbook, XlsxError> {
    let looks = Looks::default();
    let mut workbook = super::new_workbook("Logbook")?;
    about(workbook.add_worksheet(), &looks)?;
    for sheet in &SHEETS {
        table(workbook.add_worksheet(), &looks, sheet)?;
    }
    Ok(workbook)
}

const TITLE: u32 = 0;
const HINT: u32 = 1;
const HEADER: u32 = 3;
const FIRST: u32 = 4;

fn entry() -> Format {
    Format::new()
        .set_font_name(FONT)
        .set_font_size(FONT_SIZE)
        .set_align(FormatAlign::Top)
        .set_text_wrap()
        .set_background_color(ENTRY)
        .set_border(FormatBorder::Thin)
        .set_border_color(LINE)
}

fn begin(sheet: &mut Worksheet, looks: &Looks, name: &str, hint: &str) -> Result<(), XlsxError> {
    sheet.set_name(name)?;
    sheet.set_row_height(TITLE, 24)?;
    sheet.write_string_with_format(TITLE, 0, name, looks.of(Look::Title))?;
    sheet.write_string_with_format(HINT, 0, hint, looks.of(Look::Hint))?;
    sheet.set_paper_size(9);
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    sheet.set_margins(0.5, 0.5, 0.6, 0.6, 0.3, 0.3);
    sheet.set_footer("&L&A&RPage &P of &N");
    sheet.set_freeze_panes(FIRST, 0)?;
    sheet.set_repeat_rows(HEADER, HEADER)?;
    Ok(())
}

fn about(sheet: &mut Worksheet, looks: &Looks) -> Result<(), XlsxError> {
    let hint = "Fill in the green cells. Choose a cell to read what it asks; leave empty what you don't know.";
    begin(sheet, looks, "About", hint)?;
    sheet.set_portrait();
    sheet.set_column_width(0, 20)?;
    sheet.set_column_width(1, 64)?;
    for (column, title) in [(0, "key"), (1, "value")] {
        sheet.write_string_with_format(HEADER, column, title, looks.of(Look::Header))?;
    }
    let key = Format::new()
        .set_font_name(FONT)
        .set_font_size(FONT_SIZE)
        .set_bold()
        .set_font_color(INK)
        .set_background_color(SAND)
        .set_align(FormatAlign::Top)
        .set_border(FormatBorder::Thin)
        .set_border_color(LINE);
    let value = entry().set_align(FormatAlign::Left);
    let day = entry()
        .set_align(FormatAlign::Left)
        .set_num_format("yyyy-mm-dd");
    for (row, (name, prompt, choices)) in (FIRST..).zip(&ABOUT) {
        sheet.write_string_with_format(row, 0, *name, &key)?;
        let format = if matches!(*name, "start" | "end") {
            &day
        } else {
            &value
        };
        sheet.write_blank(row, 1, format)?;
        if name.ends_with("reason") {
            sheet.set_row_height(row, 60)?;
        }
        let validation = validation(name, prompt, choices)?;
        sheet.add_data_validation(row, 1, row, 1, &validation)?;
    }
    Ok(())
}

fn table(sheet: &mut Worksheet, looks: &Looks, of: &Sheet) -> Result<(), XlsxError> {
    begin(sheet, looks, of.name, of.hint)?;
    let last = FIRST + of.rows - 1;
    for (index, column) in (0_u16..).zip(of.columns) {
        sheet.set_column_width(index, column.width)?;
        sheet.write_string_with_format(HEADER, index, column.title, looks.of(Look::Header))?;
        let format = if column.format.is_empty() {
            entry()
        } else {
            entry().set_num_format(column.format)
        };
        // As printed in the report: a number format would take the zero from 3.40.
        let format = if of.name == "Claims" && column.title == "value" {
            format.set_num_format("@")
        } else {
            format
        };
        for row in FIRST..=last {
            sheet.write_blank(row, index, &format)?;
        }
        let validation = validation(column.title, column.prompt, column.choices)?;
        // Further rows than those that are drawn have the lists too.
        sheet.add_data_validation(FIRST, index, last + 1_000, index, &validation)?;
    }
    Ok(())
}

/// A list to choose from, with what the cell asks; anything else may still be typed where a course has words of its own.
fn validation(title: &str, prompt: &str, choices: &[&str]) -> Result<DataValidation, XlsxError> {
    let validation = if choices.is_empty() {
        DataValidation::new()
    } else {
        DataValidation::new().allow_list_strings(choices)?
    };
    validation
        .set_input_title(title)?
        .set_input_message(prompt)?
        .set_error_style(DataValidationErrorStyle::Warning)
        .set_error_title("Not a word of the list")
        .and_then(|validation| {
            validation.set_error_message("Keep it only if your instructor uses this word.")
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::logbook::model::Better;
    use crate::logbook::open::{Limits, open};
    use crate::logbook::read;
    use crate::logbook::settings::ReadingSettings;
    use crate::phase::Phase;

    fn read_back(workbook: &mut Workbook) -> crate::logbook::Logbook {
        let bytes = workbook.save_to_buffer().unwrap();
        let opened = open(&bytes, "P07.xlsx", &Limits::default()).unwrap();
        assert!(opened.notices.is_empty(), "{:?}", opened.notices);
        read("P07.xlsx", &opened.grids, &ReadingSettings::default())
    }

    #[test]
    fn the_blank_logbook_is_read_without_a_question() {
        let logbook = read_back(&mut make().unwrap());
        assert!(logbook.problems.is_empty(), "{:?}", logbook.problems);
        assert!(logbook.trials.is_empty());
    }

    #[test]
    fn what_a_pair_fills_in_is_read_from_every_table() {
        let mut workbook = make().unwrap();
        let mut fill = |sheet: &str, rows: &[&[&str]]| {
            let sheet = workbook.worksheet_from_name(sheet).unwrap();
            for (row, fields) in (FIRST..).zip(rows) {
                for (column, field) in (0_u16..).zip(*fields) {
                    match field.parse::<f64>() {
                        Ok(number) => sheet.write_number(row, column, number).unwrap(),
                        Err(_) if field.is_empty() => continue,
                        Err(_) => sheet.write_string(row, column, *field).unwrap(),
                    };
                }
            }
        };
        fill(
            "About",
            &[
                &["pair", "P07"],
                &["coach", "s1"],
                &["learner", "s2"],
                &["skill", "Lob"],
            ],
        );
        fill(
            "Measures",
            &[&["lob", "rating", "points", "higher", "1", "10", "1"]],
        );
        fill(
            "Sessions",
            &[
                &["1", "2026-03-02", "1", "pre", "30"],
                &[
                    "2",
                    "2026-03-04",
                    "1",
                    "practice",
                    "40",
                    "blocked",
                    "constant",
                    "whole",
                    "both",
                    "50",
                    "Wall",
                ],
            ],
        );
        fill(
            "Trials",
            &[
                &["1", "", "pre", "1", "lob", "4", "", "", "4 m", "R1"],
                &["1", "", "pre", "2", "lob", "5", "", "", "4 m", "R1"],
                &["2", "", "practice", "1", "lob", "6"],
            ],
        );
        fill("Technique", &[&["pre", "elbow high", "2", "R1"]]);
        fill(
            "Claims",
            &[&["mean", "lob", "pre", "", "4.5", "points", "p. 2"]],
        );
        let logbook = read_back(&mut workbook);
        assert!(logbook.problems.is_empty(), "{:?}", logbook.problems);
        assert_eq!(logbook.about.pair.unwrap().value.as_ref(), "P07");
        assert_eq!(logbook.measures[0].better, Better::Higher);
        assert_eq!(logbook.sessions.len(), 2);
        assert_eq!(logbook.trials.len(), 3);
        assert_eq!(logbook.trials[0].phase, Some(Phase::PRE));
        assert_eq!(logbook.technique.len(), 1);
        assert_eq!(logbook.claims.len(), 1);
        assert!(logbook.claims[0].statistic.is_some());
    }

    #[test]
    fn its_phases_are_the_canonical_ones() {
        let names = crate::phase::PhaseKind::ALL.map(crate::phase::PhaseKind::name);
        assert_eq!(PHASES, names);
    }

    #[test]
    fn it_is_the_same_every_time() {
        let bytes = || make().unwrap().save_to_buffer().unwrap();
        assert!(bytes() == bytes());
    }
}
