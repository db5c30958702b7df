//! The record for external moderators: settings, rubric, sample, agreement, severity, decisions, adjudications and a digest of the history.
//! Pairs are known by their ids alone.

use std::sync::Arc;

use super::gather::Scale;
use super::report::{
    Shown, agreement_table, decisions_table, levels_table, markers_table, severity_table,
};
use crate::cohort::marking_settings::{Agreed, ModerationSettings, SampleRule};
use crate::cohort::settings::Settings;
use crate::ledger::{Held, PairState, Slot, Subject};
use crate::marking::settle::{CriterionMark, SettledPair};
use crate::number::readable;
use crate::report::wording::id_in_words;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;
use crate::rubric::{Criterion, Each};

/// What the record is made of.
#[derive(Clone, Copy)]
pub struct Recorded<'a> {
    /// What comparing the markers gave.
    pub shown: Shown<'a>,
    /// The cohort's settings.
    pub settings: &'a Settings,
    /// The pairs' marks as they stand.
    pub settled: &'a [SettledPair],
    /// Digest of the ledger's last line.
    pub ledger_head: &'a str,
}

/// The sheets of the record.
pub fn record(of: &Recorded<'_>) -> Vec<ReportTable> {
    let shown = &of.shown;
    vec![
        settings_table(of),
        rubric_table(of),
        sample_table(of),
        agreement_table(shown),
        severity_table(shown),
        markers_table(shown),
        levels_table(shown),
        marks_table(of),
        initial_marks_table(of, "Initial marks", false),
        initial_marks_table(of, "Adjudications", true),
        proposals_table(of),
        decisions_table(shown),
        history_table(of),
    ]
}

/// How the sample is drawn.
fn sample_in_words(moderation: &ModerationSettings) -> String {
    if moderation.all_marked_twice {
        String::from("every pair is marked twice")
    } else {
        let rule = match moderation.sample {
            SampleRule::SquareRoot => String::from("the square root of the number of pairs"),
            SampleRule::Share(share) => format!("{} % of the pairs", readable(100.0 * share)),
            SampleRule::Count(count) => format!("{count} pairs"),
        };
        format!(
            "{rule}, at least {}; all under the pass mark{} and near a boundary",
            moderation.sample_least,
            if moderation.top_by_chance {
                ""
            } else {
                ", at the top level"
            }
        )
    }
}

/// What lateness costs.
fn late_in_words(settings: &Settings) -> String {
    settings.late.map_or_else(
        || String::from("costs nothing"),
        |rule| {
            format!(
                "{} % of the marks a day begun, after {} days of grace, {} % at most",
                readable(rule.percent),
                readable(rule.grace),
                readable(rule.cap)
            )
        },
    )
}

