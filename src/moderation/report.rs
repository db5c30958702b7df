//! From figures to the tables of the moderation report: every figure with its interval and n, or with the reason why there is none.

mod again_table;
mod decisions_table;
mod found_table;
mod front;
mod opposed_table;
mod shifts_table;
mod since_table;

use super::again;
use super::compare::Compared;
use super::gather::Scale;
use crate::checks::Policy;
use crate::examination::CohortResult;
use crate::ledger::{Entry, State, Subject};
use crate::number::readable;
use crate::report::workbook::marker::MarkingAs;
use crate::report::workbook::moderation_report::{
    AGAIN, FrontRow, ModerationReport, PROPOSALS, ProposalRow, ReportChart, ReportTable,
};
use crate::report::workbook::sheet::{CellContent, Column};
use crate::report::workbook::style::Look;
use crate::report::workbook::written::WrittenValue;
use crate::rubric::Rubric;
use crate::stats::{Interval, Undefined};
use again_table::{again_rows, again_table};
pub(super) use decisions_table::decisions_table;
use found_table::findings_table;
use front::front;
pub use opposed_table::{NAME as OPPOSED, decided_differently};
use opposed_table::{opposed_rows, opposed_table};
use shifts_table::shifts_table;
use since_table::{since_rows, since_table};

/// Everything that the report shows.
#[derive(Clone, Copy)]
pub struct Shown<'a> {
    /// The cohort's title.
    pub title: &'a str,
    /// The rubric.
    pub rubric: &'a Rubric,
    /// Digest of its file.
    pub rubric_digest: &'a str,
    /// The ledger's lines.
    pub entries: &'a [Entry],
    /// What is in force by them.
    pub state: &'a State,
    /// The tolerance in percent.
    pub tolerance: f64,
    /// What comparing gave.
    pub compared: &'a Compared,
    /// What the hand-ins gave.
    pub cohort: &'a CohortResult,
    /// What the course made of the checks.
    pub policy: &'a Policy,
}

/// The report.
pub fn report(shown: &Shown<'_>) -> ModerationReport {
    let mut tables = vec![
        agreement_table(shown),
        pairs_table(shown),
        severity_table(shown),
        markers_table(shown),
        levels_table(shown),
        findings_table(shown),
        decisions_table(shown),
        since_table(shown),
    ];
    tables.extend(opposed_table(opposed_rows(shown)));
    tables.extend(shifts_table(shown));
    let again = again_table(shown);
    tables.extend(again);
    let mut proposals: Vec<ProposalRow> = shown
        .compared
        .proposals
        .iter()
        .map(|proposal| ProposalRow {
            id: proposal.id.clone(),
            what: proposal.what.clone(),
            why: proposal.why.clone(),
            changes: proposal.changes.clone(),
            decision: decision(shown.state, &proposal.id),
        })
        .collect();
    proposals.extend(decided_earlier(shown));
    ModerationReport {
        title: shown.title.to_owned(),
        rubric_digest: shown.rubric_digest.to_owned(),
        ledger_lines: shown.entries.len(),
        front: front(shown),
        entered: entered(&proposals, shown),
        proposals,
        tables,
    }
}

/// The cells to fill in that are not empty.
fn entered(proposals: &[ProposalRow], shown: &Shown<'_>) -> Vec<WrittenValue> {
    let value = |sheet: &str, id: &str, value: String| WrittenValue {
        sheet: sheet.to_owned(),
        id: id.to_owned(),
        key: String::from("accept"),
        value,
    };
    let decided = proposals
        .iter()
        .filter_map(|one| Some(value(PROPOSALS, &one.id, one.decision.clone()?)));
    let again = shown.compared.again.iter().flat_map(|run| &run.pairs);
    let stand = again.filter_map(|pair| {
        Some(value(
            AGAIN,
            &pair.stands,
            decision(shown.state, &pair.stands)?,
        ))
    });
    decided.chain(stand).collect()
}

/// Proposals that were decided and are no longer made: what was decided holds until somebody decides otherwise.
fn decided_earlier(shown: &Shown<'_>) -> Vec<ProposalRow> {
    let proposals = &shown.compared.proposals;
    let held = shown.state.cohort.all().filter_map(|(key, held)| {
        let Subject::Proposal(id) = &key.subject else {
            return None;
        };
        let made = proposals.iter().any(|proposal| proposal.id == *id);
        (!made && !again::is_about_one_pair(id)).then_some((id, held))
    });
    held.map(|(id, held)| ProposalRow {
        id: id.clone(),
        what: format!("Decided earlier: {id}"),
        why: format!(
            "{} by {}, {}; the marks as they are now no longer lead to it",
            if held.value == "accept" {
                "accepted"
            } else {
                "refused"
            },
            held.who,
            shown
                .entries
                .get(held.line)
                .and_then(|entry| entry.time.get(..10))
                .unwrap_or_default()
        ),
        changes: String::from("what was decided holds until it is changed here"),
        decision: Some(held.value.clone()),
    })
    .collect()
}

