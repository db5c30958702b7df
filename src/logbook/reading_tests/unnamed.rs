//! Tables whose columns have names of the pair's own: each is told with the line that settles it, and with that line it is read.

use super::{logbook, problems, trials};
use crate::logbook::aliases::Field;
use crate::logbook::grid::Grid;
use crate::logbook::model::Logbook;
use crate::logbook::problem::ProblemKind;
use crate::logbook::read;
use crate::logbook::settings::ReadingSettings;

/// Four rows a phase under these headers: phase, trial, score.
fn of_headers(sheet: &str, headers: &str) -> Grid {
    Grid::from_rows(
        sheet,
        &[headers, "pre|1|23.5", "pre|2|31", "post|1|20", "post|2|18"],
    )
}

const READ: [&str; 4] = ["pre - 1 23.5", "pre - 2 31", "post - 1 20", "post - 2 18"];

/// The lines that are offered.
fn lines(logbook: &Logbook) -> Vec<String> {
    logbook
        .problems
        .iter()
        .filter_map(|problem| Some(problem.line.as_ref()?.to_string()))
        .collect()
}

/// Reads again with the lines that are offered.
fn settled(grids: &[Grid]) -> Logbook {
    let mut settings = ReadingSettings::default();
    for problem in logbook(grids).problems {
        if let Some(line) = problem.line {
            let aliases = std::sync::Arc::make_mut(&mut settings.aliases);
            assert!(aliases.add_column(&line.column, &[line.header.into()]));
        }
    }
    read("P07.xlsx", grids, &settings)
}

#[test]
fn unknown_names_are_told_by_their_cells_and_their_lines_settle_them() {
    for (headers, offered) in [
        (
            "phase|trial|Distance from hole (cm)",
            &["score = [\"Distance from hole (cm)\"]"][..],
        ),
        (
            "Ereignis|trial|Nähe",
            &["phase = [\"Ereignis\"]", "score = [\"Nähe\"]"],
        ),
        (
            "Ereignis|Lfd|Nähe",
            &[
                "phase = [\"Ereignis\"]",
                "trial = [\"Lfd\"]",
                "score = [\"Nähe\"]",
            ],
        ),
        ("Ereignis|trial|score", &["phase = [\"Ereignis\"]"]),
        (
            "phase|trial|How far from the middle of the target did the bag land (measured with a tape, in cm)?",
            &[
                "score = [\"How far from the middle of the target did the bag land (measured with a tape, in cm)?\"]",
            ],
        ),
        (
            "phase|trial|Say \"how far\"",
            &["score = ['Say \"how far\"']"],
        ),
    ] {
        let grids = [of_headers("Tabelle1", headers)];
        let first = logbook(&grids);
        assert_eq!(lines(&first), offered, "{headers}");
        assert!(first.columns_not_read().next().is_some(), "{headers}");
        for problem in first.columns_not_read() {
            assert_eq!(
                problem.places[0].to_string().chars().last(),
                Some('1'),
                "{headers}"
            );
        }
        let then = settled(&grids);
        assert_eq!(trials(&then), READ, "{headers}");
        assert_eq!(problems(&then), [], "{headers}");
    }
}

/// A title above, two rows of headers, a unit below, tables one below the other and side by side: the line settles each.
#[test]
fn an_unknown_name_in_a_table_of_any_shape() {
    let below = Grid::from_rows(
        "Sheet1",
        &[
            "Pre-test",
            "Trial|Nearness",
            "1|23.5",
            "2|31",
            "",
            "Post-test",
            "Trial|Nearness",
            "1|20",
            "2|18",
        ],
    );
    let beside = Grid::from_rows(
        "Sheet1",
        &[
            "Pre-test|||Post-test",
            "Trial|Nearness||Trial|Nearness",
            "1|23.5||1|20",
            "2|31||2|18",
        ],
    );
    let two_rows = Grid::from_rows(
        "Sheet1",
        &[
            "Our learner's bag",
            "",
            "Test|Trial|Nearness",
            "phase|number|to target",
            "pre|1|23.5",
            "pre|2|31",
            "post|1|20",
            "post|2|18",
        ],
    );
    let unit = Grid::from_rows(
        "Sheet1",
        &[
            "phase|trial|Nearness",
            "||(cm)",
            "pre|1|23.5",
            "pre|2|31",
            "post|1|20",
            "post|2|18",
        ],
    );
    for grid in [below, beside, two_rows, unit] {
        let grids = [grid];
        assert_eq!(trials(&logbook(&grids)), [""; 0], "{grids:?}");
        let then = settled(&grids);
        assert_eq!(trials(&then), READ, "{grids:?}");
        assert_eq!(problems(&then), [], "{grids:?}");
    }
}