/// How one mark comes out of two.
fn rules_in_words(moderation: &ModerationSettings) -> [(&'static str, String); 3] {
    [
        (
            "Tolerance",
            format!(
                "{} % of the marks in question",
                readable(moderation.tolerance_percent())
            ),
        ),
        (
            "Two marks within tolerance come to",
            String::from(match moderation.agreed {
                Agreed::First => "the first",
                Agreed::Mean => "their mean",
            }),
        ),
        (
            "Two marks beyond it",
            String::from(if moderation.all_marked_twice {
                "wait for the moderator, whose mark stands"
            } else {
                "the first stands: a sample tests the marking, not the script"
            }),
        ),
    ]
}

fn settings_table(of: &Recorded<'_>) -> ReportTable {
    let settings = of.settings;
    let moderation = &settings.moderation;
    let rubric = of.shown.rubric;
    let yes = |yes: bool| String::from(if yes { "yes" } else { "no" });
    let drawn = of.shown.state.cohort.standing(&Subject::Sample, "");
    let off: Vec<&str> = crate::checks::ALL
        .iter()
        .filter(|check| !of.shown.policy.is_on(check.id))
        .map(|check| check.id)
        .collect();
    let lines = of.shown.entries.len();
    let rows = [
        ("Course", settings.title.clone()),
        (
            "Rubric",
            format!("{} (digest {})", rubric.title, of.shown.rubric_digest),
        ),
        ("Out of", readable(rubric.out_of)),
        (
            "Pass mark",
            rubric
                .pass
                .map_or_else(|| String::from("none set"), readable),
        ),
        ("Second marking", sample_in_words(moderation)),
        (
            "As it was drawn",
            drawn.map_or_else(
                || String::from("no sample was drawn"),
                |held| held.value.clone(),
            ),
        ),
        (
            "Seed of all that is drawn at random",
            settings.seed.to_string(),
        ),
        (
            "Second markers saw the first marks",
            yes(moderation.second_sees_first),
        ),
        (
            "Suggestions were shown",
            String::from(if moderation.suggest_after {
                "only after a mark was entered"
            } else {
                "before marking"
            }),
        ),
        ("Markers saw students' names", yes(moderation.names)),
        ("Lateness", late_in_words(settings)),
        (
            "Final marks are rounded",
            settings.hand_back.round.map_or_else(
                || String::from("not"),
                |step| format!("to {}, halves up, once, at the end", readable(step)),
            ),
        ),
        (
            "Checks that are off",
            if off.is_empty() {
                String::from("none")
            } else {
                off.join(", ")
            },
        ),
    ];
    let ledger = [
        ("Lines on the ledger", lines.to_string()),
        ("Digest of its last line", of.ledger_head.to_owned()),
    ];
    ReportTable::plain(
        "Settings",
        "Record for external moderators",
        "Pairs are known by their ids alone. Every figure can be made again from the ledger, the hand-ins and these settings.",
        vec![
            Column::shown("what", "What", 38.0, Look::Text),
            Column::shown("value", "As it was set", 96.0, Look::Wrapped),
        ],
        rows.into_iter()
            .chain(rules_in_words(moderation))
            .chain(ledger)
            .map(|(what, value)| vec![what.into(), value.into()])
            .collect(),
    )
}

fn rubric_table(of: &Recorded<'_>) -> ReportTable {
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

fn standing<'a>(state: Option<&'a PairState>, subject: &Subject) -> Option<&'a Held> {
    state.and_then(|state| state.standing(subject, ""))
}

fn sample_table(of: &Recorded<'_>) -> ReportTable {
    let twice = of.shown.compared.gathered.twice(&Scale::Total);
    let rows = of.settled.iter().filter_map(|settled| {
        let state = of.shown.state.pair(&settled.pair);
        let why = standing(state, &Subject::Sample);
        let second = standing(state, &Subject::SecondMarker);
        if why.is_none() && second.is_none() {
            return None;
        }
        let marks = twice.iter().find(|one| one.pair.pair == *settled.pair);
        Some(vec![
            (*settled.pair).into(),
            why.map(|held| held.value.clone()).into(),
            standing(state, &Subject::FirstMarker)
                .map(|held| held.value.clone())
                .into(),
            second.map(|held| held.value.clone()).into(),
            marks.map(|one| one.first).into(),
            marks.map(|one| one.second).into(),
            marks.map(super::MarkedTwice::difference).into(),
        ])
    });
    ReportTable::plain(
        "Sample",
        "Pairs marked a second time, and why each was drawn",
        "Totals as entered, before any shift; empty where a marker has not finished.",
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("why", "Why it was drawn", 44.0, Look::Wrapped),
            Column::shown("first-marker", "First marker", 20.0, Look::Text),
            Column::shown("second-marker", "Second marker", 20.0, Look::Text),
            Column::shown("first", "First total", 11.0, Look::Decimal),
            Column::shown("second", "Second total", 11.0, Look::Decimal),
            Column::shown("difference", "First less second", 11.0, Look::Decimal),
        ],
        rows.collect(),
    )
}

/// Marks of students one after the other; of a pair, the one.
fn joined(marks: &[CriterionMark], of: impl Fn(&CriterionMark) -> Option<f64>) -> CellContent {
    match marks {
        [only] => of(only).into(),
        several => {
            let texts = several
                .iter()
                .map(|mark| of(mark).map_or_else(|| String::from("–"), readable));
            texts.collect::<Vec<_>>().join("; ").into()
        }
    }
}