fn decision(state: &State, id: &str) -> Option<String> {
    let held = state.cohort.standing(&Subject::Proposal(id.to_owned()), "");
    held.map(|held| held.value.clone())
}

fn row(
    label: impl Into<String>,
    value: impl Into<CellContent>,
    says: impl Into<String>,
) -> FrontRow {
    FrontRow {
        label: label.into(),
        value: value.into(),
        says: says.into(),
    }
}

fn between(interval: Interval) -> String {
    format!("{} to {}", readable(interval.low), readable(interval.high))
}

fn few(undefined: Undefined) -> String {
    match undefined {
        Undefined::TooFew { needed, given } => {
            format!("too few to say: {given} pairs, {needed} at the least")
        }
        other => format!("not computed: {other}"),
    }
}

/// The scale in a heading.
fn named(shown: &Shown<'_>, scale: &Scale) -> String {
    match scale {
        Scale::Judged => String::from("Judged points"),
        Scale::Total => String::from("Total"),
        Scale::Criterion(id) => {
            let criterion = shown.rubric.criterion(id);
            criterion.map_or_else(|| id.clone(), |criterion| criterion.title.clone())
        }
    }
}

pub(super) fn agreement_table(shown: &Shown<'_>) -> ReportTable {
    let figure = |key: &str, title: &str| Column::shown(key, title, 12.0, Look::Decimal);
    let text = |key: &str, title: &str| Column::shown(key, title, 15.0, Look::Wrapped);
    let rows = shown.compared.agreements.iter().map(|found| {
        let difference = found.difference.as_ref().ok();
        let percent = (found.n > 0).then(|| 100.0 * found.within as f64 / found.n as f64);
        let interval = |of: Option<Interval>| CellContent::from(of.map(between));
        let kappa = found.kappa.as_ref().and_then(|kappa| kappa.as_ref().ok());
        let (icc, alpha) = (found.icc.as_ref().ok(), found.alpha.as_ref().ok());
        let rank = found.rank.as_ref().ok();
        let why = [
            found.difference.as_ref().err(),
            found.icc.as_ref().err(),
            found.kappa.as_ref().and_then(|kappa| kappa.as_ref().err()),
            found.rank.as_ref().err(),
        ];
        let mut why: Vec<String> = why.into_iter().flatten().map(|why| few(*why)).collect();
        why.dedup();
        vec![
            named(shown, &found.scale).into(),
            found.out_of.into(),
            found.n.into(),
            difference.map(|d| d.mean).into(),
            interval(difference.map(|d| d.mean_interval)),
            difference.map(|d| d.sd).into(),
            interval(difference.map(|d| d.limits)),
            percent.into(),
            icc.map(|icc| icc.value).into(),
            interval(icc.map(|icc| icc.interval)),
            kappa.map(|kappa| kappa.kappa).into(),
            interval(kappa.map(|kappa| kappa.interval)),
            alpha.map(|alpha| alpha.alpha).into(),
            interval(alpha.and_then(|alpha| alpha.interval)),
            rank.map(|rank| rank.r).into(),
            interval(rank.and_then(|rank| rank.interval)),
            why.join("; ").into(),
        ]
    });
    ReportTable::plain(
        "Agreement",
        "Agreement of first and second marks",
        "Intervals are 95 %. Limits: Bland & Altman 1986; ICC: McGraw & Wong 1996; kappa on levels, quadratic: Cohen 1968; alpha: Krippendorff, all markers. What is marked for each student is counted by student.",
        vec![
            Column::shown("scale", "What", 26.0, Look::Wrapped),
            figure("out-of", "Out of"),
            Column::shown("n", "Pairs marked twice", 10.0, Look::Whole),
            figure("mean", "Mean difference"),
            text("mean-interval", "its interval"),
            figure("sd", "Sd of differences"),
            text("limits", "Limits of agreement"),
            figure("within", "Within tolerance, %"),
            figure("icc", "ICC(A,1)"),
            text("icc-interval", "its interval"),
            figure("kappa", "Weighted kappa"),
            text("kappa-interval", "its interval"),
            figure("alpha", "Alpha"),
            text("alpha-interval", "its interval"),
            figure("rank", "Rank correlation"),
            text("rank-interval", "its interval"),
            Column::shown("why", "Why a figure is missing", 30.0, Look::Wrapped),
        ],
        rows.collect(),
    )
}

