//! The settings under which the course was marked: the sample, the rules for two marks, lateness, rounding, and the ledger's digest.

use super::Recorded;
use crate::cohort::marking_settings::{Agreed, ModerationSettings, SampleRule};
use crate::cohort::settings::Settings;
use crate::ledger::Subject;
use crate::number::readable;
use crate::report::workbook::moderation_report::ReportTable;
use crate::report::workbook::sheet::Column;
use crate::report::workbook::style::Look;

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

/// The settings in force, a row each.
pub(super) fn settings_table(of: &Recorded<'_>) -> ReportTable {
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