fn marks_table(of: &Recorded<'_>) -> ReportTable {
    let mut columns = vec![Column::shown("pair", "Pair", 10.0, Look::Text)];
    for criterion in &of.shown.rubric.criteria {
        columns.push(Column::shown(
            format!("of {}", criterion.id),
            format!("{} (of {})", criterion.title, readable(criterion.marks)),
            15.0,
            Look::Decimal,
        ));
    }
    columns.push(Column::shown(
        "shift",
        "Shift of totals",
        11.0,
        Look::Decimal,
    ));
    columns.push(Column::shown("total", "Total", 12.0, Look::Decimal));
    columns.push(Column::shown("lacks", "What it lacks", 60.0, Look::Wrapped));
    let rows = of.settled.iter().map(|settled| {
        let mut row: Vec<CellContent> = vec![(*settled.pair).into()];
        for criterion in &settled.criteria {
            row.push(joined(&criterion.marks, CriterionMark::mark));
        }
        row.push(settled.total_shift.into());
        row.push(total(of, settled));
        row.push(settled.lacks.join("; ").into());
        row
    });
    ReportTable::plain(
        "Marks",
        "The marks in force",
        "Shifts of a marker's criterion are in the marks; lateness and students' own adjustments are not: they are in returned/marks.csv. Marks for each of two students stand one after the other.",
        columns,
        rows.collect(),
    )
}

/// A pair's total, or its students' totals one after the other.
fn total(of: &Recorded<'_>, settled: &SettledPair) -> CellContent {
    let students: Vec<Option<Arc<str>>> = settled
        .criteria
        .iter()
        .find(|criterion| criterion.marks.len() > 1)
        .map_or_else(
            || vec![None],
            |criterion| {
                criterion
                    .marks
                    .iter()
                    .map(|mark| mark.student.clone())
                    .collect()
            },
        );
    let totals: Option<Vec<f64>> = students
        .iter()
        .map(|student| {
            let marks = settled.criteria.iter().map(|criterion| {
                criterion
                    .of_student(student.as_deref().unwrap_or(""))?
                    .mark()
            });
            let sum = marks.sum::<Option<f64>>()? + settled.total_shift;
            Some(sum.max(0.0).min(of.shown.rubric.out_of))
        })
        .collect();
    match totals.as_deref() {
        None => CellContent::Empty,
        Some([only]) => (*only).into(),
        Some(several) => several
            .iter()
            .map(|total| readable(*total))
            .collect::<Vec<_>>()
            .join("; ")
            .into(),
    }
}

/// Every mark as markers entered it, and what was decided above it; `decided` alone: where somebody decided, or has to.
fn initial_marks_table(of: &Recorded<'_>, name: &'static str, decided: bool) -> ReportTable {
    let mut rows: Vec<Vec<CellContent>> = Vec::new();
    for settled in of.settled {
        let Some(state) = of.shown.state.pair(&settled.pair) else {
            continue;
        };
        for (criterion, settled_criterion) in of.shown.rubric.criteria.iter().zip(&settled.criteria)
        {
            for (place, mark) in (1..).zip(&settled_criterion.marks) {
                let row = initial_row(of, state, &settled.pair, criterion, place, mark, decided);
                rows.extend(row);
            }
        }
    }
    let (title, hint) = if decided {
        (
            "What the moderator decided above markers' marks, and what is still open",
            "Adjudications where every pair is marked twice, and any other mark that somebody decided above a marker's.",
        )
    } else {
        (
            "Every mark as it was entered first, second, and decided",
            "Before any shift of a marker's marks.",
        )
    };
    ReportTable::plain(
        name,
        title,
        hint,
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("criterion", "Criterion", 32.0, Look::Wrapped),
            Column::shown("first-marker", "First marker", 18.0, Look::Text),
            Column::shown("first", "First", 9.0, Look::Decimal),
            Column::shown("second-marker", "Second marker", 18.0, Look::Text),
            Column::shown("second", "Second", 9.0, Look::Decimal),
            Column::shown("difference", "First less second", 10.0, Look::Decimal),
            Column::shown("decided", "Decided", 9.0, Look::Decimal),
            Column::shown("by", "By whom and when", 30.0, Look::Wrapped),
            Column::shown("why", "Why", 40.0, Look::Wrapped),
            Column::shown("stands", "Mark that stands", 10.0, Look::Decimal),
        ],
        rows,
    )
}