/// What would settle nothing is not offered: a number, a date, no header, a column that is read already, a name that has another meaning.
#[test]
fn no_line_is_offered_that_would_settle_nothing() {
    for headers in [
        "phase|trial|10",
        "phase|trial|",
        "phase|trial|'10",
        "phase|trial|@2026-03-09",
    ] {
        assert_eq!(
            lines(&logbook(&[of_headers("Trials", headers)])),
            [""; 0],
            "{headers}"
        );
    }
    let beside = logbook(&[Grid::from_rows(
        "Trials",
        &[
            "phase|trial|score|Heart beat",
            "pre|1|3|91",
            "pre|2|2|97",
            "post|1|4|93",
        ],
    )]);
    assert_eq!(lines(&beside), [""; 0]);
    assert_eq!(beside.columns_not_read().count(), 0);
    let aliases = ReadingSettings::default().aliases;
    // In the Sessions table a purpose is a phase, and a duration no score of any table.
    assert_eq!(
        aliases
            .line_for(Field::Session, "Purpose")
            .map(|line| line.to_string()),
        None
    );
    assert!(aliases.line_for(Field::Score, "Duration").is_some());
    for header in ["", "12", "3.5 m", "2026-03-09", "#", "Stage"] {
        assert_eq!(aliases.line_for(Field::Score, header), None, "{header}");
    }
}

/// A test under an unknown name beside others that are known hides that test alone.
#[test]
fn a_block_with_an_unknown_name_is_told_under_phases() {
    let logbook = logbook(&[Grid::from_rows(
        "Trials",
        &["Trial|Pre|Schluss", "1|3|4", "2|2|4", "3|2|3"],
    )]);
    assert_eq!(trials(&logbook).len(), 3);
    let told: Vec<_> = logbook.columns_not_read().collect();
    assert_eq!(told.len(), 1);
    assert!(
        told[0]
            .settle
            .contains("under [phases], for instance: retention = [\"Schluss\"]")
    );
}

/// Words before numbers that count, over rows that are blocks, count trials in any language.
#[test]
fn columns_that_count_under_an_unknown_word_are_trials() {
    for word in ["Wurf ", "Kugel", "W"] {
        let header = format!("Phase|Session|{word}1|{word}2|{word}3");
        let logbook = logbook(&[Grid::from_rows(
            "Trials",
            &[&header, "pre|1|3|2|2", "post|2|4|4|3"],
        )]);
        assert_eq!(
            trials(&logbook),
            [
                "pre 1 1 3",
                "pre 1 2 2",
                "pre 1 3 2",
                "post 2 1 4",
                "post 2 2 4",
                "post 2 3 3"
            ],
            "{word}"
        );
        assert_eq!(problems(&logbook), [], "{word}");
    }
}

/// A scale at the end of a header counts no trials.
#[test]
fn a_scale_behind_a_stroke_or_out_of_is_no_trial_number() {
    for header in ["Score /10", "Points out of 10", "Score/10"] {
        let logbook = logbook(&[of_headers("Trials", &format!("phase|trial|{header}"))]);
        assert_eq!(trials(&logbook), READ, "{header}");
    }
}

/// Rows of numbers without a header may be the trials where there are no others; a price list beside trials, or alone, is none.
#[test]
fn rows_without_a_header_may_be_trials_and_a_short_list_is_none() {
    let rows = ["transfer|1|3", "transfer|2|2", "transfer|3|3", "post|1|4"];
    let bare = logbook(&[Grid::from_rows("Sheet1", &rows)]);
    assert!(bare.tables.about.is_none());
    assert_eq!(bare.columns_not_read().count(), 1);
    assert_eq!(bare.unnamed_columns().len(), 0);
    let prices = || {
        Grid::from_rows(
            "Budget",
            &["Item|Price", "balls|12", "cones|7", "tape|3", "chalk|2"],
        )
    };
    let beside = logbook(&[of_headers("Trials", "phase|trial|score"), prices()]);
    assert_eq!(trials(&beside), READ);
    assert_eq!(
        problems(&beside),
        [(ProblemKind::UnrecognisedColumn, "12".into())]
    );
    assert_eq!(beside.columns_not_read().count(), 0);
}

