//! The first page: what the sample says in a few lines.

use super::{Shown, again_rows, between, decision, few, named, opposed_rows, row, since_rows};
use crate::moderation::FEW;
use crate::moderation::agreement::Agreement;
use crate::moderation::gather::Scale;
use crate::moderation::markers::Severity;
use crate::moderation::sight::{scatter, sight};
use crate::number::readable;
use crate::report::workbook::moderation_report::FrontRow;
use crate::report::workbook::sheet::CellContent;
use crate::stats::Undefined;

pub(super) fn front(shown: &Shown<'_>) -> Vec<FrontRow> {
    let gathered = &shown.compared.gathered;
    let mut rows = vec![row(
        "Pairs with every mark",
        gathered.marked(),
        format!("of {} pairs", gathered.pairs.len()),
    )];
    for sentence in shown
        .compared
        .severity(&Scale::Total)
        .map(Severity::headline)
        .unwrap_or_default()
    {
        rows.push(row("Severity, totals", CellContent::Empty, sentence));
    }
    // Judged points first: a suggestion that both markers saw makes totals alike.
    for scale in [Scale::Judged, Scale::Total] {
        if let Some(found) = shown
            .compared
            .agreements
            .iter()
            .find(|found| found.scale == scale)
        {
            rows.extend(front_of(shown, found));
        }
    }
    rows.push(row("Severity", CellContent::Empty, ""));
    for (scale, severity) in &shown.compared.severities {
        if matches!(scale, Scale::Judged | Scale::Total) {
            rows.extend(severity_lines(shown, scale, severity));
        }
    }
    rows.push(row(
        "What this sample could have seen",
        CellContent::Empty,
        "",
    ));
    let total = shown
        .compared
        .agreements
        .iter()
        .find(|found| found.scale == Scale::Total);
    let sd = total
        .and_then(|found| found.difference.as_ref().ok())
        .map(|d| d.sd);
    let sd = scatter(gathered, sd);
    let marks = gathered.out_of * shown.tolerance / 100.0;
    for marker in &shown.compared.markers {
        let seen = sd.and_then(|sd| sight(marker.shared, sd, marks));
        let says = seen.map_or_else(
            || {
                String::from(
                    "nothing can be said: fewer than two pairs shared with another marker, or no spread of differences",
                )
            },
            |seen| seen.in_words(),
        );
        rows.push(row(
            marker.marker.clone(),
            format!("{} shared", marker.shared),
            says,
        ));
    }
    rows.push(row("Since the last comparison", CellContent::Empty, ""));
    rows.extend(since_rows(shown));
    rows.push(row("Proposals", CellContent::Empty, ""));
    let open = shown.compared.proposals.iter();
    let open = open.filter(|proposal| decision(shown.state, &proposal.id).is_none());
    rows.push(row(
        "Waiting for a decision",
        open.count(),
        format!(
            "of {}, on the sheet Proposals",
            shown.compared.proposals.len()
        ),
    ));
    let opposed = opposed_rows(shown).len();
    if opposed > 0 {
        rows.push(row(
            "Findings decided differently by two markers",
            opposed,
            format!(
                "the moderator's decision settles them: sheet {}",
                super::opposed_table::NAME
            ),
        ));
    }
    rows.extend(again_rows(shown));
    rows
}

fn front_of(shown: &Shown<'_>, found: &Agreement) -> Vec<FrontRow> {
    let heading = format!(
        "{} (of {})",
        named(shown, &found.scale),
        readable(found.out_of)
    );
    let mut rows = vec![row(heading, CellContent::Empty, "")];
    rows.push(row("Pairs marked twice", found.n, small(found.n)));
    match &found.difference {
        Ok(difference) => {
            rows.push(row(
                "Mean difference, first less second",
                readable(difference.mean),
                format!(
                    "95 % interval from {}; {}",
                    between(difference.mean_interval),
                    if shown.compared.gathered.is_crossed() {
                        "first and second markers change places here, so that differences between markers cancel: see Severity"
                    } else {
                        "above 0 where first markers gave more"
                    }
                ),
            ));
        }
        Err(why) => rows.push(row("Mean difference, first less second", "–", few(*why))),
    }
    let within = if found.n == 0 {
        String::from("–")
    } else {
        format!("{} of {}", found.within, found.n)
    };
    rows.push(row(
        "Within tolerance",
        within,
        format!(
            "no further apart than {} marks ({} %)",
            readable(found.out_of * shown.tolerance / 100.0),
            readable(shown.tolerance)
        ),
    ));
    rows
}

fn small(n: usize) -> String {
    if n < FEW {
        format!("so few that only large differences show; coefficients need {FEW}")
    } else {
        String::from("agreement and more for every criterion: sheet Agreement")
    }
}

fn severity_lines(
    shown: &Shown<'_>,
    scale: &Scale,
    severity: &Result<Severity, Undefined>,
) -> Vec<FrontRow> {
    let name = named(shown, scale);
    let severity = match severity {
        Ok(severity) => severity,
        Err(why) => {
            let label = format!("{name}: all markers");
            return vec![row(label, "–", format!("not told: {why}"))];
        }
    };
    severity
        .markers
        .iter()
        .map(|one| {
            let label = format!("{name}: {}", one.marker);
            let Some(told) = severity.told(&one.marker) else {
                return row(label, "–", "no pairs link this marker to the others");
            };
            let says = match told.interval {
                Some(_) if told.is_sure() => {
                    let interval = told.interval_in_words().unwrap_or_default();
                    format!("{}; {interval}", told.in_words())
                }
                Some(interval) => format!(
                    "95 % interval from {}: there may be no difference from {}",
                    between(interval),
                    told.than.as_deref().unwrap_or("the markers together")
                ),
                None => String::from(
                    "too few shared pairs for an interval: nothing can be told from that",
                ),
            };
            row(label, readable(told.value), says)
        })
        .collect()
}