fn initial_row(
    of: &Recorded<'_>,
    state: &PairState,
    pair: &str,
    criterion: &Criterion,
    place: usize,
    mark: &CriterionMark,
    only_decided: bool,
) -> Option<Vec<CellContent>> {
    let student = mark.student.as_deref().unwrap_or("");
    let subject = Subject::Mark(criterion.id.clone());
    let held = |slot| state.in_slot(&subject, student, slot);
    let number = |held: Option<&Held>| held.and_then(|held| held.value.parse::<f64>().ok());
    let (first, second) = (held(Slot::First), held(Slot::Second));
    let decided = held(Slot::Deciding);
    let difference = number(first).zip(number(second)).map(|(a, b)| a - b);
    let is_open = mark.raw.is_none() && difference.is_some();
    let above = decided.is_some() && (first.is_some() || second.is_some());
    if only_decided && !above && !is_open {
        return None;
    }
    let title = match criterion.each {
        Each::Pair => criterion.title.clone(),
        Each::Student => format!("{}, student {place}", criterion.title),
    };
    let who = |held: Option<&Held>| CellContent::from(held.map(|held| held.who.clone()));
    let by = decided.map(|held| {
        let entry = of.shown.entries.get(held.line);
        let day = entry
            .and_then(|entry| entry.time.get(..10))
            .unwrap_or_default();
        format!("{} ({}), {day}", held.who, held.role)
    });
    let by = by.or_else(|| is_open.then(|| String::from("open: waits for the moderator")));
    Some(vec![
        pair.into(),
        title.into(),
        who(first),
        number(first).into(),
        who(second),
        number(second).into(),
        difference.into(),
        number(decided).into(),
        by.into(),
        decided.map(|held| held.why.clone()).into(),
        mark.raw.into(),
    ])
}

/// Who decided, and on which day: `by Noor, 2026-03-12`.
fn by(shown: &Shown<'_>, held: &Held) -> String {
    let day = shown
        .entries
        .get(held.line)
        .and_then(|entry| entry.time.get(..10));
    match day {
        Some(day) => format!("by {}, {day}", held.who),
        None => format!("by {}", held.who),
    }
}

/// A decision on a proposal: `accepted by Noor, 2026-03-12`.
fn decided(shown: &Shown<'_>, held: &Held) -> String {
    let word = match held.value.as_str() {
        "accept" => "accepted",
        "refuse" => "refused",
        other => other,
    };
    format!("{word} {}", by(shown, held))
}