/// Practice on a sheet of its own, whose trials begin again at 1, is several sessions, as in a column of phases.
#[test]
fn trials_that_begin_again_under_a_title_of_practice_are_sessions() {
    let logbook = logbook(&[Grid::from_rows(
        "Practice",
        &["Trial|Score", "1|3", "2|2", "1|4", "2|4"],
    )]);
    assert_eq!(
        trials(&logbook),
        [
            "practice 1 1 3",
            "practice 1 2 2",
            "practice 2 1 4",
            "practice 2 2 4"
        ]
    );
}

/// Tables side by side without a gap, each under its own title: the columns that say which trial it is are no scores.
#[test]
fn tables_that_touch_are_read_each_on_its_own() {
    let of_header = |score: &str| {
        [Grid::from_rows(
            "Sheet1",
            &[
                "Pre-test||Post-test|",
                &format!("Trial|{score}|Trial|{score}"),
                "1|23.5|1|20",
                "2|31|2|18",
            ],
        )]
    };
    let known = logbook(&of_header("Score"));
    assert_eq!(trials(&known), READ);
    assert_eq!(problems(&known), []);
    let unknown = of_header("Nearness");
    assert_eq!(trials(&logbook(&unknown)), [""; 0]);
    assert_eq!(trials(&settled(&unknown)), READ);
}

/// A pair's own summary, one row a phase, is no second table of trials.
#[test]
fn a_summary_beside_trials_offers_no_line() {
    let summary = Grid::from_rows(
        "Summary",
        &["Test|Mean score|Verdict number", "pre|27.25|1", "post|19|2"],
    );
    let logbook = logbook(&[of_headers("Trials", "phase|trial|score"), summary]);
    assert_eq!(trials(&logbook), READ);
    assert_eq!(lines(&logbook), [""; 0]);
    assert_eq!(logbook.columns_not_read().count(), 0);
}

/// All tables on one sheet, with nothing but titles between them.
#[test]
fn an_unknown_name_below_another_table_under_a_title() {
    let grids = [Grid::from_rows(
        "Logbook",
        &[
            "Sessions",
            "session|date|phase|minutes|content",
            "1|@2026-03-02|pre|30|test",
            "2|@2026-03-09|post|30|test",
            "Raw results",
            "phase|trial|Nearness",
            "pre|1|23.5",
            "pre|2|31",
            "post|1|20",
            "post|2|18",
        ],
    )];
    assert_eq!(lines(&logbook(&grids)), ["score = [\"Nearness\"]"]);
    let then = settled(&grids);
    assert_eq!(then.trials.len(), 4);
    assert_eq!(then.sessions.len(), 2);
}

#[test]
fn a_summary_beside_the_trials_is_no_trial() {
    let of = |summary: [&str; 3]| {
        let [first, second, third] = summary;
        let beside = |row: &str, summary: &str| format!("{row}||{summary}");
        let rows = [
            beside("phase|trial|score", first),
            beside("pre|1|3", second),
            beside("pre|2|4", third),
            "post|1|6".to_owned(),
            "post|2|7".to_owned(),
        ];
        let rows: Vec<&str> = rows.iter().map(String::as_str).collect();
        logbook(&[Grid::from_rows("Trials", &rows)])
    };
    let summed_up = of(["Test|Hits", "pre|7", "post|13"]);
    assert_eq!(
        trials(&summed_up),
        ["pre - 1 3", "pre - 2 4", "post - 1 6", "post - 2 7"]
    );
    let said: Vec<&str> = summed_up
        .problems
        .iter()
        .map(|problem| problem.says.as_str())
        .collect();
    assert!(
        said.iter()
            .any(|says| says.contains("one row for each test")),
        "{said:?}"
    );
    // A second measure has one trial a test.
    let measured = of(["Test|Measure|Score", "pre|speed|7", "post|speed|13"]);
    assert_eq!(measured.trials.len(), 6);
    // Of a test whose trials stand nowhere else, the one row is its trial.
    let single = of(["Test|Hits", "pre|7", "retention|6"]);
    assert_eq!(single.trials.len(), 6);
}

#[test]
fn a_summary_is_known_by_trials_in_columns_too() {
    let summary = Grid::from_rows("Summary", &["Test|Score", "pre|7", "post|13"]);
    for rows in [
        ["Trial|Pre-test|Post-test", "1|3|6", "2|4|7"],
        ["Phase|Trial 1|Trial 2", "pre|3|4", "post|6|7"],
    ] {
        let read = logbook(&[Grid::from_rows("Trials", &rows), summary.clone()]);
        assert_eq!(read.trials.len(), 4, "{rows:?}");
    }
}