pub(super) fn pairs_table(shown: &Shown<'_>) -> ReportTable {
    let gathered = &shown.compared.gathered;
    let who = |pair: &super::MarkedPair, wanted: MarkingAs| {
        let mut markings = pair.markings.iter();
        let marking = markings.find(|marking| marking.marking_as == wanted);
        marking.map(|marking| marking.marker.clone())
    };
    let twice = gathered.twice(&Scale::Total);
    let rows = twice.iter().map(|one| {
        let (pair, first, second) = (one.pair, one.first, one.second);
        vec![
            pair.pair.clone().into(),
            who(pair, MarkingAs::First).into(),
            who(pair, MarkingAs::Second).into(),
            first.into(),
            second.into(),
            f64::midpoint(first, second).into(),
            (first - second).into(),
        ]
    });
    ReportTable {
        name: "Pairs",
        title: String::from("Difference against mean, pairs marked twice"),
        hint: String::from(
            "Totals. Points far from 0 on one side only: a standard that differs. Points that fan out: agreement depends on the level.",
        ),
        rows: rows.collect(),
        columns: vec![
            Column::shown("pair", "Pair", 10.0, Look::Text),
            Column::shown("first-marker", "First marker", 18.0, Look::Text),
            Column::shown("second-marker", "Second marker", 18.0, Look::Text),
            Column::shown("first", "First", 10.0, Look::Decimal),
            Column::shown("second", "Second", 10.0, Look::Decimal),
            Column::shown("mean", "Mean of both", 10.0, Look::Decimal),
            Column::shown("difference", "First less second", 12.0, Look::Decimal),
        ],
        chart: Some(ReportChart::Points { x: 5, y: 6 }),
        drawn_rows: u32::MAX,
    }
}

pub(super) fn severity_table(shown: &Shown<'_>) -> ReportTable {
    let mut rows = Vec::new();
    // Judged points and totals are drawn: those of single criteria would crowd them out.
    let mut drawn_rows = 0;
    for (scale, severity) in &shown.compared.severities {
        let Ok(severity) = severity else {
            continue;
        };
        if !matches!(scale, Scale::Criterion(_)) {
            drawn_rows += u32::try_from(severity.markers.len()).unwrap_or(0);
        }
        for one in &severity.markers {
            let told = severity.told(&one.marker);
            let interval = told.as_ref().and_then(|told| told.interval);
            let value = told.as_ref().map(|told| told.value);
            let than = told.as_ref().and_then(|told| told.than.clone());
            let reach = |end: fn(Interval) -> f64| {
                let interval = interval?;
                Some((end(interval) - value?).abs())
            };
            rows.push(vec![
                format!("{}: {}", one.marker, named(shown, scale)).into(),
                value.into(),
                reach(|interval| interval.low).into(),
                reach(|interval| interval.high).into(),
                interval.map(between).into(),
                one.estimate
                    .map(|estimate| estimate.standard_error * times(than.as_deref()))
                    .into(),
                one.estimate.map(|estimate| estimate.degrees).into(),
                one.shrunken
                    .map(|shrunken| shrunken.value * times(than.as_deref()))
                    .into(),
                if severity.with_evidence { "yes" } else { "no" }.into(),
            ]);
        }
    }
    ReportTable {
        name: "Severity",
        title: String::from("Severity of markers, with 95 % intervals"),
        hint: String::from(
            "Marks above (generous) or below (severe) the other marker, where there are two, else the markers together, on the same reports. Estimated by REML, pairs random; intervals by Kenward & Roger 1997.",
        ),
        rows,
        columns: vec![
            Column::shown("what", "Marker and scale", 30.0, Look::Wrapped),
            Column::shown("estimate", "Estimate, marks", 12.0, Look::Decimal),
            Column::shown("down", "Interval below", 10.0, Look::Decimal),
            Column::shown("up", "Interval above", 10.0, Look::Decimal),
            Column::shown("interval", "Interval", 20.0, Look::Text),
            Column::shown("error", "Standard error", 10.0, Look::Decimal),
            Column::shown("degrees", "Degrees of freedom", 10.0, Look::Decimal),
            Column::shown(
                "drawn-in",
                "Allowing for chance (markers random)",
                12.0,
                Look::Decimal,
            ),
            Column::shown("evidence", "Evidence taken into account", 12.0, Look::Text),
        ],
        drawn_rows,
        chart: Some(ReportChart::Intervals {
            label: 0,
            value: 1,
            down: 2,
            up: 3,
        }),
    }
}