fn proposals_table(of: &Recorded<'_>) -> ReportTable {
    let shown = &of.shown;
    let decision = |id: &str| {
        let held = shown
            .state
            .cohort
            .standing(&Subject::Proposal(id.to_owned()), "");
        held.map_or_else(|| String::from("not decided"), |held| decided(shown, held))
    };
    // Figures are computed anew each time: those on which somebody decided may have been others.
    let why = |id: &str, why: &str| {
        if decision(id) == "not decided" {
            why.to_owned()
        } else {
            format!("By the marks as they are now: {why}")
        }
    };
    let made = &shown.compared.proposals;
    // Adjudications have a sheet of their own.
    let mut rows: Vec<Vec<CellContent>> = made
        .iter()
        .filter(|proposal| !proposal.id.starts_with("adjudicate "))
        .map(|proposal| {
            vec![
                proposal.what.clone().into(),
                why(&proposal.id, &proposal.why).into(),
                decision(&proposal.id).into(),
            ]
        })
        .collect();
    let cohort = &shown.state.cohort;
    for (key, held) in cohort.all() {
        let (what, why) = match &key.subject {
            Subject::Shift(marker, scale) => (
                format!(
                    "In force: {marker}'s marks ({scale}) are shifted by {}",
                    held.value
                ),
                held.why.clone(),
            ),
            Subject::Proposal(id)
                if made.iter().all(|proposal| proposal.id != *id)
                    && !id.starts_with("adjudicate ") =>
            {
                (format!("Decided earlier: {id}"), held.why.clone())
            }
            _ => continue,
        };
        let decision = match &key.subject {
            Subject::Shift(..) => format!("in force, {}", by(shown, held)),
            _ => decided(shown, held),
        };
        rows.push(vec![what.into(), why.into(), decision.into()]);
    }
    for run in &shown.compared.again {
        let waiting: Vec<&str> = run.waiting().map(|pair| pair.pair.as_str()).collect();
        rows.push(vec![
            format!(
                "{}'s marks for {} are marked again",
                run.marker, run.criterion
            )
            .into(),
            format!("accepted {}", run.since.get(..10).unwrap_or_default()).into(),
            if waiting.is_empty() {
                String::from("all pairs done")
            } else {
                format!("waiting: {}", waiting.join(", "))
            }
            .into(),
        ]);
    }
    ReportTable::plain(
        "Proposals",
        "What was proposed for whole runs, and what was decided",
        "Nothing is applied of itself.",
        vec![
            Column::shown("what", "What", 48.0, Look::Wrapped),
            Column::shown("why", "Why", 70.0, Look::Wrapped),
            Column::shown("decided", "Decision", 34.0, Look::Wrapped),
        ],
        rows,
    )
}

fn history_table(of: &Recorded<'_>) -> ReportTable {
    let rows = of.settled.iter().map(|settled| {
        let state = of.shown.state.pair(&settled.pair);
        let lines = state.map_or(&[][..], |state| state.lines.as_slice());
        let entries: Vec<_> = lines
            .iter()
            .filter_map(|line| of.shown.entries.get(*line))
            .collect();
        let marks: Vec<_> = entries
            .iter()
            .filter(|entry| matches!(Subject::from(entry.what.as_str()), Subject::Mark(_)))
            .collect();
        let day = |of: Option<&&&crate::ledger::Entry>| {
            let text = of.and_then(|entry| entry.time.get(..10)).map(str::to_owned);
            CellContent::from(text)
        };
        let mut people: Vec<&str> = marks.iter().map(|entry| entry.who.as_str()).collect();
        people.sort_unstable();
        people.dedup();
        let hand_in = of.shown.cohort.pair(&settled.pair);
        let digest = hand_in
            .and_then(|result| result.hand_in)
            .map(|hand_in| hand_in.digest);
        let under = marks.last().filter(|entry| !entry.hand_in.is_empty());
        let moved = under
            .zip(digest.as_ref())
            .is_some_and(|(entry, now)| entry.hand_in != *now);
        vec![
            (*settled.pair).into(),
            entries.len().into(),
            marks
                .iter()
                .filter(|entry| entry.old.is_empty())
                .count()
                .into(),
            marks
                .iter()
                .filter(|entry| !entry.old.is_empty())
                .count()
                .into(),
            day(marks.first()),
            day(marks.last()),
            people.join(", ").into(),
            digest.into(),
            if moved {
                "the hand-in changed after the last mark"
            } else {
                ""
            }
            .into(),
        ]
    });
    ReportTable::plain(
        "History",
        "A digest of each pair's history",
        "In full: evenhand pair DIR P07 --history, or the ledger itself, which any spreadsheet opens.",
        vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("lines", "Lines on the ledger", 11.0, Look::Whole),
            Column::shown("entered", "Marks entered", 10.0, Look::Whole),
            Column::shown("changed", "Marks changed", 10.0, Look::Whole),
            Column::shown("begun", "First mark", 13.0, Look::Text),
            Column::shown("last", "Last mark", 13.0, Look::Text),
            Column::shown("people", "Who marked", 40.0, Look::Wrapped),
            Column::shown("hand-in", "Digest of the hand-in", 24.0, Look::Text),
            Column::shown("moved", "To look at", 36.0, Look::Wrapped),
        ],
        rows.collect(),
    )
}