/// Of two markers, the distance between them is shown: twice that of each from the middle.
fn times(than: Option<&str>) -> f64 {
    if than.is_some() { 2.0 } else { 1.0 }
}

pub(super) fn markers_table(shown: &Shown<'_>) -> ReportTable {
    let rows = shown.compared.markers.iter().map(|marker| {
        let figure = |of: Option<super::markers::WithInterval>| {
            let text = of.map(|of| format!("{} ({})", readable(of.value), between(of.interval)));
            CellContent::from(text.unwrap_or_else(|| String::from("too few marks")))
        };
        let drift = marker.drift.map_or_else(
            || String::from("too few marks"),
            |drift| match drift.interval {
                Some(interval) => format!("{} ({})", readable(drift.r), between(interval)),
                None => readable(drift.r),
            },
        );
        vec![
            marker.marker.clone().into(),
            marker.marked.into(),
            marker.shared.into(),
            marker.range.map(between).into(),
            figure(marker.spread),
            figure(marker.from_evidence),
            marker
                .halo
                .map_or_else(|| String::from("too few marks"), readable)
                .into(),
            drift.into(),
        ]
    });
    ReportTable::plain(
        "Markers",
        "How each marker marks",
        "With 95 % intervals in brackets. Mean marks are left out, because markers get different reports: even with forty each, markers who are alike differ by several marks.",
        vec![
            Column::shown("marker", "Marker", 20.0, Look::Text),
            Column::shown("marked", "Pairs with every mark", 12.0, Look::Whole),
            Column::shown("shared", "of these shared", 10.0, Look::Whole),
            Column::shown("range", "Totals from and to", 16.0, Look::Text),
            Column::shown(
                "spread",
                "Spread over that of the others (1: alike)",
                26.0,
                Look::Wrapped,
            ),
            Column::shown(
                "distance",
                "Total against the evidence (0: as high a share of all marks as of the evidence points; below 0 is usual, judged points are harder to earn)",
                26.0,
                Look::Wrapped,
            ),
            Column::shown(
                "halo",
                "Are a report's criteria marked alike? (mean correlation; near 1: one impression decides all)",
                28.0,
                Look::Wrapped,
            ),
            Column::shown(
                "drift",
                "More generous as marking went on? (rank correlation; above 0: yes)",
                26.0,
                Look::Wrapped,
            ),
        ],
        rows.collect(),
    )
}

pub(super) fn levels_table(shown: &Shown<'_>) -> ReportTable {
    let levels = &shown.rubric.levels;
    let gathered = &shown.compared.gathered;
    let mut columns = vec![Column::shown("marker", "First marker", 20.0, Look::Text)];
    for (index, level) in levels.iter().enumerate() {
        columns.push(Column::shown(
            format!("level {index}"),
            &*level.title,
            12.0,
            Look::Whole,
        ));
    }
    let rows = gathered.markers().into_iter().map(|marker| {
        let totals: Vec<f64> = gathered
            .pairs
            .iter()
            .flat_map(|pair| &pair.markings)
            .filter(|marking| marking.marking_as == MarkingAs::First && marking.marker == marker)
            .filter_map(|marking| gathered.value(marking, &Scale::Total))
            .collect();
        let count = |title: &str| {
            let at = |total: &&f64| {
                shown
                    .rubric
                    .level(**total)
                    .is_some_and(|level| level.title == title)
            };
            totals.iter().filter(at).count()
        };
        let mut cells: Vec<CellContent> = vec![marker.into()];
        cells.extend(
            levels
                .iter()
                .map(|level| CellContent::from(count(&level.title))),
        );
        cells
    });
    let last = u16::try_from(levels.len()).unwrap_or(0);
    ReportTable {
        name: "Levels",
        title: String::from("First marks by level and marker"),
        hint: String::from(
            "Pairs are not dealt out by quality: markers who are alike differ here by chance.",
        ),
        rows: rows.collect(),
        drawn_rows: u32::MAX,
        chart: (last > 0).then_some(ReportChart::Stacked {
            label: 0,
            first: 1,
            last,
        }),
        columns,
    }
}
